"""How long pilots wait for a token where not everybody can use every token: a small simulation, event by event.

The same model as in `queueing`, but each pilot has their own tokens. Who asks gets the free token that the fewest
pilots can use, else stands in line; a token that comes back goes to the first in line who can use it. The desk's own
rule looks further ahead than that. With equal kit the simulation agrees with the formula within its own uncertainty.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
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
    can_use: Sequence[frozenset[int]], times: MeanTimes, uniform: Uniform, waits: int = 4000
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
    seen = list(islice(_Day(can_use, times, uniform).waits(), left_out, left_out + waits))
    size = waits // BATCHES
    means = [fmean(seen[start : start + size]) for start in range(0, size * BATCHES, size)]
    return SimulatedWait(fmean(seen), STUDENT_95_19 * stdev(means) / sqrt(BATCHES), waits)


@dataclass(slots=True)
class _Day:
    """The field at one moment of the simulation."""

    can_use: Sequence[frozenset[int]]
    times: MeanTimes
    uniform: Uniform
    line: list[tuple[int, float]] = field(default_factory=list)
    """Pilots who wait, with the minute in which they asked."""

    def waits(self) -> Iterator[float]:
        """The wait of one hand-out after the other, for ever."""
        order = count()  # settles ties, so that equal times never compare further
        users = {token: sum(token in own for own in self.can_use) for own in self.can_use for token in own}
        free = sorted(users, key=lambda token: (users[token], token))
        rank = {token: place for place, token in enumerate(free)}
        events: list[tuple[float, int, int, int | None]] = [
            (self._after(0, self.times.ground_min), next(order), pilot, None) for pilot in range(len(self.can_use))
        ]
        heapify(events)
        while True:
            now, _order, pilot, returned = heappop(events)
            if returned is None:
                self.line.append((pilot, now))
            else:
                free.append(returned)
                free.sort(key=rank.__getitem__)
                heappush(events, (self._after(now, self.times.ground_min), next(order), pilot, None))
            if (handed_out := self._hand_out(free)) is not None:
                taker, since, token = handed_out
                heappush(events, (self._after(now, self.times.flight_min), next(order), taker, token))
                yield now - since

    def _hand_out(self, free: list[int]) -> tuple[int, float, int] | None:
        """The first in line who can use a free token takes it. One event lets one go at most: the others had none."""
        for place, (pilot, since) in enumerate(self.line):
            for token in free:
                if token in self.can_use[pilot]:
                    free.remove(token)
                    del self.line[place]
                    return pilot, since, token
        return None

    def _after(self, now: float, mean_min: float) -> float:
        return now - mean_min * log(1 - self.uniform())
