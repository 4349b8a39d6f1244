"""What a search for the best set can answer: four outcomes, each its own type."""

from dataclasses import dataclass

from meetapp.spectrum.products import Measures


@dataclass(frozen=True, slots=True)
class Optimal:
    """The best set, proven by these sums: every better one was ruled out.

    `mhz` ascends; `measures` are the full ones, not cut at the useful clearance; `nodes` is how many carriers
    were tried. `widths_mhz` has the width of each carrier, in the same order, where the problem asked for several.
    No promise of a clear picture.
    """

    mhz: tuple[int, ...]
    measures: Measures
    nodes: int
    widths_mhz: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class BestFound:
    """The budget was spent with a set in hand: it keeps the spacing, but a better one may exist.

    `bound_mhz`: no set at this spacing has a clearance above this (with signals "two", a two-signal clearance),
    counted up to the useful clearance. None with fewer than three carriers, where there is nothing to clear.
    """

    mhz: tuple[int, ...]
    measures: Measures
    bound_mhz: float | None
    nodes: int
    widths_mhz: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Undecided:
    """The budget was spent before the first set was complete: nothing is known either way."""

    nodes: int


@dataclass(frozen=True, slots=True)
class Impossible:
    """No set of that size keeps the spacing. Both numbers are exact.

    `largest_count` carriers do fit at this spacing. `largest_spacing_mhz` is the widest spacing at which the count
    fits; None when no spacing helps, because the pool has fewer frequencies than carriers asked for.
    """

    largest_count: int
    largest_spacing_mhz: float | None


Result = Optimal | BestFound | Undecided | Impossible
