"""How long pilots wait for a token, and how much of the day they are in the air: the queue with a finite source.

Every pilot is at one of three places: on the ground between flights, waiting, or with a token. The model takes tokens
as equal (anybody can use any), the line in order of arrival, and both times as exponential: on average as long as
given, and no more likely to end soon after having lasted long.
"""

from dataclasses import dataclass
from itertools import accumulate
from math import exp, isfinite, log

from meetapp.spectrum.channels import BadProblem

MOST_PILOTS = 500
"""Only there to catch a slip of the finger."""


@dataclass(frozen=True, slots=True)
class MeanTimes:
    """What is known of a pilot's day, on average, in minutes.

    flight_min: from getting a token to giving it back. ground_min: from giving it back to asking for one again
    (charging, mending, watching: the turn-round). Raises BadProblem.
    """

    flight_min: float
    ground_min: float

    def __post_init__(self) -> None:
        for name, value in (("flight_min", self.flight_min), ("ground_min", self.ground_min)):
            if not (isfinite(value) and value > 0):
                raise BadProblem(name, "Give a time of more than 0 minutes.")


@dataclass(frozen=True, slots=True)
class QueueFigures:
    """What a number of tokens means for a number of pilots, in the long run.

    wait_min: the expected wait from asking to getting, over all who ask. waiting: how many wait on average. flying: how
    many have a token on average. wait_chance: how likely it is that one who asks has to wait.
    """

    pilots: int
    tokens: int
    wait_min: float
    waiting: float
    flying: float
    wait_chance: float

    @property
    def air_share(self) -> float:
        """The share of the time that a pilot has a token, from 0 to 1."""
        return self.flying / self.pilots


def finite_source_queue(pilots: int, tokens: int, times: MeanTimes) -> QueueFigures:
    """The figures for N pilots and c tokens: the queue M/M/c//N, known from machines that break and their repairers.

    Source: the finite-source queue of the textbooks (Gross and Harris, Fundamentals of Queueing Theory, chapter on
    finite-source queues): p(n) / p(0) = C(N,n) r^n up to c, and C(N,n) n! / (c! c^(n-c)) r^n beyond, with r the mean
    flight over the mean time on the ground; the wait by Little's law. One who asks finds what N-1 pilots would make of
    it (arrival theorem). Cost: O(N).
    Raises: BadProblem for no pilot, too many, or no token.

    >>> found = finite_source_queue(5, 1, MeanTimes(2, 20))
    >>> round(found.wait_min, 4), round(found.waiting, 4), round(found.flying, 4)
    (0.9333, 0.2035, 0.436)
    """
    if not 1 <= pilots <= MOST_PILOTS:
        raise BadProblem("pilots", f"Give 1 to {MOST_PILOTS} pilots.")
    if tokens < 1:
        raise BadProblem("tokens", "Without a token nobody flies: give 1 or more.")
    chances = _chances(pilots, tokens, times)
    waiting = sum((n - tokens) * chance for n, chance in enumerate(chances) if n > tokens)
    asking = sum(n * chance for n, chance in enumerate(chances))
    requests_per_min = (pilots - asking) / times.ground_min
    found_by_others = _chances(pilots - 1, tokens, times)
    return QueueFigures(
        pilots=pilots,
        tokens=tokens,
        wait_min=waiting / requests_per_min,
        waiting=waiting,
        flying=asking - waiting,
        wait_chance=min(1.0, sum(found_by_others[tokens:])),  # a sum of rounded chances may pass 1 by a hair
    )


def _chances(pilots: int, tokens: int, times: MeanTimes) -> list[float]:
    """How likely it is that n of the pilots have a token or wait for one, n from 0."""
    load = times.flight_min / times.ground_min
    # Each from the one before: N - n of them may ask, min(n + 1, c) may give back. In logarithms, since the plain
    # products of hundreds of pilots leave the range of a float.
    steps = (log(load * (pilots - n) / min(n + 1, tokens)) for n in range(pilots))
    logs = list(accumulate(steps, initial=0.0))
    weights = [exp(each - max(logs)) for each in logs]
    total = sum(weights)
    return [weight / total for weight in weights]
