"""The worst case of a chosen set: what transmitters really make instead of the nominal frequencies.

Each measure is a smallest distance over pairs, triples or fours of tokens, so its worst is the smallest over what can
be on air on each pair, triple and four. Nothing is sampled and nothing is left out. The worst spacing and the worst
clearance may come from different choices.

An expected pilot stands on one token at a time: two, three or four carriers count together only if as many different
pilots can make them. Of what can be made at one frequency the four widest makers are enough: at most three of them
are taken by the other tokens, and a wider carrier is never farther from a product or from another carrier.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf

from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem, exact_mhz
from meetapp.spectrum.products import Measures

_ENOUGH_PILOTS = 4
"""So many pilots for one carrier: whoever the other carriers of a four take, one is left."""

_Slot = tuple[int, bool]
"""A token by its place, and whether somebody who isn't expected stands on it."""

_Masks = tuple[int, ...]
"""One bit mask of pilots for each carrier that fewer than four pilots can make; the other carriers need no check."""


@dataclass(frozen=True, slots=True)
class _Option:
    """One carrier that a token can have, with the masks that say who has to be free for it (none: somebody is)."""

    carrier: Carrier
    masks: _Masks


@dataclass(frozen=True, slots=True)
class _Side:
    """One side of a product's distance: what two carriers (or one, counted twice) can add up to.

    `sums`: pairs of frequencies and of widths added, with the masks of the carriers. MHz.
    """

    sums: tuple[tuple[int, float, _Masks], ...]
    low: int
    high: int
    widest: float


def worst_case(options: Sequence[Sequence[Carrier]], pilots: Sequence[Sequence[Carrier | None]] = ()) -> Measures:
    """The measures that are reached whatever the expected pilots make of the tokens, each of them on one token only.

    options: one entry per token, the carriers that somebody who isn't expected may make there; empty: nobody comes.
    pilots: one entry per expected pilot, with what they make of each token (what `setting_for` says), None where they
    can't use it. Counted are all twos, threes and fours of tokens with as many different pilots; where the expected
    ones are too few for them, as many of `options` as are missing stand in. So without pilots each token is chosen
    from `options` by itself.
    Units: MHz, widths taken off. Exact. Cost: O(n^4 s^4) for n tokens and s carriers that differ at a token, less
    where four pilots can make each of them.

    >>> worst_case([[Carrier(5658)], [Carrier(5732), Carrier(5733)], [Carrier(5806), Carrier(5805)]])
    Measures(spacing_mhz=72, two_signal_clearance_mhz=0, three_signal_clearance_mhz=None)
    >>> wide, narrow = [Carrier(5658, 40), Carrier(5695, 40)], [Carrier(5658), Carrier(5695)]
    >>> worst_case([[], []], [wide, narrow]).spacing_mhz, worst_case([[], []], [wide, wide]).spacing_mhz
    (27, 17)
    """
    return _Field(options, pilots).worst()


def pulled(mhz_list: Sequence[int], pull_mhz: int, width_mhz: float = REFERENCE_WIDTH_MHZ) -> Measures:
    """The worst case where nothing is known of the transmitters: each carrier anywhere within the pull.

    Units: MHz. A pull of q takes up to 2q from the spacing and up to 4q from a clearance (a product of three
    carriers moves by 3q, its victim by q). Raises: BadProblem for a pull below 0.

    >>> pulled([5658, 5695, 5760, 5800], 2)
    Measures(spacing_mhz=33, two_signal_clearance_mhz=17, three_signal_clearance_mhz=0)
    """
    if pull_mhz < 0:
        raise BadProblem("pull_mhz", "The pull is a distance: give 0 MHz or more.")
    reach = range(-pull_mhz, pull_mhz + 1)
    return worst_case([[Carrier(mhz + by, width_mhz) for by in reach] for mhz in mhz_list])


