"""The sets in their order, one after the other, with the best list so far and a proven bound at every moment.

The order of sets is compared one measure after the other (`problem.order_key`), and so is the search: it finds the
largest first measure, then with that kept the largest second one, and so on. A stage has a list in hand, which reaches
`low`, and a bound, `high`, above which nothing is possible. Two passes take turns, each looking for any list at all:

- one demands one more than `low`. If it finds a list, `low` rises to what that reaches; if it ends without one, `low`
  is the largest. It goes on where the list in hand was found: whatever was passed over before kept even less.
- at the stages whose bound is wanted another one demands `high`. If it ends without a list, none reaches `high` and the
  bound comes down by one, long before the first one is through.

So a stage ends where both meet, which is an exhaustive argument: a list reaches it, and a pass ruled out everything
above. After the last stage one more pass asks for the smallest list of MHz that keeps all of it. What a pass leaves
out, and why that loses nothing, is written where the passes are (`sweep`, `passes`).

The k-th best set is the best one that is not among the k - 1 before it, so it is found the same way, with those
skipped. No measure can then be better than that of the set before, as long as all measures compared before it
are equal.
"""

from collections.abc import Generator, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from meetapp.spectrum.space import Demand, Found, Space

Stage = tuple[Literal["served", "spacing", "two", "three"], ...]
"""What is raised together: the smallest of these."""

_NOTHING_LEFT: Found = ()


class Ranking:
    """The sets of a space in their order, found in steps; `in_hand` is the best list so far.

    >>> from meetapp.spectrum.problem import PickProblem
    >>> from meetapp.spectrum.sweep import Sweep
    >>> ranking = Ranking(Sweep(PickProblem((5645, 5685, 5745, 5825, 5945), 3, 37)), [("two",)])
    >>> for _pause in ranking.next_best(): pass
    >>> [carrier.mhz for carrier in ranking.in_hand], ranking.bound(0)
    ([5645, 5685, 5825], 35)
    """

    def __init__(self, space: Space, stages: Sequence[Stage], bounded: int = 1) -> None:
        """`bounded`: of how many stages, counted from the first, the bound is wanted before they are through."""
        self.in_hand: Found | None = None
        self._space = space
        self._stages = stages
        self._bounded = bounded
        self._listed: set[Found] = set()
        self._before: list[int] = []  # what the set before reaches at each stage
        self._reached: list[int] = []  # the same for the set in hand, as far as it is proven
        self._high: int | None = None

    def bound(self, stage: int) -> int:
        """What no list of those left can pass at a stage, if it equals the best at all stages before."""
        if stage < len(self._reached):
            return self._reached[stage]
        if stage == len(self._reached) and self._high is not None:
            return self._high
        return _reach(self._space.ceiling, self._stages[stage])

    def next_best(self) -> Iterator[None]:
        """Find the best list that is not listed yet and list it, in steps; at the end it is in hand, or None is."""
        self._before, self._reached, self._high, self.in_hand = self._reached, [], None, None
        demand = self._space.floor
        yield from self._take(self._space.any_of(demand, self._listed))
        if self.in_hand is None:
            return
        for stage in self._stages:
            demand = yield from self._maximise(stage, demand)
        yield from self._take(self._space.smallest_of(demand, self._listed), is_last_word=True)
        self._listed.add(self.in_hand)

    def _take(self, lists: Iterator[Found | None], is_last_word: bool = False) -> Iterator[None]:
        """Take the first list into hand, or the last one where the lists get better and better."""
        for found in lists:
            if found is None:
                yield
                continue
            self.in_hand = found
            if not is_last_word:
                return

    def _maximise(self, stage: Stage, demand: Demand) -> Generator[None, None, Demand]:
        """Raise the measures of a stage as far as they go; returns the demand with them kept."""
        low, high = self._value(stage), self._ceiling(stage)
        is_bounded = len(self._reached) < self._bounded
        passes: dict[int, Iterator[Found | None]] = {}
        while (high := self._highest_with_room(stage, demand, low, high)) > low:
            for value in (low + 1, low + 1, high) if is_bounded else (low + 1,):
                if value not in passes:
                    harder = _demanding(demand, stage, value)
                    passes[value] = self._space.any_of(harder, self._listed, onward_from=self.in_hand or ())
                found = next(passes[value], _NOTHING_LEFT)
                if found == _NOTHING_LEFT:
                    high = value - 1
                elif found is not None:
                    self.in_hand = found
                    low = self._value(stage)
                yield
                if found is not None:
                    break
        self._reached.append(low)
        self._high = None
        return _demanding(demand, stage, low)

    def _highest_with_room(self, stage: Stage, demand: Demand, low: int, high: int) -> int:
        while high > low and not self._space.has_room_for(_demanding(demand, stage, high)):
            high -= 1
        self._high = high
        return high

    def _value(self, stage: Stage) -> int:
        """What the list in hand reaches at a stage, as far as it counts."""
        assert self.in_hand is not None
        return min(self._ceiling(stage), _reach(self._space.kept_by(self.in_hand), stage))

    def _ceiling(self, stage: Stage) -> int:
        """A value that a stage can't pass, or that more than which doesn't count."""
        ceiling = _reach(self._space.ceiling, stage)
        so_far = len(self._reached)
        if self._before and self._before[:so_far] == self._reached:
            return min(ceiling, self._before[so_far])
        return ceiling


def _demanding(demand: Demand, stage: Stage, value: int) -> Demand:
    return replace(demand, **dict.fromkeys(stage, value))


def _reach(kept: Demand, stage: Stage) -> int:
    return min(int(getattr(kept, name)) for name in stage)
