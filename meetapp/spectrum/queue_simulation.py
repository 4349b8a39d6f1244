"""How long pilots wait for a token where not everybody can use every token: a small simulation, event by event.

The same model as in `queueing`, but each pilot has their own tokens. Who asks gets the free token that the fewest
pilots can use, else stands in line; a token that comes back goes to the first in line who can use it. The desk's own
rule looks further ahead than that. With equal kit the simulation agrees with the formula within its own uncertainty.
"""

from bisect import insort
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import count, islice
from math import log, sqrt
from statistics import fmean, stdev

from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.queueing import MeanTimes

Uniform = Callable[[], float]
"""Numbers from 0 up to (not including) 1 from a generator with a seed, such as random.Random(7).random."""

BATCHES = 20
STUDENT_95_19 = 2.093
"""Student's t for 95 % and the 19 degrees of freedom of 20 batches (any table of the distribution)."""

WARM_UP_SHARE = 0.1
"""The first waits are left out: the simulation starts with everybody on the ground."""


@dataclass(frozen=True, slots=True)
class SimulatedWait:
    """The mean wait in minutes over `waits` hand-outs; with 95 % confidence the true mean lies within `within_min`."""

    wait_min: float
    within_min: float
    waits: int


def simulated_wait(
    can_use: Sequence[frozenset[int]], times: MeanTimes, uniform: Uniform, waits: int = 6000
) -> SimulatedWait:
    """The mean wait of pilots of whom each can use only some tokens.

    can_use: for each pilot the tokens that they can use, by any number. Same numbers from `uniform`, same answer.
    The confidence is by batch means: the waits in order, cut in 20 parts. Cost: waits times pilots.
    Raises: BadProblem where somebody can use none (they'd wait for ever), or for too few waits to say anything.

    >>> from random import Random
    >>> equal = simulated_wait([frozenset([1, 2])] * 6, MeanTimes(2, 10), Random(1).random)
    >>> mixed = simulated_wait([frozenset([1])] * 4 + [frozenset([1, 2])] * 2, MeanTimes(2, 10), Random(1).random)
    >>> equal.wait_min + equal.within_min < mixed.wait_min - mixed.within_min
    True
    """
    if not can_use or not all(can_use):
        raise BadProblem("can_use", "Somebody can use no token at all: leave them out and say so.")
    if waits < BATCHES * BATCHES:
        raise BadProblem("waits", f"Simulate {BATCHES * BATCHES} hand-outs or more.")
    left_out = int(waits * WARM_UP_SHARE)
    seen = list(islice(_waits(_rarest_first(can_use), times, uniform), left_out, left_out + waits))
    size = waits // BATCHES
    means = [fmean(seen[start : start + size]) for start in range(0, size * BATCHES, size)]
    return SimulatedWait(fmean(seen), STUDENT_95_19 * stdev(means) / sqrt(BATCHES), waits)


def _rarest_first(can_use: Sequence[frozenset[int]]) -> list[frozenset[int]]:
    """The same with the tokens numbered anew, from the one that the fewest pilots can use."""
    users = Counter(token for own in can_use for token in own)
    number = {token: place for place, token in enumerate(sorted(users, key=lambda token: (users[token], token)))}
    return [frozenset(number[token] for token in own) for own in can_use]


def _waits(can_use: Sequence[frozenset[int]], times: MeanTimes, uniform: Uniform) -> Iterator[float]:
    """The wait of one hand-out after the other, for ever; of free tokens the one with the lowest number goes first.

    Nobody in the line can use a free token, else they'd have it: who asks looks at the free ones, and a token that
    comes back is looked at by the line.
    """

    def after(now: float, mean_min: float) -> float:
        return now - mean_min * log(1 - uniform())

    order = count()  # settles ties, so that equal times never compare further
    events: list[tuple[float, int, int, int | None]] = [
        (after(0, times.ground_min), next(order), pilot, None) for pilot in range(len(can_use))
    ]
    heapify(events)
    free = sorted(frozenset().union(*can_use))
    line: list[tuple[int, float]] = []  # pilots with the minute in which they asked
    while True:
        now, _order, pilot, returned = heappop(events)
        if returned is None:
            token = next((each for each in free if each in can_use[pilot]), None)
            if token is None:
                line.append((pilot, now))
                continue
            free.remove(token)
            taker, since = pilot, now
        else:
            heappush(events, (after(now, times.ground_min), next(order), pilot, None))
            place = next((place for place, (each, _) in enumerate(line) if returned in can_use[each]), None)
            if place is None:
                insort(free, returned)
                continue
            token = returned
            taker, since = line.pop(place)
        heappush(events, (after(now, times.flight_min), next(order), taker, token))
        yield now - since
