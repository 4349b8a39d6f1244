"""A true axis: equal distances in the drawing are equal distances in MHz, minutes or whatever it measures."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, count
from math import ceil, floor


@dataclass(frozen=True, slots=True)
class Axis:
    """Values from `low` to `high` laid out evenly from `start` to `end` in the drawing (`low` < `high`)."""

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if self.low >= self.high:
            raise ValueError(f"An axis from {self.low} to {self.high} has no length.")

    def at(self, value: float) -> float:
        """Where a value stands in the drawing.

        >>> Axis(5650, 5850, 0, 400).at(5700)
        100.0
        """
        return self.start + (value - self.low) * (self.end - self.start) / (self.high - self.low)

    def holds(self, value: float) -> bool:
        """Whether a value lies on the axis, its ends counted."""
        return self.low <= value <= self.high

    def span(self, low: float, high: float) -> tuple[float, float]:
        """Where a stretch begins and ends in the drawing, cut to the axis.

        Raises:
            ValueError: it lies wholly beside the axis.

        >>> Axis(5650, 5850, 0, 400).span(5600, 5700)
        (0.0, 100.0)
        """
        if low > self.high or high < self.low:
            raise ValueError(f"{low:g} to {high:g} lies beside the axis.")
        return self.at(max(low, self.low)), self.at(min(high, self.high))

    def ticks(self, room: float, steps: Sequence[int]) -> tuple[int, ...]:
        """Round values along the axis, at least `room` apart in the drawing, by the smallest step that allows it.

        `steps` ascend; where even the largest is too small, whole multiples of it are used.

        >>> Axis(5640, 5860, 0, 440).ticks(60, (10, 20, 50))
        (5650, 5700, 5750, 5800, 5850)
        """
        per_unit = abs(self.end - self.start) / (self.high - self.low)
        beyond = (steps[-1] * times for times in count(2))
        step = next(step for step in chain(steps, beyond) if step * per_unit >= room)
        return tuple(step * number for number in range(ceil(self.low / step), floor(self.high / step) + 1))


MHZ_STEPS = (1, 2, 5, 10, 20, 50, 100)
"""Steps of ticks in MHz."""
MINUTE_STEPS = (1, 5, 10, 15, 30, 60, 120, 240)
"""Steps of ticks in minutes."""
