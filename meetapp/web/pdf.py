"""PDFs as answers."""

from fastapi import Response


def pdf_answer(content: bytes, name: str) -> Response:
    """A PDF to be kept and printed. `name`: plain letters, digits and hyphens, without the ending."""
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}.pdf"', "Cache-Control": "no-store"},
    )
