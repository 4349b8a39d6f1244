"""A heat that doesn't count: it is flown again, and everybody is told when."""

from itertools import takewhile

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.heats.field_heats import PAGE, FieldHeats, locked_field, saved
from meetapp.flows.heats.heat_words import heat_name, taken, when_words
from meetapp.flows.heats.landing import StillUp, check_ticked
from meetapp.flows.heats.tokens_of_heat import bring_back, tell_back
from meetapp.rules import heats as rules
from meetapp.rules.heats import Heat
from meetapp.store.engine import Store

_NEW = -1


def void(store: Store, deed: Deed, meet_id: int, heat_id: int, up: StillUp) -> Answer:
    """A heat doesn't count: the same pilots fly it again with the same seats; the answer says when.

    A heat in the air comes down with it: its tokens come back, but for those still up.
    Raises: Conflict where it was not flown, or others of it are on air than the page showed; Forbidden, Refused or
    NotFound.
    """

    def work(work: Work) -> Answer:
        field = locked_field(work, meet_id)
        heat = field.heat(heat_id)
        out = field.out if heat.state == "called" else ()
        check_ticked(out, up)
        back = tuple(loan for loan in out if loan.pilot_id not in up.pilots)
        late = frozenset(loan.pilot_id for loan in out if loan.pilot_id is not None) & up.pilots
        after = taken(rules.void(field.heats, heat_id, _NEW, late, _gone(field, heat)))
        bring_back(work, field.snapshot, back)
        field = saved(work, field, after)
        again = next((each for each in field.heats if each.again_for == heat_id), None)
        facts = {"round": heat.round, "number": heat.number, "again": again.number if again else None}
        line_id = work.note("heat_voided", facts, meet_id=meet_id, is_undoable=True)
        tell_back(work, field.snapshot, back)
        return Answer(PAGE, f"{heat_name(heat)} doesn't count. {_again_words(field, again)}", undo_id=line_id)

    return do_once(store, deed, work)


def _gone(field: FieldHeats, heat: Heat) -> frozenset[int]:
    """Who of a heat is not at the meet any more."""
    people = field.snapshot.people
    return frozenset(pilot_id for pilot_id in heat.pilots if pilot_id not in people or not people[pilot_id].is_present)


def _again_words(field: FieldHeats, again: Heat | None) -> str:
    if again is None:
        return "Nobody is left who could fly it again."
    before = len(list(takewhile(lambda heat: heat is not again, field.to_come)))
    return f"It is flown again as {heat_name(again)}: {when_words(before)}."
