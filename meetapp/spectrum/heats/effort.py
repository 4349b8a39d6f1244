"""How much a search may still try: a number of steps, and a question asked now and then whether time is over."""

from collections.abc import Callable

_STEPS_BETWEEN_LOOKS = 32
_FEW_KITS = 12


class EffortSpent(Exception):
    """The search was stopped before its end: nothing it did not find is ruled out."""


class Effort:
    """A budget of steps. `is_over` comes from outside (this package has no clock) and is asked every 32 steps.

    >>> effort = Effort(1, lambda: False)
    >>> effort.spend()
    >>> effort.is_spent()
    True
    """

    def __init__(self, steps: int, is_over: Callable[[], bool], whole: "Effort | None" = None) -> None:
        self._steps_left = steps
        self._is_over = is_over
        self._whole = whole

    def spend(self) -> None:
        """Count one step. Raises: EffortSpent where there is none left, or where time is over."""
        self._steps_left -= 1
        if self._steps_left < 0 or (self._steps_left % _STEPS_BETWEEN_LOOKS == 0 and self._is_over()):
            self._steps_left = 0
            raise EffortSpent
        if self._whole is not None:
            self._whole.spend()

    def is_spent(self) -> bool:
        """Whether there is nothing left to spend."""
        return self._steps_left <= 0 or self._is_over() or (self._whole is not None and self._whole.is_spent())

    def half(self) -> "Effort":
        """Half of what is left, as a part of this budget."""
        return self.share(self._steps_left // 2)

    def share(self, steps: int) -> "Effort":
        """A part of this budget: so many steps at most, each spent from the whole as well."""
        return Effort(steps, self._is_over, self)


def steps_for(base: int, patience: int, kits: int) -> int:
    """How many steps to give a search: twice as many with each patience; fewer where many kits make each step dearer.

    >>> steps_for(300, 0, 5), steps_for(300, 2, 5), steps_for(300, 0, 60)
    (300, 1200, 60)
    """
    return (base << patience) * _FEW_KITS // max(_FEW_KITS, kits)
