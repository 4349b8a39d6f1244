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
from meetapp.web.at_desk import OpenDesk, OpenDeskDep, done_at_desk, refusal_notice
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, RowId
from meetapp.web.render import page, unchanged
from meetapp.web.state import state_of

router = APIRouter(prefix="/desk/heats")

StillUp = Annotated[tuple[RowId, ...], Field(title="who is still up")]
Reason = Annotated[str, Field(max_length=200, title="the reason")]


class NextForm(FormModel):
    """The heat in the air comes down; `then` says whether the next one is called."""

    then: Literal["next", "rest"] = "next"
    heat_id: OptionalRowId = None
    landing_id: OptionalRowId = None
    up: StillUp = ()
    override_reason: Reason = ""


class MissingForm(FormModel):
    """Why a seat stays empty."""

    why: Annotated[Literal["no_show", "broken", "no_token"], Field(title="why")]


class SeatForm(FormModel):
    """A token that goes out after all."""

    override_reason: Reason = ""


class VoidForm(FormModel):
    """Who has not landed of a heat that doesn't count."""

    up: StillUp = ()


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
    override_reason: str = "",
    heat: int = 0,
) -> Response:
    """The same with what is ticked and typed kept; nothing where nothing has changed."""
    ticked = frozenset(up) if ticks else None
    if heat_desk.stamp_of(live_version(at.store, now), ticked or ()) == seen:
        return unchanged()
    return heats_page(request, at, ticked=ticked, reason=override_reason[:200], chosen_id=heat)


def heats_page(
    request: Request,
    at: OpenDesk,
    *,
    status: int = 200,
    refused: MeetError | None = None,
    ticked: frozenset[int] | None = None,
    reason: str = "",
    chosen_id: int = 0,
) -> Response:
    """The heats, with a refusal as the notice where there is one."""
    view = heat_desk.heat_desk(at.store, at.meet_id, state_of(request).clock(), at.actor, ticked, chosen_id)
    if refused is None:
        return page(request, "heat_desk/heats.html", fragment="heat_desk/_live.html", view=view, reason=reason)
    notice = refusal_notice(refused)
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
        up = frozenset(sent.up)
        if sent.then == "rest":
            return landing.all_down(at.store, deed, at.meet_id, sent.landing_id or 0, up)
        order = CallHeat(at.meet_id, sent.heat_id or 0, sent.landing_id, up, sent.override_reason)
        return calling.call_heat(at.store, deed, order)

    ticked = frozenset(int(each) for each in form.all("up") if each.isdecimal())
    chosen = form.values.get("heat_id", "")
    again = partial(
        heats_page,
        ticked=ticked,
        reason=form.values.get("override_reason", ""),
        chosen_id=int(chosen) if chosen.isdecimal() else 0,
    )
    return done_at_desk(request, form, at, do, again)


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
        return voiding.void(at.store, deed, at.meet_id, heat_id, frozenset(form.read(VoidForm).up))

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
