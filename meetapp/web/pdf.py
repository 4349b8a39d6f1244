"""PDFs as answers."""

from datetime import datetime
from typing import Literal

from fastapi import Response

from meetapp.flows.printing.loan_sheet import LoanSheet
from meetapp.paper.loan_sheets import loan_sheets
from meetapp.paper.sizes import PAPERS, PaperName

SmallPaper = Literal[PaperName.A4, PaperName.LETTER]
"""The sheets that every printer takes."""


def pdf_answer(content: bytes, name: str) -> Response:
    """A PDF to be kept and printed. `name`: plain letters, digits and hyphens, without the ending."""
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}.pdf"', "Cache-Control": "no-store"},
    )


def sheet_answer(view: LoanSheet, paper: PaperName, now: datetime) -> Response:
    """A loan sheet as a PDF."""
    return pdf_answer(loan_sheets(view, PAPERS[paper], now), f"loan-sheet-{view.day.on_date.isoformat()}-{paper}")
