"""The waits of a meet beside what the queue's formula expects, and how many tokens would have cut them."""

from collections.abc import Iterator
from dataclasses import dataclass

from meetapp.review.advised import Advice, minutes, tokens_text, wait_text
from meetapp.review.replay import FlownDay
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.queueing import MeanTimes, finite_source_queue

_BEARABLE_S = 600.0
_MOST_TOKENS = 12


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The day's mean times in minutes and the wait that the formula expects of them; None: not to be told."""

    pilots: int
    tokens: int
    flight_min: float
    ground_min: float | None
    wait_min: float | None


def reckoned(day: FlownDay) -> Reckoned | None:
    """What the formula expects for such pilots and tokens; None where nobody flew or the meet has no tokens.

    How long somebody is on the ground is known from their second flight on.
    """
    flights = [wish.flight_s / 60 for each in day.wishes.values() for wish in each]
    grounds = [wish.after_s / 60 for each in day.wishes.values() for wish in each[1:]]
    pilots, tokens = len(day.wishes), len(day.own_mhz)
    if not flights or not tokens:
        return None
    flight_min = sum(flights) / len(flights)
    ground_min = sum(grounds) / len(grounds) if grounds else None
    wait_min = None
    if ground_min is not None:
        try:
            wait_min = finite_source_queue(pilots, tokens, MeanTimes(flight_min, ground_min)).wait_min
        except BadProblem:  # nobody was on the ground for any time, or more pilots than the formula takes
            wait_min = None
    return Reckoned(pilots, tokens, flight_min, ground_min, wait_min)


def count_advice(day: FlownDay) -> Iterator[Advice]:
    """How many tokens would have brought the mean wait below ten minutes, by the meet flown again.

    Where its own tokens would have done that by the rule, their number was not what people waited for.
    """
    tokens = day.own_mhz
    if not tokens or day.seen.mean_wait_s < _BEARABLE_S:
        return
    before = day.again(tokens, day.record.floors)
    was = f"The mean wait was {minutes(day.seen.mean_wait_s)}{_formula_text(day)}"
    if before.mean_wait_s < _BEARABLE_S:
        yield Advice(
            "other_wait",
            f"{was}, but the same day flown again with the same tokens comes to {minutes(before.mean_wait_s)}: their "
            "number was not the reason. Look for tags that lay about, pilots who weren't ready, and hand-outs that "
            "came late.",
        )
        return
    for count in range(len(tokens) + 1, _MOST_TOKENS + 1):
        again = day.again([tokens[number % len(tokens)] for number in range(count)], None)
        if again.mean_wait_s < _BEARABLE_S:
            yield Advice(
                "token_count",
                f"{was}. "
                f"With {count} instead of {len(tokens)} tokens, flown again: {wait_text(again, before)}. "
                "That needs as many channels that keep the floors together.",
            )
            return


def _formula_text(day: FlownDay) -> str:
    """What the formula expects, beside what was seen; nothing where nobody flew twice."""
    if (found := reckoned(day)) is None or found.wait_min is None:
        return ""
    return f" (the formula expects {found.wait_min:.0f} min for {found.pilots} pilots and {tokens_text(found.tokens)})"
