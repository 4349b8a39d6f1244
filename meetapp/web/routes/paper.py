"""Paper: the loan sheet to print, and the page to enter it afterwards."""

from dataclasses import replace
from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.desk import paper
from meetapp.flows.desk.paper_rows import BadRows, PaperRow
from meetapp.flows.errors import MeetError
from meetapp.flows.printing.loan_sheet import loan_sheet
from meetapp.paper.sizes import PaperName
from meetapp.web.at_desk import OpenDeskDep
from meetapp.web.deps import NowDep
from meetapp.web.forms import BadForm, Blank, FormDep, FormModel, Mhz, OptionalRowId, PostedForm
from meetapp.web.pdf import SmallPaper, sheet_answer
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/desk")

WrittenTime = Annotated[str, Field(max_length=10)]


class SheetForm(FormModel):
    """The day of the sheet, and how many rows were on the page."""

    day: Annotated[date, Field(title="the day")]
    rows: Annotated[int, Field(ge=1, le=paper.ROWS_MAX, title="the number of rows")] = paper.ROWS_ON_PAGE


class RowForm(FormModel):
    """One row of the sheet; a row without anything typed is left out."""

    token: Annotated[OptionalRowId, Field(title="the token")] = None
    pilot: Annotated[OptionalRowId, Field(title="the pilot")] = None
    out: Annotated[WrittenTime, Field(title="the time out")] = ""
    back: Annotated[WrittenTime, Field(title="the time in")] = ""
    mhz: Annotated[Mhz | None, Blank, Field(title="the MHz")] = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return not (self.token or self.pilot or self.out or self.back or self.mhz)


@router.get("/sheet.pdf")
def sheet(at: OpenDeskDep, now: NowDep, paper: SmallPaper = PaperName.A4) -> Response:
    """The loan sheet to print."""
    return sheet_answer(loan_sheet(at.store, at.meet_id, now), paper, now)


@router.get("/paper")
def entry_page(request: Request, at: OpenDeskDep, now: NowDep, rows: int = paper.ROWS_ON_PAGE) -> Response:
    """The page to enter a sheet."""
    view = paper.paper_page(at.store, at.meet_id, now)
    return page(request, "paper/entry.html", view=view, rows=_bounded(rows), more_rows=paper.ROWS_MAX)


@router.post("/paper")
def enter(request: Request, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Enter the sheet: all rows, or none and everything typed kept. Asked for more rows, the page has them."""
    if (wanted := form.values.get("more_rows", "")).isdecimal():
        return _same_again(request, form, at, now, int(wanted))
    try:
        sent = form.read(SheetForm)
        order = paper.Sheet(at.meet_id, sent.day, _rows(form, sent.rows))
        answer = paper.enter_sheet(at.store, form.deed(at.actor), order)
    except MeetError as error:
        told = BadForm(error.errors) if isinstance(error, BadRows) else error
        rows = _bounded(int(form.values["rows"])) if form.values.get("rows", "").isdecimal() else paper.ROWS_ON_PAGE
        view = paper.paper_page(at.store, at.meet_id, now)
        return form_again(request, "paper/entry.html", form, told, view=view, rows=rows, more_rows=paper.ROWS_MAX)
    return go_on(request, form, answer)


def _same_again(request: Request, form: PostedForm, at: OpenDeskDep, now: datetime, rows: int) -> Response:
    """The page with this many rows, and everything typed still in it."""
    view = paper.paper_page(at.store, at.meet_id, now)
    return page(
        request,
        "paper/entry.html",
        form_values=form.values,
        view=view,
        rows=_bounded(rows),
        more_rows=paper.ROWS_MAX,
    )


def _bounded(rows: int) -> int:
    return max(1, min(rows, paper.ROWS_MAX))


def _rows(form: PostedForm, count: int) -> tuple[PaperRow, ...]:
    """The filled rows. Raises BadForm naming every row that can't be read."""
    errors: dict[str, str] = {}
    rows: list[PaperRow] = []
    for number in range(1, count + 1):
        try:
            sent = _row(form, number)
        except BadForm as bad:
            errors |= {f"{name}_{number}": f"Row {number}: {sentence}" for name, sentence in bad.errors.items()}
        else:
            if not sent.is_empty:
                rows.append(PaperRow(number, sent.token, sent.pilot, sent.out, sent.back, sent.mhz))
    if errors:
        raise BadForm(errors)
    return tuple(rows)


def _row(form: PostedForm, number: int) -> RowForm:
    ending = f"_{number}"
    pairs = tuple((name.removesuffix(ending), value) for name, value in form.pairs if name.endswith(ending))
    return replace(form, pairs=pairs).read(RowForm)
