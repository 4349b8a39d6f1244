"""Where each pilot of a heat stands on the start line: neighbours as far apart in frequency as can be."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from meetapp.spectrum.carriers import Carrier, spacing_between


@dataclass(frozen=True, slots=True)
class LinePlace:
    """Somebody on the start line: the place, counted from 1, and the channel as a label (or MHz) to set."""

    pad: int
    channel: str


@dataclass(frozen=True, slots=True)
class StartLine:
    """A start line from its left end. `gaps`: the spacing in MHz between each and the next, widths taken off."""

    pads: int
    places: tuple[LinePlace, ...]
    gaps: tuple[float, ...]


def start_line(places: Sequence[tuple[LinePlace, Carrier]], pads: int | None) -> StartLine:
    """The line of those who stand on it, in any order; `pads` None: it is as long as they need.

    >>> start_line([(LinePlace(3, "R8"), Carrier(5917)), (LinePlace(1, "R1"), Carrier(5658))], None).gaps
    (259,)
    """
    standing = sorted(places, key=lambda each: each[0].pad)
    gaps = tuple(spacing_between(one, other) for (_, one), (_, other) in pairwise(standing))
    last = max([pads or 0, *(place.pad for place, _ in standing)])
    return StartLine(last, tuple(place for place, _ in standing), gaps)


LONGEST_EXACT = 10
"""Up to this many on the line the order is the best there is; above, the halves of the band take turns."""


def line_order(carriers: Sequence[Carrier]) -> tuple[int, ...]:
    """The pilots of a heat (by place in `carriers`) along the start line.

    The smallest spacing between neighbours on the line is as large as can be, then the sum of all is. Exact for up to
    10 pilots: by dynamic programming over who stands already and who stands last (Held and Karp 1962), first for
    the smallest spacing, then for the sum above it. Ties: the end with the lower frequency is the left one.
    Units: MHz, widths taken off. Cost: n^2 2^n.

    >>> line_order([Carrier(mhz) for mhz in (5658, 5695, 5732, 5769)])
    (1, 3, 0, 2)
    """
    ascending = sorted(range(len(carriers)), key=lambda place: carriers[place])
    if len(carriers) > LONGEST_EXACT:
        half = (len(carriers) + 1) // 2
        low, high = ascending[:half][::-1], ascending[half:][::-1]
        return tuple(place for pair in zip(low, [*high, None], strict=False) for place in pair if place is not None)
    order = _best_order(tuple(carriers[place] for place in ascending))
    if order and order[0] > order[-1]:
        order = order[::-1]
    return tuple(ascending[place] for place in order)


def pads_for(carriers_in_order: Sequence[Carrier], pads: int) -> tuple[int, ...]:
    """The place on the line, counted from 1, of each pilot in line order.

    Places to spare are left empty between those who are nearest in frequency, one each, before any gap gets a second.

    >>> pads_for([Carrier(5658), Carrier(5769), Carrier(5695)], 4)
    (1, 2, 4)
    """
    gaps = [spacing_between(a, b) for a, b in pairwise(carriers_in_order)]
    nearest_first = sorted(range(len(gaps)), key=lambda gap: (gaps[gap], gap))
    steps = [1] * len(gaps)
    for extra in range(pads - len(carriers_in_order) if gaps else 0):
        steps[nearest_first[extra % len(gaps)]] += 1
    places = [1]
    for step in steps:
        places.append(places[-1] + step)
    return tuple(places[: len(carriers_in_order)])


@cache
def _best_order(carriers: tuple[Carrier, ...]) -> tuple[int, ...]:
    """The best order of carriers that ascend; remembered, since a day's heats repeat a few sets."""
    count = len(carriers)
    apart = [[spacing_between(a, b) for b in carriers] for a in carriers]
    values = sorted({apart[i][j] for i in range(count) for j in range(i)})
    low, high = 0, len(values) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if _order_above(apart, values[middle]):
            low = middle
        else:
            high = middle - 1
    return _order_above(apart, values[low] if values else 0) or tuple(range(count))


def _order_above(apart: list[list[float]], least: float) -> tuple[int, ...]:
    """The order with the largest sum of spacings among those with none below `least`; empty where there is none."""
    count = len(apart)
    best: dict[tuple[int, int], tuple[float, int]] = {(1 << last, last): (0, -1) for last in range(count)}
    for standing in range(1, 1 << count):
        for last in range(count):
            if (standing, last) in best:
                total = best[standing, last][0]
                for further in range(count):
                    if not standing >> further & 1 and apart[last][further] >= least:
                        key = standing | 1 << further, further
                        if key not in best or total + apart[last][further] > best[key][0]:
                            best[key] = total + apart[last][further], last
    return _walk_back(best, count)


def _walk_back(best: dict[tuple[int, int], tuple[float, int]], count: int) -> tuple[int, ...]:
    standing = (1 << count) - 1
    ends = [last for last in range(count) if (standing, last) in best]
    if not ends:
        return ()
    last = max(ends, key=lambda end: best[standing, end][0])
    order = []
    while last >= 0:
        order.append(last)
        standing, last = standing ^ 1 << last, best[standing, last][1]
    return tuple(reversed(order))
