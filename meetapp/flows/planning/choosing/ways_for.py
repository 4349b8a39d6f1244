"""The ways in for those whom a set leaves out, in words, each with the question that it would be."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.flows.planning.choosing.question import Asked
from meetapp.flows.planning.choosing.searching import Searched
from meetapp.spectrum.result import Optimal
from meetapp.spectrum.ways_in import LARGEST_PULL_MHZ, WayIn


@dataclass(frozen=True, slots=True)
class WayLine:
    """One change that lets pilots in, or the word that none of its kind does.

    `names`: whom it lets in. `gets`: what the best set then reaches. `link`: what of the question changes, as pairs of
    field and value; empty where there is no such change. `is_proven`: that no smaller change does it.
    """

    what: str
    names: tuple[str, ...]
    gets: str
    link: tuple[tuple[str, str], ...]
    is_proven: bool


_NONE: dict[str, str] = {
    "spacing": "A narrower spacing alone lets not all of them in",
    "count": "More tokens alone let not all of them in",
    "pull": f"A larger pull, up to {LARGEST_PULL_MHZ} MHz, alone lets not all of them in",
}


def way_lines(asked: Asked, searched: Searched) -> Iterator[WayLine]:
    """The ways in that are worked out so far, for those in reach; then those for each pilot out of reach."""
    for way in searched.ways:
        yield _line(asked, searched, way)
    for person in asked.out_of_reach:
        if (pull := _pull_to_reach(asked, person.pilot_id)) is not None:
            change = (("pull", str(pull)),)
            yield WayLine(_pull_words(asked, pull), (person.board_name,), "", change, is_proven=True)
        yield WayLine(
            "Another transmitter, one that makes every frequency of the pool",
            (person.board_name,),
            "",
            _with_any_kit(asked, [person.pilot_id]),
            is_proven=True,
        )


def _line(asked: Asked, searched: Searched, way: WayIn) -> WayLine:
    named = {person.pilot_id: person.board_name for person in asked.plan.people}
    left_out = getattr(searched.answer, "left_out", ())
    names = tuple(named[pilot_id] for pilot_id in way.pilots or left_out)
    if way.to is None:
        return WayLine(_NONE[way.kind], names, "", (), way.is_least)
    gets = _gets(way)
    match way.kind:
        case "spacing":
            what = f"A spacing of {way.to} MHz in place of {asked.question.spacing_mhz}"
            return WayLine(what, names, gets, (("spacing", str(way.to)),), way.is_least)
        case "count":
            what = f"{way.to} tokens in place of {asked.question.count}"
            return WayLine(what, names, gets, (("count", str(way.to)),), way.is_least)
        case "pull":
            return WayLine(_pull_words(asked, way.to), names, gets, (("pull", str(way.to)),), way.is_least)
        case "transmitters":
            what = "Another transmitter, one that makes every frequency of the pool"
            return WayLine(what, names, gets, _with_any_kit(asked, way.pilots), way.is_least)


def _gets(way: WayIn) -> str:
    if way.answer is None:
        return ""
    found = way.answer.found
    proven = "" if isinstance(found, Optimal) else ", not proven best"
    clearance = found.measures.clearance_mhz
    with_clearance = "" if clearance is None else f", {clearance:g} MHz of clearance"
    return f"then {' '.join(map(str, found.mhz))}{with_clearance}{proven}"


def _pull_words(asked: Asked, pull_mhz: int) -> str:
    return f"A pull of {pull_mhz} MHz in place of {asked.plan.snapshot.pull_mhz}"


def _with_any_kit(asked: Asked, pilot_ids: Sequence[int]) -> tuple[tuple[str, str], ...]:
    everybody = sorted({*asked.question.with_any_kit, *pilot_ids})
    return (("any_kit", " ".join(map(str, everybody))),)


def _pull_to_reach(asked: Asked, pilot_id: int) -> int | None:
    """The least pull with which some frequency of the pool reaches a pilot; None where none up to the largest does."""
    makes = asked.makes.get(pilot_id, frozenset())
    distances = (abs(mhz - own) for mhz in asked.pool_mhz for own in makes)
    least = min(distances, default=LARGEST_PULL_MHZ + 1)
    return least if asked.plan.snapshot.pull_mhz < least <= LARGEST_PULL_MHZ else None
