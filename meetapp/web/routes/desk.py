"""The desk: the page a marshal keeps open, the pause, ground transmitters, the journal."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.deeds import Answer
from meetapp.flows.desk import ground, pauses
from meetapp.flows.desk.desk_journal import desk_journal
from meetapp.flows.desk.ground import GroundDraft
from meetapp.flows.desk.live import live_version
from meetapp.flows.errors import MeetError
from meetapp.flows.frame import page_frame
from meetapp.flows.loans import loans
from meetapp.web.at_desk import OpenDeskDep, desk_page, done_at_desk, open_desk
from meetapp.web.deps import DeskViewer, NowDep, StoreDep
from meetapp.web.forms import FormDep, FormModel, OptionalFloat, OptionalRowId, ShortText
from meetapp.web.render import form_again, form_done, go_on, page, unchanged

router = APIRouter(prefix="/desk")


class PauseForm(FormModel):
    """Why the meet is paused."""

    reason: Annotated[ShortText, Field(title="the reason")]


class GroundForm(FormModel):
    """A camera or ground transmitter."""

    holder_name: Annotated[ShortText, Field(title="what it is")]
    channel: Annotated[str, Field(min_length=1, max_length=20, title="the channel")]
    width_mhz: Annotated[float, Field(gt=0, le=200, allow_inf_nan=False, title="the width")]
    power_mw: Annotated[OptionalFloat, Field(title="the power")] = None
    token_id: OptionalRowId = None
    override_reason: Annotated[str, Field(max_length=200, title="the reason")] = ""

    def draft(self, meet_id: int) -> GroundDraft:
        """The same for the flow."""
        return GroundDraft(
            meet_id, self.holder_name, self.channel, self.width_mhz, self.power_mw, self.token_id, self.override_reason
        )


@router.get("")
def show(request: Request, viewer: DeskViewer, store: StoreDep) -> Response:
    """The desk of the open meet; where none is open, what to do about it."""
    if page_frame(store).meet_id is None:
        return page(request, "desk/no_meet.html")
    return desk_page(request, open_desk(viewer, store))


@router.get("/live")
def show_live(request: Request, at: OpenDeskDep, now: NowDep, seen: str = "") -> Response:
    """The live part of the desk; nothing where nothing has changed."""
    return unchanged() if live_version(at.store, now) == seen else desk_page(request, at)


@router.get("/pause")
def pause_page(request: Request, at: OpenDeskDep) -> Response:
    """Why the meet is paused, or how to go on where it is."""
    return page(request, "desk/pause.html", running=pauses.pause_now(at.store, at.meet_id))


@router.post("/pause")
def pause(request: Request, form: FormDep, at: OpenDeskDep) -> Response:
    """Pause the meet."""
    try:
        answer = pauses.pause(at.store, form.deed(at.actor), at.meet_id, form.read(PauseForm).reason)
    except MeetError as error:
        running = pauses.pause_now(at.store, at.meet_id)
        return form_again(request, "desk/pause.html", form, error, running=running)
    return go_on(request, form, answer)


@router.post("/resume")
def resume(request: Request, form: FormDep, at: OpenDeskDep) -> Response:
    """End the pause."""
    return done_at_desk(request, form, at, lambda deed: pauses.resume(at.store, deed, at.meet_id))


@router.get("/ground")
def ground_page(request: Request, at: OpenDeskDep, now: NowDep) -> Response:
    """A camera or ground transmitter without a pilot."""
    return page(request, "desk/ground.html", view=ground.ground_page(at.store, at.meet_id, now))


@router.post("/ground")
def lend_ground(request: Request, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Put it on air, if the floors are kept or a reason is written down."""

    def do() -> Answer:
        order = ground.read_draft(at.store, form.read(GroundForm).draft(at.meet_id))
        return loans.lend_ground(at.store, form.deed(at.actor), order)

    view = partial(ground.ground_page, at.store, at.meet_id, now)
    return form_done(request, form, "desk/ground.html", do, view)


@router.get("/journal")
def show_journal(request: Request, at: OpenDeskDep) -> Response:
    """Everything that happened at this meet, the latest first."""
    return page(request, "desk/journal.html", view=desk_journal(at.store, at.meet_id, at.actor))
