"""A heat comes down: all of it, or all but those who are still up; and those who land late."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.field_heats import PAGE, FieldHeats, locked_field, read_field_heats, saved
from meetapp.flows.heats.heat_words import counted, heat_name, refused_step, taken
from meetapp.flows.heats.tokens_of_heat import bring_back, tell_back
from meetapp.flows.loans.wording import person_at
from meetapp.flows.snapshot import OnAir, take_snapshot
from meetapp.rules import heats as rules
from meetapp.rules.heats import Heat, HeatList, HeatRefusal, Seat
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class Landed:
    """The field after a landing. `heat`: the one that was flown (None: none was in the air), with its gaps.

    `back`: the loans that ended. `no_token`: the seats of it whose pilots never got a token.
    """

    field: FieldHeats
    heat: Heat | None
    back: tuple[OnAir, ...]
    no_token: tuple[Seat, ...]


@dataclass(frozen=True, slots=True)
class StillUp:
    """Who has not landed yet, as somebody ticked it. `pilots`: those ticked, of the heat in the air and before it.

    `of_loans`: the loans that there was a box for. Nobody comes down for whom the page had none.
    """

    pilots: frozenset[int]
    of_loans: frozenset[int]


def check_ticked(loans: Iterable[OnAir], up: StillUp) -> None:
    """Raise Conflict where others are on air by now than those whom somebody had the boxes of."""
    if {loan.loan_id for loan in loans} != up.of_loans:
        raise Conflict(
            "Others are on air by now than this page showed, so nothing was done.",
            "Look again who is still up, then press once more.",
        )


def all_down(store: Store, deed: Deed, meet_id: int, heat_id: int, up: StillUp) -> Answer:
    """A heat is flown, and no other is called: its tokens come back, but for those still up.

    Raises:
        Conflict: it isn't in the air, or others are on air than those whom the page showed.
        Refused: nobody in it ever got a token.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        heat = field.heat(heat_id)
        if heat.state != "called":
            raise refused_step(HeatRefusal("heat_not_called", heat))
        check_ticked(field.up, up)
        landed = land_called(work, field, up.pilots)
        line_id = note_flown(work, landed, is_undoable=True)
        tell_back(work, field.snapshot, landed.back)
        late_ones = len(landed.field.up_late)
        late = f" {counted(late_ones, 'pilot')} still up." if late_ones else ""
        notice = f"{heat_name(heat)} is flown: {counted(len(landed.back), 'token')} back.{late}"
        return Answer(PAGE, notice, undo_id=line_id)

    return do_once(store, deed, work)


def land_called(work: Work, field: FieldHeats, still_up: frozenset[int]) -> Landed:
    """Land the heat in the air and those late ones who are no longer up; their tokens come back.

    A seat whose pilot never got a token becomes a gap. Raises: Refused where that leaves nobody who flew.
    """
    heats, heat = field.heats, field.called
    back = [loan for _heat, loan in field.late if loan.pilot_id not in still_up]
    no_token: tuple[Seat, ...] = ()
    if heat is not None:
        no_token = field.without_token
        back += [loan for loan in field.out if loan.pilot_id not in still_up]
        out = {loan.pilot_id for loan in field.out}
        heats = _flown(heats, heat, no_token, frozenset(still_up & out))
    bring_back(work, field.snapshot, back)
    ended = {loan.pilot_id for loan in back}
    heats = tuple(replace(each, still_up=each.still_up - ended) for each in heats)
    after = saved(work, field, heats)
    return Landed(after, after.heat(heat.heat_id) if heat else None, tuple(back), no_token)


def _flown(heats: HeatList, heat: Heat, no_token: tuple[Seat, ...], still_up: frozenset[int]) -> HeatList:
    if len(no_token) == len(heat.seats):
        raise Refused(
            f"Nobody in {heat_name(heat)} got a token, so it isn't flown.", "Take its call back, or hand a token out."
        )
    for seat in no_token:
        heats = taken(rules.miss(heats, heat.heat_id, seat.pilot_id, "no_token"))
    return taken(rules.land(heats, heat.heat_id, still_up))


def note_flown(work: Work, landed: Landed, *, is_undoable: bool) -> int:
    """Write the journal's line of a flown heat and give its id: how many are still up, and how many gaps it had."""
    assert landed.heat is not None
    heat = landed.heat
    facts = {
        "round": heat.round,
        "number": heat.number,
        "gaps": len(heat.gaps) or None,
        "up": len(heat.still_up) or None,
    }
    line_id = work.note("heat_flown", facts, meet_id=landed.field.snapshot.meet_id, is_undoable=is_undoable)
    for seat in landed.no_token:
        facts = {"round": heat.round, "number": heat.number, "pilot": seat.pilot_id}
        work.note("heat_no_token", facts, meet_id=landed.field.snapshot.meet_id)
    return line_id


def end_called(work: Work, meet: t.Meet) -> None:
    """The heat in the air ends with its meet: flown by those who got a token, or not called if nobody did.

    Its loans are settled by whoever closes the meet.
    """
    field = read_field_heats(work.session, take_snapshot(work.session, meet, work.now))
    heat = field.called
    if heat is None:
        return
    if field.had_token & heat.pilots:
        after = saved(work, field, _flown(field.heats, heat, field.without_token, frozenset()))
        note_flown(work, Landed(after, after.heat(heat.heat_id), (), field.without_token), is_undoable=False)
    else:
        saved(work, field, taken(rules.call_off(field.heats, heat.heat_id)))
        facts = {"round": heat.round, "number": heat.number, "count": 0}
        work.note("heat_call_off", facts, meet_id=meet.id)


def landed_late(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Somebody who was still up has landed: their token comes back. Landed already: nothing more happens."""

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        who = person_at(field.snapshot, pilot_id).board_name
        loan = next((loan for _heat, loan in field.late if loan.pilot_id == pilot_id), None)
        if loan is None:
            return Answer(PAGE, f"{who} has landed already.")
        after = taken(rules.land_late(field.heats, pilot_id))
        bring_back(work, field.snapshot, [loan])
        saved(work, field, after)
        facts = {"loan": loan.loan_id, "token": loan.token_id, "pilot": pilot_id}
        line_id = work.note("heat_landed_late", facts, meet_id=meet_id, is_undoable=True)
        return Answer(PAGE, f"{who} has landed: {loan.token_label} is back.", undo_id=line_id)

    return do_once(store, deed, work)
