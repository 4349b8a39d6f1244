"""Who meets whom: how many different others each pilot flies with, and how many that could be at most."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb


@dataclass(frozen=True, slots=True)
class Opponents:
    """How many different others each pilot meets. `reached` and `bound` count the same sum over all pilots.

    `bound` holds for what `bound_words` says, no further; whether a plan reaches it is not said.
    """

    by_pilot: dict[str, int]
    reached: int
    bound: int


def bound_words(bound: int, heats: int, is_even: bool) -> str:
    """What is proven about the sum that pilots meet, with the plans that it holds for.

    `heats`: of one round. `is_even`: the bound was made for sizes that differ by at most one. Where a round is one heat
    everybody meets everybody, which no plan at all can better.

    >>> bound_words(60, 2, False)
    'no plan has more than 60 with 2 heats in a round if nobody changes channel between rounds or flies twice running'
    >>> bound_words(12, 1, True)
    'no plan has more than 12'
    """
    most = f"no plan has more than {bound}"
    if heats <= 1:
        return most
    sizes = ", their sizes differing by at most one," if is_even else ""
    kept = "if nobody changes channel between rounds or flies twice running"
    return f"{most} with {heats} heats in a round{sizes} {kept}"


def pairs_met(heats: Collection[Collection[str]], have_met: Collection[frozenset[str]] = ()) -> set[frozenset[str]]:
    """Every pair that flies together in one of these heats, or has before.

    >>> sorted(sorted(pair) for pair in pairs_met([("Ada", "Bo"), ("Bo", "Cy")]))
    [['Ada', 'Bo'], ['Bo', 'Cy']]
    """
    met = set(have_met)
    for heat in heats:
        met.update(frozenset(pair) for pair in combinations(heat, 2))
    return met


@dataclass(frozen=True, slots=True)
class Meeting:
    """What limits how many pairs can meet.

    `sizes`: the heats of one round. `even`: they differ by at most one, and so do those of every plan with as many
    heats; otherwise give the sizes with the most pairs. `may_meet`: for each pilot, with how many others they could
    ever be up together. `apart`: how many carriers there can be that keep the spacing in
    pairs. `have_met`: how many pairs have met before.
    """

    sizes: tuple[int, ...]
    rounds: int
    may_meet: tuple[int, ...]
    apart: int
    have_met: int = 0
    even: bool = True


def most_pairs(limits: Meeting) -> int:
    """No more pairs than this meet in any plan of such sizes where nobody changes channel or flies twice running.

    Each of these counts is an upper bound by itself, and the smallest is taken:
    - the pairs that can be up together at all;
    - what each pilot's seats give: in every round as many others as the largest heat holds;
    - what the heats give: in every round all pairs of each, less those that have to repeat: a heat has two pilots out
      of one heat of the round before as soon as it has more pilots than there are heats to draw from (the
      pigeonhole principle), and the first heat of a round can't draw from the last one of the round before;
    - pilots who meet are on carriers that keep the spacing, of which no more than `apart` do so in pairs: a graph
      without a larger clique has no more edges than this (Turan 1941).

    >>> most_pairs(Meeting((2, 2), 2, (3, 3, 3, 3), 4)), most_pairs(Meeting((3, 3, 3), 2, (8,) * 9, 8))
    (2, 17)
    """
    sizes, rounds = limits.sizes, limits.rounds
    pilots, seats = sum(sizes), rounds * (max(sizes) - 1)
    repeats = (rounds - 1) * sum(_repeats(sizes)) if limits.even else 0
    by_heats = rounds * sum(comb(size, 2) for size in sizes) - repeats
    fresh = min(
        sum(limits.may_meet) // 2,
        sum(min(others, seats) for others in limits.may_meet) // 2,
        _of_two_heats(sizes, rounds) if len(sizes) == 2 and limits.even else by_heats,
        _turan(pilots, limits.apart),
    )
    return min(comb(pilots, 2), limits.have_met + fresh)


def _repeats(sizes: Sequence[int]) -> list[int]:
    """For each heat of a later round, the smallest first: so many of its pairs at least have met the round before.

    The heat that has one heat less to draw from is taken to be the smallest, where that costs the fewest pairs.
    """
    found = []
    for place, size in enumerate(sorted(sizes)):
        heats = len(sizes) - (place == 0 and len(sizes) > 1)
        each, more = divmod(size, heats)
        found.append(more * comb(each + 1, 2) + (heats - more) * comb(each, 2))
    return found


def _of_two_heats(sizes: Sequence[int], rounds: int) -> int:
    """With two heats the first can only lose pilots to the second, at most one in all where sizes stay even."""
    small, large = sorted(sizes)
    moved = small if rounds > 1 and large - small == 1 else 0
    return comb(small, 2) + comb(large, 2) + moved


def _turan(pilots: int, parts: int) -> int:
    """The most edges of a graph in which no parts + 1 vertices are all joined."""
    if parts < 1:
        return 0
    each, more = divmod(pilots, parts)
    return comb(pilots, 2) - more * comb(each + 1, 2) - (parts - more) * comb(each, 2)
