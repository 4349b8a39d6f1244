"""Products of the third order, where they fall, and the measures of a set of carriers on air.

A two-signal product 2a - b counts against every carrier other than a and b, a three-signal product a + b - c against
every carrier other than a, b and c. Carriers are told apart by their place in the sequence, so that two loans on
the same MHz count as two (their spacing is 0).

With widths a product's distance to its victim v is |p - v| - (Bv - B0)/2 - (Wp - 3 B0)/2, where Wp sums the widths
of its sources as often as each enters (spectra convolve, so the widths add). The distance is symmetric: 2a - b is as
far from c as 2a - c is from b, and a + b - c as far from d as c + d - a is from b. So three cases per triple and three
per four carriers say it all; `measure` and the floors use that, `hits` lists every product by itself.
Source: the forms of the products, ITU-R SM.1134-1; the relation to difference triangles, Maxemchuk and Schiff 1977.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations
from typing import Literal

from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, exact_mhz

ProductKind = Literal["2a-b", "a+b-c"]


@dataclass(frozen=True, slots=True)
class Product:
    """One product: where it falls, its form, the MHz of its sources in the order of the form, and its width."""

    mhz: int
    kind: ProductKind
    sources: tuple[int, ...]
    width_mhz: float

    @property
    def signals(self) -> int:
        """How many signals make it: two or three."""
        return len(self.sources)


@dataclass(frozen=True, slots=True)
class Hit:
    """A product near a carrier that did not help to make it, with the distance in MHz (widths taken off)."""

    product: Product
    victim_mhz: int
    distance_mhz: float


@dataclass(frozen=True, slots=True)
class Measures:
    """Spacing and both clearances of a set in MHz; None where there are too few carriers to measure."""

    spacing_mhz: float | None
    two_signal_clearance_mhz: float | None
    three_signal_clearance_mhz: float | None

    @property
    def clearance_mhz(self) -> float | None:
        """The smaller of the two clearances; None (nothing to measure) is better than any number."""
        known = [
            clearance
            for clearance in (self.two_signal_clearance_mhz, self.three_signal_clearance_mhz)
            if clearance is not None
        ]
        return min(known, default=None)


def product_text(kind: ProductKind, sources: Sequence[int]) -> str:
    """A product written out with its numbers.

    >>> product_text("2a-b", (5760, 5658)), product_text("a+b-c", (5658, 5917, 5695))
    ('2 x 5760 - 5658', '5658 + 5917 - 5695')
    """
    if kind == "2a-b":
        return f"2 x {sources[0]} - {sources[1]}"
    return f"{sources[0]} + {sources[1]} - {sources[2]}"


def products(carriers: Sequence[Carrier]) -> tuple[Product, ...]:
    """Every product of the third order: n(n-1) of two signals, then n(n-1)(n-2)/2 of three.

    Units: MHz. Order: as the carriers are given. Cost: O(n^3).

    >>> [(p.mhz, p.kind, p.sources) for p in products([Carrier(5658), Carrier(5695)])]
    [(5621, '2a-b', (5658, 5695)), (5732, '2a-b', (5695, 5658))]
    """
    return tuple(product for product, _ in _products_with_makers(carriers))


def hits(carriers: Sequence[Carrier], within_mhz: float) -> tuple[Hit, ...]:
    """Every product at most `within_mhz` from a carrier that did not help to make it, nearest first.

    Units: MHz, widths taken off (a wide carrier can make a distance negative). Ties: two-signal products first, then
    by where they fall, then by victim. Cost: O(n^4).

    >>> [(product_text(h.product.kind, h.product.sources), h.victim_mhz, h.distance_mhz)
    ...  for h in hits([Carrier(5658), Carrier(5695), Carrier(5740)], 10)]
    [('2 x 5695 - 5740', 5658, 8), ('2 x 5695 - 5658', 5740, 8)]
    """
    found = (hit for _place, hit in every_hit(carriers) if hit.distance_mhz <= within_mhz)
    return tuple(sorted(found, key=nearest_first))


def every_hit(carriers: Sequence[Carrier]) -> Iterator[tuple[int, Hit]]:
    """Each product against each carrier that did not help to make it, with that carrier's place, however far apart.

    Units and cost as for `hits`. Order: as the carriers are given.

    >>> [(place, hit.product.mhz) for place, hit in every_hit([Carrier(5658), Carrier(5695), Carrier(5740)])]
    [(2, 5621), (1, 5576), (2, 5732), (0, 5650), (1, 5822), (0, 5785)]
    """
    for product, makers in _products_with_makers(carriers):
        for place, victim in enumerate(carriers):
            if place not in makers:
                yield place, Hit(product, victim.mhz, exact_mhz(_distance(product, victim)))


def measure(carriers: Sequence[Carrier]) -> Measures:
    """Spacing, two-signal clearance and three-signal clearance of the carriers on air.

    Units: MHz, widths taken off, never cut at the useful clearance. None with fewer than 2, 3 and 4 carriers.
    Cost: O(n^4), three cases per four carriers.

    >>> measure([Carrier(mhz) for mhz in (5658, 5695, 5760, 5800, 5880, 5917)])
    Measures(spacing_mhz=37, two_signal_clearance_mhz=12, three_signal_clearance_mhz=0)
    >>> measure([Carrier(5658)])
    Measures(spacing_mhz=None, two_signal_clearance_mhz=None, three_signal_clearance_mhz=None)
    """
    return Measures(
        min((spacing_between(a, b) for a, b in combinations(carriers, 2)), default=None),
        _smallest(two_signal_distances, combinations(carriers, 3)),
        _smallest(three_signal_distances, combinations(carriers, 4)),
    )


def two_signal_distances(a: Carrier, b: Carrier, c: Carrier) -> tuple[float, float, float]:
    """How far the two-signal products of three carriers fall from the third: with a, with b, with c counted twice.

    Units: MHz, widths taken off. 2a - b is as far from c as 2a - c is from b: one number for both.

    >>> two_signal_distances(Carrier(5658), Carrier(5695), Carrier(5740))
    (119, 8, 127)
    """
    total = a.mhz + b.mhz + c.mhz
    widths = a.width_mhz + b.width_mhz + c.width_mhz - 4 * REFERENCE_WIDTH_MHZ
    return (
        exact_mhz(abs(3 * a.mhz - total) - (widths + a.width_mhz) / 2),
        exact_mhz(abs(3 * b.mhz - total) - (widths + b.width_mhz) / 2),
        exact_mhz(abs(3 * c.mhz - total) - (widths + c.width_mhz) / 2),
    )


def three_signal_distances(a: Carrier, b: Carrier, c: Carrier, d: Carrier) -> tuple[float, float, float]:
    """How far the three-signal products of four carriers fall from the fourth: a paired with b, with c, with d.

    Units: MHz, widths taken off. With a and b paired, a + b - c is as far from d as a + b - d is from c, c + d - a
    from b and c + d - b from a: one number for all four.

    >>> three_signal_distances(*(Carrier(mhz) for mhz in (5658, 5917, 5695, 5880)))
    (0, 444, 74)
    """
    excess = (a.width_mhz + b.width_mhz + c.width_mhz + d.width_mhz) / 2 - 2 * REFERENCE_WIDTH_MHZ
    return (
        exact_mhz(abs(a.mhz + b.mhz - c.mhz - d.mhz) - excess),
        exact_mhz(abs(a.mhz + c.mhz - b.mhz - d.mhz) - excess),
        exact_mhz(abs(a.mhz + d.mhz - b.mhz - c.mhz) - excess),
    )


def _smallest(
    distances: Callable[..., tuple[float, float, float]], groups: Iterator[tuple[Carrier, ...]]
) -> float | None:
    return min((min(distances(*group)) for group in groups), default=None)


def _products_with_makers(carriers: Sequence[Carrier]) -> Iterator[tuple[Product, frozenset[int]]]:
    for i, j in permutations(range(len(carriers)), 2):
        a, b = carriers[i], carriers[j]
        width = exact_mhz(2 * a.width_mhz + b.width_mhz)
        yield Product(2 * a.mhz - b.mhz, "2a-b", (a.mhz, b.mhz), width), frozenset((i, j))
    for i, j in combinations(range(len(carriers)), 2):
        for k in range(len(carriers)):
            if k not in (i, j):
                a, b, c = carriers[i], carriers[j], carriers[k]
                width = exact_mhz(a.width_mhz + b.width_mhz + c.width_mhz)
                sources = (a.mhz, b.mhz, c.mhz)
                yield Product(a.mhz + b.mhz - c.mhz, "a+b-c", sources, width), frozenset((i, j, k))


def _distance(product: Product, victim: Carrier) -> float:
    victim_excess = (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2
    product_excess = (product.width_mhz - 3 * REFERENCE_WIDTH_MHZ) / 2
    return abs(product.mhz - victim.mhz) - victim_excess - product_excess


def nearest_first(hit: Hit) -> tuple[float, int, int, int, tuple[int, ...]]:
    """The order of hits: by distance, two-signal products first, by where they fall, by victim.

    >>> product = Product(5732, "2a-b", (5695, 5658), 60)
    >>> nearest_first(Hit(product, 5740, 8))
    (8, 2, 5732, 5740, (5695, 5658))
    """
    product = hit.product
    return hit.distance_mhz, len(product.sources), product.mhz, hit.victim_mhz, product.sources
