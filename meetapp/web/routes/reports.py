"""Writing a clash report down at the desk."""

from typing import Annotated, Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.desk import reports
from meetapp.flows.desk.reports import ReportDraft
from meetapp.flows.errors import MeetError
from meetapp.web.at_desk import OpenDeskDep
from meetapp.web.deps import NowDep
from meetapp.web.forms import FormDep, FormModel, LongText, OptionalRowId
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/desk/reports")


class ReportForm(FormModel):
    """Who (`pilot_id`, or else `other_id` from the long list), when, what it looked like, where, how long."""

    pilot_id: OptionalRowId = None
    other_id: OptionalRowId = None
    look: Annotated[Literal["lines", "other_picture", "gone", "colour", "unsure"], Field(title="what it looked like")]
    place: Annotated[Literal["pits", "line", "flight", "unsure"], Field(title="where")] = "unsure"
    lasted_s: Annotated[Literal["", "2", "10", "60"], Field(title="how long")] = ""
    minutes_ago: Annotated[int, Field(ge=0, le=600, title="how many minutes ago")] = 0
    at_clock: Annotated[str, Field(max_length=10, title="the time")] = ""
    note: Annotated[LongText, Field(title="the note")] = ""

    def draft(self, meet_id: int) -> ReportDraft:
        """The same for the flow."""
        return ReportDraft(
            meet_id,
            self.pilot_id or self.other_id,
            self.look,
            self.place,
            self.note,
            self.minutes_ago,
            self.at_clock,
            int(self.lasted_s) if self.lasted_s else None,
        )


@router.get("/new")
def new_page(request: Request, at: OpenDeskDep, now: NowDep, pilot: int | None = None) -> Response:
    """The form of a clash report; `pilot` names who is chosen already."""
    view = reports.report_page(at.store, at.meet_id, now)
    return page(request, "reports/new.html", view=view, chosen=pilot)


@router.post("/new")
def new(request: Request, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Write it down."""
    try:
        answer = reports.add(at.store, form.deed(at.actor), form.read(ReportForm).draft(at.meet_id))
    except MeetError as error:
        view = reports.report_page(at.store, at.meet_id, now)
        return form_again(request, "reports/new.html", form, error, view=view, chosen=None)
    return go_on(request, form, answer)
