"""Two or three sets side by side, and how they differ, in words: no sum of it all, the organiser weighs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.errors import Refused
from meetapp.flows.planning.choosing.question import Asked, Question, asked, read_ground, seating_on
from meetapp.flows.planning.choosing.shown_set import ShownSet, shown_set
from meetapp.flows.readings import refusing
from meetapp.spectrum.channels import check_mhz
from meetapp.store.engine import Store

MOST_SETS = 3
_FEWEST_SETS = 2


@dataclass(frozen=True, slots=True)
class Compared:
    """One of the sets. `name`: 'Set A', ...; `differs`: sentences about it against the first set, none for the first.

    `is_accepted`: it is the meet's set now.
    """

    name: str
    shown: ShownSet
    is_accepted: bool
    differs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Sets side by side; `left_over` counts those that were asked for beyond the most that stand side by side."""

    sets: tuple[Compared, ...]
    left_over: int


def compare(
    store: Store, meet_id: int, question: Question, sets: Sequence[tuple[int, ...]], now: datetime
) -> Comparison:
    """The meet's own set, if it has one, and the others in the order in which they were asked for.

    Raises:
        NotFound: there is no such meet.
        Refused: fewer than two different sets, or a frequency that can't be meant (field 'set').
    """
    with refusing("set"):
        for mhz in {each for one in sets for each in one}:
            check_mhz("set", mhz)
    ground = read_ground(store, meet_id, now)
    about = asked(ground, question)
    wanted = tuple(dict.fromkeys(filter(None, (ground.chosen_mhz, *(tuple(sorted(set(each))) for each in sets)))))
    if len(wanted) < _FEWEST_SETS:
        raise Refused("There is nothing to compare yet.", "Tick at least two different sets.", field="set")
    return Comparison(tuple(_compared(about, wanted[:MOST_SETS])), max(0, len(wanted) - MOST_SETS))


def _compared(about: Asked, sets: Sequence[tuple[int, ...]]) -> Iterator[Compared]:
    first: ShownSet | None = None
    for letter, mhz in zip("ABC", sets, strict=False):
        shown = shown_set(about, seating_on(about, mhz))
        differs = () if first is None else tuple(_differences(shown, first))
        yield Compared(f"Set {letter}", shown, mhz == about.ground.chosen_mhz, differs)
        first = first or shown


def _differences(one: ShownSet, other: ShownSet) -> Iterator[str]:
    yield from _in_count(one, other)
    figures = (
        ("spacing", one.found.measures.spacing_mhz, other.found.measures.spacing_mhz),
        (
            "two-signal clearance",
            one.found.measures.two_signal_clearance_mhz,
            other.found.measures.two_signal_clearance_mhz,
        ),
        (
            "three-signal clearance",
            one.found.measures.three_signal_clearance_mhz,
            other.found.measures.three_signal_clearance_mhz,
        ),
        ("spacing in the worst case", one.found.worst.spacing_mhz, other.found.worst.spacing_mhz),
        ("clearance in the worst case", one.found.worst.clearance_mhz, other.found.worst.clearance_mhz),
    )
    for what, own, others in figures:
        if own != others:
            yield _difference(what, own, others)
    yield from _in_who_is_served(one, other)
    if not one.made_mhz and other.made_mhz:
        yield "The club owns all its tokens."
    elif one.made_mhz and not other.made_mhz:
        yield f"Tokens to be made: {', '.join(map(str, one.made_mhz))} MHz."


def _in_count(one: ShownSet, other: ShownSet) -> Iterator[str]:
    more = len(one.found.mhz) - len(other.found.mhz)
    if more:
        yield f"{abs(more)} {'channel' if abs(more) == 1 else 'channels'} {'more' if more > 0 else 'fewer'}."


def _difference(what: str, own: float | None, others: float | None) -> str:
    """One figure against another; with nothing to measure there is nothing that could disturb.

    >>> _difference("spacing", 40, 37), _difference("two-signal clearance", None, 12)
    ('3 MHz more spacing.', 'Nothing to measure for two-signal clearance, in place of 12 MHz.')
    """
    if own is None:
        return f"Nothing to measure for {what}, in place of {others:g} MHz."
    if others is None:
        return f"{own:g} MHz of {what}, in place of nothing to measure."
    return f"{abs(own - others):g} MHz {'more' if own > others else 'less'} {what}."


def _in_who_is_served(one: ShownSet, other: ShownSet) -> Iterator[str]:
    own = {each.pilot_id: each.name for each in one.served.left_out}
    others = {each.pilot_id: each.name for each in other.served.left_out}
    if gained := [name for pilot_id, name in others.items() if pilot_id not in own]:
        yield f"Serves {', '.join(gained)} as well."
    if lost := [name for pilot_id, name in own.items() if pilot_id not in others]:
        yield f"Doesn't serve {', '.join(lost)}."
