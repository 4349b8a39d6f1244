"""The best heats of a small roster, exactly: every way of forming heats is looked at.

Order: the fewest heats, then sizes as even as can be, then the fewest channel changes, then the most wake channels.
By dynamic programming over the sets of pilots not yet in a heat: the first of them has to be in some heat, so only
heats with that one are tried, and what is best for the rest does not depend on how one got there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from meetapp.spectrum.heats.air import Air
from meetapp.spectrum.heats.effort import Effort, EffortSpent
from meetapp.spectrum.heats.kits import Entry
from meetapp.spectrum.heats.seating import best_seating, seat_cost

SMALL = 12
"""Up to this many pilots: 4096 sets of pilots, and about half a million ways to take a heat out of one."""

HeatSeats = tuple[tuple[int, int], ...]
"""A heat: its pilots (by place in the roster) with their frequencies (bits)."""


@dataclass(frozen=True, slots=True)
class _Group:
    cost: int
    seats: HeatSeats


def best_of_small(air: Air, entries: Sequence[Entry], size: int, effort: Effort) -> tuple[HeatSeats, ...] | None:
    """The best heats of at most `SMALL` pilots, none of them grounded; None where the effort was spent first.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.heats.kits import Kit
    >>> air = Air([5658, 5695, 5732], [20], Floors(37, 10))
    >>> low, high = Entry(Kit(air.mask([5658]), 0), None, None), Entry(Kit(air.mask([5695, 5732]), 0), None, 74)
    >>> best_of_small(air, [low, low, high], 3, Effort(999, lambda: False))
    (((0, 0),), ((1, 0), (2, 74)))
    """
    try:
        groups = _groups(air, entries, size, effort)
    except EffortSpent:
        return None
    everybody = (1 << len(entries)) - 1
    heats = _fewest(groups, everybody)
    for spread in range(size + 1):
        found = [
            best
            for least in range(1, size + 1)
            if least * heats <= len(entries) <= (least + spread) * heats
            and (best := _cheapest(groups, everybody, heats, least, least + spread))
        ]
        if found:
            return min(found)[1]
    raise AssertionError("the fewest heats have some sizes")


def _groups(air: Air, entries: Sequence[Entry], size: int, effort: Effort) -> dict[int, _Group]:
    """Every group that can be up at once, by its mask of pilots; a group with one that can't be up can't either."""
    groups = {0: _Group(0, ())}
    for mask in range(1, 1 << len(entries)):
        members = [place for place in range(len(entries)) if mask >> place & 1]
        if len(members) <= size and all(mask ^ 1 << place in groups for place in members):
            effort.spend()
            seats = best_seating(air, [entries[place] for place in members], effort)
            if seats is not None:
                cost = sum(seat_cost(entries[place], bit) for place, bit in zip(members, seats, strict=True))
                groups[mask] = _Group(cost, tuple(zip(members, seats, strict=True)))
    del groups[0]
    return groups


def _fewest(groups: dict[int, _Group], everybody: int) -> int:
    by_first = _by_first(groups)

    @cache
    def fewest(left: int) -> int:
        if not left:
            return 0
        return 1 + min(fewest(left & ~mask) for mask in by_first[left & -left] if mask & ~left == 0)

    return fewest(everybody)


def _cheapest(
    groups: dict[int, _Group], everybody: int, heats: int, least: int, most: int
) -> tuple[int, tuple[HeatSeats, ...]] | None:
    """The cheapest way to form exactly so many heats of these sizes."""
    fitting = {mask: group for mask, group in groups.items() if least <= mask.bit_count() <= most}
    by_first = _by_first(fitting)

    @cache
    def cheapest(left: int, heats: int) -> tuple[int, tuple[HeatSeats, ...]] | None:
        if not left:
            return None if heats else (0, ())
        if not least * heats <= left.bit_count() <= most * heats:
            return None
        best = None
        for mask in by_first.get(left & -left, ()):
            rest = cheapest(left & ~mask, heats - 1) if mask & ~left == 0 else None
            if rest is not None and (best is None or rest[0] + fitting[mask].cost < best[0]):
                best = rest[0] + fitting[mask].cost, (fitting[mask].seats, *rest[1])
        return best

    return cheapest(everybody, heats)


def _by_first(groups: dict[int, _Group]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for mask in groups:
        found.setdefault(mask & -mask, []).append(mask)
    return found
