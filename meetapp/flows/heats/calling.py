"""The marshal's one step from heat to heat: tokens of the last one back, tokens of the next one out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.desk.alarms import alarm_words
from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.field_heats import PAGE, FieldHeats, locked_field, saved
from meetapp.flows.heats.heat_words import counted, heat_name, listed, taken
from meetapp.flows.heats.landing import Landed, StillUp, check_ticked, land_called, note_flown
from meetapp.flows.heats.seat_checks import Going, Sorted, sort_seats
from meetapp.flows.heats.tokens_of_heat import bring_back, send_out, tell_back, tell_out, wake_as_before
from meetapp.flows.loans import line_rows
from meetapp.flows.loans.air_plan import REASON_MIN
from meetapp.rules import heats as rules
from meetapp.rules.heats import Heat
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class CallHeat:
    """The next heat, as the page showed it. `landing_id`: the heat then in the air (None: none was).

    `up`: everybody who has not landed yet, of the heat in the air and of those before. `out_of_turn`: it is called
    although another one comes before it.
    `override_reason`: why those who don't fit the floors beside them go out all the same; '' lets them wait.
    """

    meet_id: int
    heat_id: int
    landing_id: int | None
    up: StillUp
    out_of_turn: bool = False
    override_reason: str = ""


def call_heat(store: Store, deed: Deed, order: CallHeat) -> Answer:
    """Land the heat in the air, if there is one, and call the next: tokens back and tokens out, as one step.

    Whoever is still up keeps their token and counts as on air; whoever doesn't fit the floors because of it waits, or
    goes out by a reason that is written down. So does a seat wait whose token isn't in, or whose pilot isn't there.

    Raises:
        Conflict: another heat is in the air or the next one by now, or others are on air: somebody was earlier.
        Refused: the heat can't be called, or an alarm is on.
        Forbidden: this person doesn't keep the desk.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, order.meet_id)
        _check_as_shown(field, order)
        _check_no_alarm(work, order.meet_id)
        reason = checked_reason(order.override_reason)
        landed = land_called(work, field, order.up.pilots)
        after = taken(rules.call(landed.field.heats, order.heat_id))
        field = saved(work, landed.field, after)
        heat = field.heat(order.heat_id)
        found = sort_seats(work.session, field, heat, heat.seats)
        going = (*found.going, *(found.too_near if reason else ()))
        sent = send_out(work, field.snapshot, going, reason)
        line_id = work.note("heat_called", _facts(heat, going, landed), meet_id=order.meet_id, is_undoable=True)
        _tell(work, landed, found, going, sent, reason)
        return Answer(PAGE, _notice(heat, landed, found, going), undo_id=line_id, made_id=heat.heat_id)

    return do_once(store, deed, work)


def checked_reason(reason: str) -> str:
    """A reason for going below a floor, or ''. Raises Refused where it says nothing."""
    reason = reason.strip()
    if 0 < len(reason) < REASON_MIN:
        raise Refused("Write down why they go out all the same, in a few words.", field="override_reason")
    return reason


def _check_no_alarm(work: Work, meet_id: int) -> None:
    """Raise Refused while an alarm is on: a call would send transmitters on air."""
    words = alarm_words(work.session, meet_id)
    if words:
        raise Refused(words)


def _check_as_shown(field: FieldHeats, order: CallHeat) -> None:
    """Raise Conflict where the page showed another heat in the air, another next one or other pilots than there are."""
    _check_landing(field, order.landing_id)
    check_ticked(field.up, order.up)
    heat = field.heat(order.heat_id)
    if heat in field.to_come[1:] and not order.out_of_turn:
        raise Conflict(
            f"{heat_name(field.to_come[0])} comes before {heat_name(heat).lower()} by now.",
            "Look at the heats, then call the next one.",
        )


def _check_landing(field: FieldHeats, landing_id: int | None) -> None:
    called = field.called
    if (called.heat_id if called else None) == landing_id:
        return
    if called is None:
        raise Conflict("The heat that was in the air is over already.", "Look at the heats, then call the next one.")
    since = field.called_at.astimezone(field.snapshot.zone) if field.called_at else None
    at = f" since {since:%H:%M}" if since else ""
    raise Conflict(f"{heat_name(called)} is called{at} already.", "Somebody was a moment earlier: look at the heats.")


def _facts(heat: Heat, going: Sequence[Going], landed: Landed) -> dict[str, Any]:
    before = landed.heat
    return {
        "round": heat.round,
        "number": heat.number,
        "count": len(going),
        "round_before": before.round if before else None,
        "number_before": before.number if before else None,
    }


def _tell(
    work: Work,
    landed: Landed,
    found: Sorted,
    going: Sequence[Going],
    sent: Sequence[dict[str, Any]],
    reason: str,
) -> None:
    snapshot = landed.field.snapshot
    if landed.heat is not None:
        note_flown(work, landed, is_undoable=False)
    tell_back(work, snapshot, landed.back)
    tell_out(work, snapshot, going, sent, reason)
    seats = [each.seat for each in found.staying] + [each.seat for each in found.too_near if not reason]
    for seat in seats:
        facts = {"pilot": seat.pilot_id, "label": seat.label, "mhz": seat.mhz}
        work.note("heat_seat_waits", facts, meet_id=snapshot.meet_id)


def _notice(heat: Heat, landed: Landed, found: Sorted, going: Sequence[Going]) -> str:
    gone = {each.seat.pilot_id for each in going}
    waiting = [f"{each.who} waits: {each.why}." for each in found.staying]
    left = [each for each in found.too_near if each.seat.pilot_id not in gone]
    waiting += [f"{each.person.board_name} waits {each.why}." for each in left]
    before = f"{heat_name(landed.heat)} is flown. " if landed.heat else ""
    tokens = f"{before}{heat_name(heat)} is called: {counted(len(gone), 'token')} out."
    if len(waiting) > 1:  # the page of heats has each one's reason beside the name
        names = [each.who for each in found.staying] + [each.person.board_name for each in left]
        waiting = [f"{listed(names)} wait."]
    return " ".join([tokens, *waiting])


def call_off(store: Store, deed: Deed, meet_id: int, heat_id: int) -> Answer:
    """Take a call back before anybody has flown: its tokens are back, the heat is the next one again.

    Who stood in the waiting line when their token went out has the same place in it again.
    Whoever's picture was not seen has not switched on, so what they wake on is what it was before the call.

    Raises: Conflict where it isn't in the air; Forbidden, Refused or NotFound.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        heat = field.heat(heat_id)
        after = taken(rules.call_off(field.heats, heat_id))
        bring_back(work, field.snapshot, field.out)
        wake_as_before(work, field.out)
        saved(work, field, after)
        served = {loan.pilot_id: loan.out_at for loan in field.out if loan.pilot_id is not None}
        back = line_rows.back_in_line(work, meet_id, served)
        facts = {"round": heat.round, "number": heat.number, "count": len(field.out)}
        line_id = work.note("heat_call_off", facts, meet_id=meet_id, is_undoable=True)
        tell_back(work, field.snapshot, field.out)
        for pilot_id in back:
            work.note("line_place_back", {"pilot": pilot_id}, meet_id=meet_id)
        notice = f"{heat_name(heat)} is no longer called: {counted(len(field.out), 'token')} back."
        if back:
            names = [field.snapshot.people[pilot_id].board_name for pilot_id in back]
            notice += f" Back in the line, at the old place: {listed(names)}."
        return Answer(PAGE, notice, undo_id=line_id)

    return do_once(store, deed, work)
