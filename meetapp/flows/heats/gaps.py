"""Seats that stay empty, and seats that are filled late: no-show, broken quad, flown without, handed out after all."""

from dataclasses import replace
from typing import Literal

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.calling import checked_reason
from meetapp.flows.heats.field_heats import PAGE, FieldHeats, locked_field, saved
from meetapp.flows.heats.heat_words import counted, heat_name, refused_step, taken
from meetapp.flows.heats.seat_checks import sort_seats
from meetapp.flows.heats.tokens_of_heat import bring_back, send_out, tell_back
from meetapp.flows.loans.giving import snapshot_without
from meetapp.flows.loans.loan_notes import note_override, on_air_answer
from meetapp.flows.loans.wording import person_at
from meetapp.flows.snapshot import OnAir
from meetapp.rules import heats as rules
from meetapp.rules.heats import HeatRefusal
from meetapp.store.engine import Store

Missing = Literal["no_show", "broken", "no_token"]

_NOTICES = {
    "no_show": "{who} did not come: {heat} flies without them.",
    "broken": "{who}'s quad is broken: {heat} flies without them.",
    "no_token": "{heat} flies without {who}.",
}


def miss(store: Store, deed: Deed, meet_id: int, heat_id: int, pilot_id: int, why: Missing) -> Answer:
    """A seat stays empty; nobody else's changes. What token the pilot got for it comes back.

    Raises: Conflict or Refused where the heat is flown already or the pilot has no seat in it; Forbidden; NotFound.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        heat = field.heat(heat_id)
        after = taken(rules.miss(field.heats, heat_id, pilot_id, why))
        back = _own_token(field, pilot_id) if heat.state == "called" else ()
        bring_back(work, field.snapshot, back)
        saved(work, field, after)
        facts = {"round": heat.round, "number": heat.number, "pilot": pilot_id}
        kind = "heat_no_show" if why == "no_show" else "heat_broken" if why == "broken" else "heat_no_token"
        line_id = work.note(kind, facts, meet_id=meet_id, is_undoable=True)
        tell_back(work, field.snapshot, back)
        who = person_at(field.snapshot, pilot_id).board_name
        notice = _NOTICES[why].format(who=who, heat=heat_name(heat))
        return Answer(PAGE, f"{notice}{_back_words(back)}", undo_id=line_id)

    return do_once(store, deed, work)


def leave_heats(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """A pilot flies in no more heats: a gap in each that isn't flown yet. They are still at the meet.

    Raises: Refused where they have no seat left.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        who = person_at(field.snapshot, pilot_id).board_name
        after = taken(rules.leave(field.heats, pilot_id))
        to_fly = [heat for heat in field.heats if heat.state in ("planned", "called") and pilot_id in heat.pilots]
        back = _own_token(field, pilot_id)
        bring_back(work, field.snapshot, back)
        saved(work, field, after)
        facts = {"pilot": pilot_id, "count": len(to_fly)}
        line_id = work.note("heat_left", facts, meet_id=meet_id, is_undoable=True)
        tell_back(work, field.snapshot, back)
        notice = f"{who} flies in no more heats: {counted(len(to_fly), 'seat')} empty now.{_back_words(back)}"
        return Answer(PAGE, notice, undo_id=line_id)

    return do_once(store, deed, work)


def _own_token(field: FieldHeats, pilot_id: int) -> tuple[OnAir, ...]:
    return tuple(loan for loan in field.out if loan.pilot_id == pilot_id)


def _back_words(back: tuple[OnAir, ...]) -> str:
    return "".join(f" {loan.token_label} is back." for loan in back)


def hand_out_seat(
    store: Store, deed: Deed, meet_id: int, heat_id: int, pilot_id: int, override_reason: str = ""
) -> Answer:
    """Hand out the token of a seat of the heat in the air that had to wait; below a floor only with a reason.

    Raises:
        Conflict: the heat isn't in the air, or the seat has its token.
        Refused: it still can't go out; the sentence says why.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        heat = field.heat(heat_id)
        if heat.state != "called":
            raise refused_step(HeatRefusal("heat_not_called", heat))
        person = person_at(field.snapshot, pilot_id)
        seats = [seat for seat in field.without_token if seat.pilot_id == pilot_id]
        if not seats:
            raise Conflict(f"{person.board_name} waits for no token in {heat_name(heat)}.", "Look at the heat again.")
        reason = checked_reason(override_reason)
        found = sort_seats(work.session, field, heat, seats)
        if found.staying:
            raise Refused(f"{found.staying[0].why}.", "Put that right first, or fly without them.")
        if found.too_near and not reason:
            raise Refused(
                f"{person.board_name} waits {found.too_near[0].why}.",
                "Wait until they are down, or write down why it goes out all the same.",
                field="override_reason",
            )
        (going,) = (*found.going, *found.too_near)
        (facts,) = send_out(work, field.snapshot, [going], reason)
        line_id = work.note("heat_token_out", facts, meet_id=meet_id, is_undoable=True)
        note_override(work, field.snapshot, facts, going.plan, reason if going.plan.broken else "")
        told = on_air_answer(
            work,
            snapshot_without(field.snapshot, going.leaving),
            going.plan,
            line_id=line_id,
            loan_id=facts["loan"],
            token_label=going.token.label,
            who=person.board_name,
        )
        return replace(told, location=PAGE)

    return do_once(store, deed, work)
