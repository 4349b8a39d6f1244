"""Whom a set serves, in words: who flies with which token in how many heats, and who is left out and why."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.flows.planning.choosing.question import Asked, Seating
from meetapp.flows.planning.planned_set import SetFigures
from meetapp.spectrum.serving import ExpectedPilot

NO_KIT = "–"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An expected pilot without a token in any heat. `is_out_of_reach`: no frequency of the pool would serve them."""

    pilot_id: int
    name: str
    transmitter: str
    why: str
    is_out_of_reach: bool


@dataclass(frozen=True, slots=True)
class Served:
    """Whom a set serves: so many of those expected, in so many heats that come out even."""

    count: int
    expected: int
    heats: int
    left_out: tuple[LeftOut, ...]


def served_by(asked: Asked, seating: Seating, found: SetFigures, heats: int) -> Served:
    """Whom a set serves. `found`: its figures, which say why somebody can't use any of its tokens."""
    return Served(
        count=len(seating.seat_of),
        expected=len(asked.plan.people),
        heats=heats,
        left_out=tuple(_left_out(asked, seating, found, heats)),
    )


def _left_out(asked: Asked, seating: Seating, found: SetFigures, heats: int) -> Iterator[LeftOut]:
    why_none = {each.name: each.why for each in found.unserved}
    in_reach = {pilot.pilot_id: pilot for pilot in asked.pilots}
    for person in asked.plan.people:
        if person.pilot_id in seating.seat_of:
            continue
        pilot = in_reach.get(person.pilot_id)
        why = why_none.get(person.board_name) or _why_full(asked, pilot, seating, heats)
        transmitter = person.kit.name if person.kit else NO_KIT
        yield LeftOut(person.pilot_id, person.board_name, transmitter, why, pilot is None)


def _why_full(asked: Asked, pilot: ExpectedPilot | None, seating: Seating, heats: int) -> str:
    if pilot is None:
        return "no frequency of this pool serves them"
    own = [token.mhz for token in seating.tokens if asked.problem.can_take(pilot, token)]
    if not own:
        return f"with {pilot.width_mhz:g} MHz it is wider than the tokens that it could use are counted"
    in_each = "in the one heat" if heats == 1 else f"in each of the {heats} heats"
    return f"others need {_listed(own)} MHz {in_each}"


def _listed(mhz: Sequence[int]) -> str:
    return " and ".join(filter(None, [", ".join(map(str, mhz[:-1])), str(mhz[-1])]))
