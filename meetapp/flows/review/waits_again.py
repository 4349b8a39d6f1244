"""What the pilots waited, beside what the queue's formula says, and what they would have waited with other tokens."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.review.replay import FlownDay, Replayed
from meetapp.review.wait_advice import reckoned
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import measure

_MOST_TOKENS = 12


@dataclass(frozen=True, slots=True)
class SetFlown:
    """A set of tokens with its sums, and the same day flown again with it. Waits in minutes; None: nothing to measure.

    `left_out`: the token that it lacks ('' for the meet's own set). `cant_fly`: pilots who can use none of its tokens.
    """

    left_out: str
    tokens: int
    spacing_mhz: float | None
    clearance_mhz: float | None
    mean_wait_min: float
    longest_wait_min: float
    cant_fly: int


@dataclass(frozen=True, slots=True)
class Waits:
    """The waits of a meet in minutes, pauses taken out. `formula_min`: by the queue of these mean times; None where
    the day says too little of them.
    """

    pilots: int
    tokens: int
    flights: int
    mean_min: float
    longest_min: float
    again_min: float
    flight_min: float
    ground_min: float | None
    formula_min: float | None


def sets_flown(day: FlownDay) -> Iterator[SetFlown]:
    """The meet's own set first, then each set with one token less. None where there is nothing to leave out."""
    floors = day.record.floors
    tokens = sorted(day.record.tokens, key=lambda token: token.mhz)
    if not 2 <= len(tokens) <= _MOST_TOKENS or not day.record.airings:
        return
    every = [token.mhz for token in tokens]
    yield _flown("", every, day.again(every, floors))
    for place, token in enumerate(tokens):
        rest = [*every[:place], *every[place + 1 :]]
        name = token.label if token.label == f"{token.mhz}" else f"{token.label}, {token.mhz} MHz"
        yield _flown(name, rest, day.again(rest, floors))


def _flown(left_out: str, mhz: Sequence[int], again: Replayed) -> SetFlown:
    measures = measure([Carrier(each) for each in mhz])
    return SetFlown(
        left_out=left_out,
        tokens=len(mhz),
        spacing_mhz=measures.spacing_mhz,
        clearance_mhz=measures.clearance_mhz,
        mean_wait_min=_minutes(again.mean_wait_s),
        longest_wait_min=_minutes(again.longest_wait_s),
        cant_fly=again.cant_fly,
    )


def waits_of(day: FlownDay) -> Waits | None:
    """What was waited, flown again, and by the formula; None where nobody flew or the meet has no token."""
    if (found := reckoned(day)) is None:
        return None
    again = day.again(day.own_mhz, day.record.floors)
    return Waits(
        pilots=found.pilots,
        tokens=found.tokens,
        flights=day.seen.flights,
        mean_min=_minutes(day.seen.mean_wait_s),
        longest_min=_minutes(day.seen.longest_wait_s),
        again_min=_minutes(again.mean_wait_s),
        flight_min=round(found.flight_min, 1),
        ground_min=round(found.ground_min, 1) if found.ground_min is not None else None,
        formula_min=round(found.wait_min, 1) if found.wait_min is not None else None,
    )


def _minutes(seconds: float) -> float:
    return round(seconds / 60, 1)
