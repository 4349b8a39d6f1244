"""The heats at the desk: call the next, power up, down again, and whatever comes between."""

from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.desk.live import live_version
from meetapp.flows.errors import MeetError
from meetapp.flows.heats import calling, gaps, heat_desk, landing, voiding
from meetapp.flows.heats.calling import CallHeat
from meetapp.flows.heats.heat_desk import Ticks
from meetapp.flows.heats.landing import StillUp
from meetapp.web.at_desk import OpenDesk, OpenDeskDep, done_at_desk
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, PostedForm, RowId, row_id
from meetapp.web.render import page, unchanged
from meetapp.web.state import state_of
from meetapp.web.surroundings import Notice

router = APIRouter(prefix="/desk/heats")

Ticked = Annotated[tuple[RowId, ...], Field(title="who is still up")]
Drawn = Annotated[tuple[RowId, ...], Field(title="who was on air")]
Reason = Annotated[str, Field(max_length=200, title="the reason")]


class UpForm(FormModel):
    """Who has not landed: the pilots ticked. `drawn`: the loans that the form had a box for."""

    up: Ticked = ()
    drawn: Drawn = ()

    @property
    def still_up(self) -> StillUp:
        """The same for the flows."""
        return StillUp(frozenset(self.up), frozenset(self.drawn))


class NextForm(UpForm):
    """The heat in the air comes down; `then`: whether the next one is called; `chosen_id`: that it isn't its turn."""

    then: Literal["next", "rest"] = "next"
    heat_id: OptionalRowId = None
    chosen_id: OptionalRowId = None
    landing_id: OptionalRowId = None
    override_reason: Reason = ""


class MissingForm(FormModel):
    """Why a seat stays empty."""

    why: Annotated[Literal["no_show", "broken", "no_token"], Field(title="why")]


class SeatForm(FormModel):
    """A token that goes out after all."""

    override_reason: Reason = ""


@router.get("")
def show(request: Request, at: OpenDeskDep, heat: int = 0) -> Response:
    """The heat in the air, who is still up, the next one. `heat`: one that is called out of turn."""
    return heats_page(request, at, chosen_id=heat)


@router.get("/live")
def show_live(
    request: Request,
    at: OpenDeskDep,
    now: NowDep,
    seen: str = "",
    ticks: str = "",
    up: Annotated[list[int], Query()] = [],  # noqa: B006  (FastAPI copies it)
    drawn: Annotated[list[int], Query()] = [],  # noqa: B006
    landing_id: int | None = None,
    override_reason: str = "",
    heat: int = 0,
) -> Response:
    """The same with what is ticked and typed kept; nothing where nothing has changed."""
    if heat_desk.stamp_of(live_version(at.store, now), up if ticks else ()) == seen:
        return unchanged()
    kept = Ticks(landing_id, StillUp(frozenset(up), frozenset(drawn))) if ticks else None
    return heats_page(request, at, ticks=kept, reason=override_reason[:200], chosen_id=heat)


def heats_page(
    request: Request,
    at: OpenDesk,
    *,
    status: int = 200,
    refused: MeetError | None = None,
    ticks: Ticks | None = None,
    reason: str = "",
    chosen_id: int = 0,
) -> Response:
    """The heats, with a refusal as the notice where there is one."""
    view = heat_desk.heat_desk(at.store, at.meet_id, state_of(request).clock(), at.actor, ticks, chosen_id)
    if refused is None:
        return page(request, "heat_desk/heats.html", fragment="heat_desk/_live.html", view=view, reason=reason)
    notice = Notice.of_refusal(refused)
    return page(request, "heat_desk/heats.html", status=status, view=view, reason=reason, notice=notice)


@router.get("/all")
def show_all(request: Request, at: OpenDeskDep, now: NowDep) -> Response:
    """Every heat of the day."""
    return page(request, "heat_desk/all.html", heats=heat_desk.heat_list(at.store, at.meet_id, now))


@router.get("/{heat_id}")
def show_one(request: Request, heat_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """One heat and what can be done about it."""
    return page(request, "heat_desk/one.html", view=heat_desk.one_heat(at.store, at.meet_id, heat_id, now))


@router.post("/next")
def call_next(request: Request, form: FormDep, at: OpenDeskDep) -> Response:
    """Tokens of the last heat back; tokens of the next out, unless the desk rests."""

    def do(deed: Deed) -> Answer:
        sent = form.read(NextForm)
        if sent.then == "rest":
            return landing.all_down(at.store, deed, at.meet_id, sent.landing_id or 0, sent.still_up)
        heat_id = sent.heat_id or 0
        order = CallHeat(
            at.meet_id, heat_id, sent.landing_id, sent.still_up, sent.chosen_id == heat_id, sent.override_reason
        )
        return calling.call_heat(at.store, deed, order)

    landing_id, chosen_id = (next(iter(_numbers(form, name)), None) for name in ("landing_id", "chosen_id"))
    again = partial(
        heats_page,
        ticks=Ticks(landing_id, StillUp(_numbers(form, "up"), _numbers(form, "drawn"))),
        reason=form.values.get("override_reason", ""),
        chosen_id=chosen_id or 0,
    )
    return done_at_desk(request, form, at, do, again)


def _numbers(form: PostedForm, name: str) -> frozenset[int]:
    """The numbers of a form that may not be in order, to show it again."""
    return frozenset(number for each in form.all(name) if (number := row_id(each)) is not None)


@router.post("/{heat_id}/call-off")
def call_off(request: Request, heat_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Take the call back: nobody has flown."""
    return done_at_desk(
        request, form, at, lambda deed: calling.call_off(at.store, deed, at.meet_id, heat_id), heats_page
    )


@router.post("/{heat_id}/void")
def void(request: Request, heat_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """The heat doesn't count and is flown again."""

    def do(deed: Deed) -> Answer:
        return voiding.void(at.store, deed, at.meet_id, heat_id, form.read(UpForm).still_up)

    return done_at_desk(request, form, at, do, heats_page)


@router.post("/{heat_id}/seats/{pilot_id}/missing")
def missing(request: Request, heat_id: RowIdPath, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """The seat stays empty."""

    def do(deed: Deed) -> Answer:
        return gaps.miss(at.store, deed, at.meet_id, heat_id, pilot_id, form.read(MissingForm).why)

    return done_at_desk(request, form, at, do, heats_page)


@router.post("/{heat_id}/seats/{pilot_id}/hand-out")
def hand_out(request: Request, heat_id: RowIdPath, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """The token of a seat that had to wait goes out after all."""

    def do(deed: Deed) -> Answer:
        reason = form.read(SeatForm).override_reason
        return gaps.hand_out_seat(at.store, deed, at.meet_id, heat_id, pilot_id, reason)

    return done_at_desk(request, form, at, do, heats_page)


@router.post("/pilots/{pilot_id}/landed")
def landed(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Somebody who was still up has landed."""
    return done_at_desk(
        request, form, at, lambda deed: landing.landed_late(at.store, deed, at.meet_id, pilot_id), heats_page
    )


@router.post("/pilots/{pilot_id}/leaves")
def leaves(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """A pilot flies in no more heats."""
    return done_at_desk(
        request, form, at, lambda deed: gaps.leave_heats(at.store, deed, at.meet_id, pilot_id), heats_page
    )
