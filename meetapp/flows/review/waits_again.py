"""What the pilots waited, beside what the queue's formula says, and what they would have waited with other tokens."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.review.evidence import MeetRecord
from meetapp.review.replay import Replayed, replay, seen, wishes
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.products import measure
from meetapp.spectrum.queueing import MeanTimes, finite_source_queue

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
    """The waits of a meet in minutes, pauses not taken out. `formula_min`: by the queue of these mean times; None where
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


def sets_flown(record: MeetRecord) -> Iterator[SetFlown]:
    """The meet's own set first, then each set with one token less. None where there is nothing to leave out."""
    tokens = sorted(record.tokens, key=lambda token: token.mhz)
    if not 2 <= len(tokens) <= _MOST_TOKENS or not record.airings:
        return
    every = [token.mhz for token in tokens]
    yield _flown("", every, replay(record, every))
    for place, token in enumerate(tokens):
        rest = [*every[:place], *every[place + 1 :]]
        name = token.label if token.label == f"{token.mhz}" else f"{token.label}, {token.mhz} MHz"
        yield _flown(name, rest, replay(record, rest))


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


def waits_of(record: MeetRecord) -> Waits | None:
    """What was waited, flown again, and by the formula; None where nobody flew with a token of the meet."""
    wanted = wishes(record)
    flights = [wish for own in wanted.values() for wish in own]
    if not flights or not record.tokens:
        return None
    was, again = seen(record), replay(record, [token.mhz for token in record.tokens])
    flight_min = sum(wish.flight_s for wish in flights) / len(flights) / 60
    # How long somebody is on the ground is known from their second flight on.
    grounds = [wish.after_s for own in wanted.values() for wish in own[1:]]
    ground_min = sum(grounds) / len(grounds) / 60 if grounds else None
    return Waits(
        pilots=len(wanted),
        tokens=len(record.tokens),
        flights=was.flights,
        mean_min=_minutes(was.mean_wait_s),
        longest_min=_minutes(was.longest_wait_s),
        again_min=_minutes(again.mean_wait_s),
        flight_min=round(flight_min, 1),
        ground_min=round(ground_min, 1) if ground_min is not None else None,
        formula_min=_formula_min(len(wanted), len(record.tokens), flight_min, ground_min),
    )


def _formula_min(pilots: int, tokens: int, flight_min: float, ground_min: float | None) -> float | None:
    if ground_min is None:
        return None
    try:
        return round(finite_source_queue(pilots, tokens, MeanTimes(flight_min, ground_min)).wait_min, 1)
    except BadProblem:
        return None


def _minutes(seconds: float) -> float:
    return round(seconds / 60, 1)