class _Field:
    """The tokens of a worst case, each with what the expected pilots and what anybody else can put on it."""

    def __init__(self, options: Sequence[Sequence[Carrier]], pilots: Sequence[Sequence[Carrier | None]]) -> None:
        self._places = range(len(options))
        made = [_makers(pilots, place) for place in self._places]
        self._made_by = [_union(makers.values()) for makers in made]
        others = [tuple(_Option(each, ()) for each in _widest(carriers)) for carriers in options]
        self._options = {
            **{(place, False): tuple(_own_options(makers)) for place, makers in enumerate(made)},
            **{(place, True): others[place] for place in self._places},
        }
        self._doubled = {slot: _side(_twice(own)) for slot, own in self._options.items()}
        self._added: dict[tuple[_Slot, _Slot], _Side | None] = {}

    def worst(self) -> Measures:
        """The smallest of each measure."""
        return Measures(self._spacing(), self._nearest(self._two_signal()), self._nearest(self._three_signal()))

    def _filled(self, count: int) -> Iterator[tuple[_Slot, ...]]:
        """Each choice of so many tokens, each with an expected pilot or with somebody else.

        Somebody else stands only on as many of them as the expected pilots can't fill.
        """
        for places in combinations(self._places, count):
            for missing in range(count + 1):
                found = False
                for others in combinations(places, missing):
                    if _can_differ([self._made_by[place] for place in places if place not in others]):
                        found = True
                        yield tuple((place, place in others) for place in places)
                if found:
                    break

    def _spacing(self) -> float | None:
        distances = (
            spacing_between(a.carrier, b.carrier)
            for one, other in self._filled(2)
            for a in self._options[one]
            for b in self._options[other]
            if _can_differ(a.masks + b.masks)
        )
        return min(distances, default=None)

    def _two_signal(self) -> Iterator[tuple[_Side | None, _Side | None]]:
        for a, b, c in self._filled(3):
            for twice, one, other in ((a, b, c), (b, a, c), (c, a, b)):
                yield self._doubled[twice], self._pair(one, other)

    def _three_signal(self) -> Iterator[tuple[_Side | None, _Side | None]]:
        for a, b, c, d in self._filled(4):
            for one, other, third, fourth in ((a, b, c, d), (a, c, b, d), (a, d, b, c)):
                yield self._pair(one, other), self._pair(third, fourth)

    def _pair(self, one: _Slot, other: _Slot) -> _Side | None:
        if (one, other) not in self._added:
            self._added[one, other] = _side(_both(self._options[one], self._options[other]))
        return self._added[one, other]

    @staticmethod
    def _nearest(sides: Iterable[tuple[_Side | None, _Side | None]]) -> float | None:
        # The distance of `products`: |a + b - c - d| less half of what the four widths are above four reference widths.
        nearest = inf
        for side, other in sides:
            if side is not None and other is not None:
                nearest = _nearest_of(side, other, nearest)
        return None if nearest == inf else exact_mhz(nearest + 2 * REFERENCE_WIDTH_MHZ)


def _makers(pilots: Sequence[Sequence[Carrier | None]], place: int) -> dict[Carrier, int]:
    """The mask of the pilots who make each carrier of a token."""
    makers: dict[Carrier, int] = {}
    for number, made in enumerate(pilots):
        if (carrier := made[place]) is not None:
            makers[carrier] = makers.get(carrier, 0) | 1 << number
    return makers


def _own_options(makers: dict[Carrier, int]) -> Iterator[_Option]:
    """The carriers that can be the worst: at each frequency the widest ones, until four pilots can make them."""
    pilots_at: dict[int, int] = {}
    for carrier in sorted(makers, key=lambda carrier: -carrier.width_mhz):
        if pilots_at.get(carrier.mhz, 0) < _ENOUGH_PILOTS:
            mask = makers[carrier]
            pilots_at[carrier.mhz] = pilots_at.get(carrier.mhz, 0) + mask.bit_count()
            yield _Option(carrier, () if mask.bit_count() >= _ENOUGH_PILOTS else (mask,))


def _widest(carriers: Iterable[Carrier]) -> Iterable[Carrier]:
    """The widest carrier at each frequency."""
    return {carrier.mhz: carrier for carrier in sorted(carriers)}.values()


def _can_differ(masks: Sequence[int]) -> bool:
    """Whether each mask can be given a pilot of its own; for at most four masks."""
    if not masks:
        return True
    fewest = min(masks, key=int.bit_count)
    if fewest.bit_count() >= len(masks):
        return True
    rest = list(masks)
    rest.remove(fewest)
    while fewest:
        pilot = fewest & -fewest
        if _can_differ([mask & ~pilot for mask in rest]):
            return True
        fewest ^= pilot
    return False


def _union(masks: Iterable[int]) -> int:
    everybody = 0
    for mask in masks:
        everybody |= mask
    return everybody


def _twice(options: Iterable[_Option]) -> Iterator[tuple[_Option, _Option, _Masks]]:
    return ((option, option, option.masks) for option in options)


def _both(options: Sequence[_Option], others: Sequence[_Option]) -> Iterator[tuple[_Option, _Option, _Masks]]:
    return ((a, b, a.masks + b.masks) for a in options for b in others)


def _side(pairs: Iterable[tuple[_Option, _Option, _Masks]]) -> _Side | None:
    """Everything that one side can add up to, with the largest width for each; None where nothing can be on air."""
    widest: dict[tuple[int, _Masks], float] = {}
    for a, b, masks in pairs:
        if len(masks) < 2 or _can_differ(masks):
            key = a.carrier.mhz + b.carrier.mhz, masks
            widest[key] = max(widest.get(key, 0), a.carrier.width_mhz + b.carrier.width_mhz)
    if not widest:
        return None
    totals = [total for total, _masks in widest]
    sums = tuple((total, width, masks) for (total, masks), width in widest.items())
    return _Side(sums, min(totals), max(totals), max(widest.values()))


def _nearest_of(side: _Side, other: _Side, nearest: float) -> float:
    """The smallest |sum - other sum| less half of the widths, or `nearest` where that is smaller already."""
    if max(side.low - other.high, other.low - side.high, 0) - (side.widest + other.widest) / 2 >= nearest:
        return nearest
    for total, width, masks in side.sums:
        for other_total, other_width, other_masks in other.sums:
            distance = abs(total - other_total) - (width + other_width) / 2
            if distance < nearest and (not masks or not other_masks or _can_differ(masks + other_masks)):
                nearest = distance
    return nearest
