"""Checking in: known pilots with today's transmitter, new ones, and those who go home."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.deeds import Answer
from meetapp.flows.desk import check_in
from meetapp.flows.desk.check_in import CheckIn, NewPilot
from meetapp.flows.errors import MeetError
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.web.at_desk import OpenDeskDep, done_at_desk
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, RowId, ShortText
from meetapp.web.render import form_again, form_done, go_on, page

router = APIRouter(prefix="/desk/check-in")

LONGEST_SEARCH = 80
Wake = Annotated[str, Field(max_length=20, title="what it wakes on")]


class WhoForm(FormModel):
    """Who is checked in."""

    pilot_id: Annotated[RowId, Field(title="the pilot")]


class CheckInForm(WhoForm):
    """Who is here, with which transmitter: one of their own, or a new one by its kind."""

    transmitter_id: OptionalRowId = None
    kind_id: OptionalRowId = None
    wake: Wake = ""

    def order(self, meet_id: int) -> CheckIn:
        """The same for the flow. A kind that was chosen is a new transmitter."""
        own = None if self.kind_id else self.transmitter_id
        return CheckIn(meet_id, self.pilot_id, Brought(own, self.kind_id, self.wake))


class NewPilotForm(FormModel):
    """Somebody the club doesn't know yet."""

    name: Annotated[ShortText, Field(title="the name")]
    board_name: Annotated[str, Field(max_length=80, title="the board name")] = ""
    kind_id: Annotated[RowId, Field(title="the kind of transmitter")]
    wake: Wake = ""


@router.get("")
def show(request: Request, at: OpenDeskDep, now: NowDep, search: str = "") -> Response:
    """Everybody of the club, the expected ones first."""
    view = check_in.check_in_page(at.store, at.meet_id, now, search[:LONGEST_SEARCH])
    return page(request, "desk/check_in.html", view=view)


@router.post("")
def is_here(request: Request, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """A known pilot is here, or flies another transmitter today."""
    pilot_id = form.read(WhoForm).pilot_id

    def do() -> Answer:
        return check_in.check_in(at.store, form.deed(at.actor), form.read(CheckInForm).order(at.meet_id))

    view = partial(check_in.one_pilot, at.store, at.meet_id, pilot_id, now)
    return form_done(request, form, "desk/check_in_one.html", do, view)


@router.get("/new")
def new_page(request: Request, at: OpenDeskDep, name: str = "") -> Response:
    """A new pilot: name and kind of transmitter, done."""
    return page(request, "desk/check_in_new.html", kinds=check_in.new_pilot_kinds(at.store), name=name[:LONGEST_SEARCH])


@router.post("/new")
def new(request: Request, form: FormDep, at: OpenDeskDep) -> Response:
    """Add the pilot and check them in."""
    try:
        sent = form.read(NewPilotForm)
        pilot = NewPilot(at.meet_id, sent.name, sent.kind_id, sent.board_name, sent.wake)
        answer = check_in.check_in_new(at.store, form.deed(at.actor), pilot)
    except MeetError as error:
        kinds = check_in.new_pilot_kinds(at.store)
        return form_again(request, "desk/check_in_new.html", form, error, kinds=kinds, name="")
    return go_on(request, form, answer)


@router.get("/{pilot_id}")
def one(request: Request, pilot_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """One pilot: today's transmitter, or a new one."""
    view = check_in.one_pilot(at.store, at.meet_id, pilot_id, now)
    return page(request, "desk/check_in_one.html", view=view)


@router.post("/{pilot_id}/home")
def home(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """A pilot goes home."""
    return done_at_desk(request, form, at, lambda deed: check_in.check_out(at.store, deed, at.meet_id, pilot_id))
