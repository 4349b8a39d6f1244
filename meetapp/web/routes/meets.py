"""The organiser's meets: the list, the details, the home page of one."""

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.planning import meets, opening
from meetapp.flows.planning.meets import MeetDraft
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import Blank, FormDep, FormModel, LongText, RowId
from meetapp.web.meet_fields import OptionalFloor
from meetapp.web.render import form_done, page
from meetapp.web.set_up_fields import Decimal

router = APIRouter(prefix="/organiser/meets")

PowerMw = Annotated[Annotated[Decimal, Field(gt=0, le=10_000)] | None, Blank]


class MeetDetails(FormModel):
    """The details of a meet."""

    name: Annotated[str, Field(min_length=1, max_length=80, title="the meet's name")]
    on_date: Annotated[date, Field(ge=date(2000, 1, 1), le=date(2199, 12, 31), title="the day")]
    site_id: Annotated[RowId, Field(title="the site")]
    fly_at_once: Annotated[int, Field(ge=1, le=16, title="how many fly at once")]
    pull_mhz: Annotated[int, Field(ge=0, le=5, title="the pull")]
    head_limit_min: Annotated[int, Field(ge=1, le=240, title="the limit at the head of the line")]
    power_ceiling_mw: Annotated[PowerMw, Field(title="the power ceiling")] = None
    signals: Annotated[Literal["both", "two"], Field(title="what to compare first")] = "both"
    desk: Annotated[Literal["marshal", "self"], Field(title="how the desk is kept")] = "marshal"
    spacing_floor_mhz: Annotated[OptionalFloor, Field(title="the spacing floor")] = None
    clearance_floor_mhz: Annotated[OptionalFloor, Field(title="the clearance floor")] = None
    lower_floors_reason: Annotated[LongText, Field(title="the reason for lower floors")] = ""

    def draft(self) -> MeetDraft:
        """The same for the flow."""
        told = self.model_dump(exclude={"desk"})
        return MeetDraft(**told, is_self_service=self.desk == "self")


@router.get("")
def meets_list(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every meet of the club."""
    return page(request, "meets/list.html", meets=meets.meets_list(store))


@router.get("/new")
def new_meet(request: Request, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """The form for a new meet."""
    return page(request, "meets/edit.html", view=meets.meet_form(store, None, now), today=now.date())


@router.post("/new")
def add_meet(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """Plan a new meet."""
    return form_done(
        request,
        form,
        "meets/edit.html",
        lambda: meets.add_meet(store, form.deed(viewer.actor), form.read(MeetDetails).draft()),
        lambda: meets.meet_form(store, None, now),
        today=now.date(),
    )


@router.get("/{meet_id}")
def meet_home(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The home page of one meet."""
    return page(request, "meets/home.html", view=opening.meet_home(store, meet_id, now))


@router.get("/{meet_id}/edit")
def edit_meet(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """The form of a meet that is there."""
    return page(request, "meets/edit.html", view=meets.meet_form(store, meet_id, now), today=now.date())


@router.post("/{meet_id}/edit")
def change_meet(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Change the details."""
    return form_done(
        request,
        form,
        "meets/edit.html",
        lambda: meets.change_meet(store, form.deed(viewer.actor), meet_id, form.read(MeetDetails).draft()),
        lambda: meets.meet_form(store, meet_id, now),
        today=now.date(),
    )
