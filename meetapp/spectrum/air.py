"""The air as one sees it on an axis: carriers with their widths, where their products fall, what lies beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import USEFUL_CLEARANCE_MHZ
from meetapp.spectrum.products import Hit, every_hit, nearest_first, product_text, products

REACH_MHZ = USEFUL_CLEARANCE_MHZ
"""How far beyond the outermost carriers one looks."""
EDGE_REACH_MHZ = 100
"""An edge of the band is looked at too, if it lies no further than this from the outermost carriers."""

_PlacedHit = tuple[int, Hit]


@dataclass(frozen=True, slots=True)
class Named:
    """A carrier with its channel's name and with who has it ('' each where there is none)."""

    carrier: Carrier
    name: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class AirCarrier:
    """A carrier and the nearest product of each form that it did not help to make (None: there is none)."""

    named: Named
    two_signal: Hit | None
    three_signal: Hit | None

    @property
    def carrier(self) -> Carrier:
        """The carrier itself."""
        return self.named.carrier

    @property
    def nearest(self) -> Hit | None:
        """The nearest product of either form; of equally near ones the two-signal one."""
        known = [hit for hit in (self.two_signal, self.three_signal) if hit is not None]
        return min(known, key=lambda hit: hit.distance_mhz, default=None)


@dataclass(frozen=True, slots=True)
class FallenProduct:
    """A frequency at which products fall, by how many signals, and the smallest distance to a carrier not of theirs."""

    mhz: int
    signals: int
    distance_mhz: float | None


@dataclass(frozen=True, slots=True)
class AirFacts:
    """Everything between `low_mhz` and `high_mhz`. `carriers`, `products` and `neighbours` ascend by MHz."""

    low_mhz: float
    high_mhz: float
    carriers: tuple[AirCarrier, ...]
    products: tuple[FallenProduct, ...]
    neighbours: tuple[Neighbour, ...]
    segments: tuple[Segment, ...]

    def products_of(self, signals: int) -> tuple[FallenProduct, ...]:
        """Those of two or those of three signals."""
        return tuple(product for product in self.products if product.signals == signals)


def air_facts(
    named: Sequence[Named], neighbours: Sequence[Neighbour] = (), segments: Sequence[Segment] = ()
) -> AirFacts | None:
    """What there is to see around these carriers; None where there is no carrier.

    Units: MHz. A product further out than REACH_MHZ from every carrier is left out, and so is a neighbour or a segment
    that lies beside all this. Cost: O(n^4), as `every_hit`.

    >>> facts = air_facts([Named(Carrier(mhz)) for mhz in (5658, 5695, 5740)])
    >>> [(each.carrier.mhz, each.nearest.distance_mhz, each.nearest.product.mhz) for each in facts.carriers]
    [(5658, 8, 5650), (5695, 119, 5576), (5740, 8, 5732)]
    >>> [(each.mhz, each.distance_mhz) for each in facts.products]
    [(5613, None), (5621, 119), (5650, 8), (5703, None), (5732, 8), (5777, None), (5785, 127)]
    """
    if not named:
        return None
    ascending = sorted(named, key=lambda each: (each.carrier, each.name, each.who))
    carriers = [each.carrier for each in ascending]
    low, high = _window(carriers, segments)
    near = sorted(every_hit(carriers), key=lambda placed: nearest_first(placed[1]))
    return AirFacts(
        low,
        high,
        tuple(
            AirCarrier(each, _nearest(near, place, 2), _nearest(near, place, 3))
            for place, each in enumerate(ascending)
        ),
        _fallen(carriers, near, low, high),
        tuple(
            each
            for each in sorted(neighbours, key=lambda each: each.centre_mhz)
            if low < each.edges_mhz[1] and each.edges_mhz[0] < high
        ),
        tuple(each for each in segments if low < each.high_mhz and each.low_mhz < high),
    )


def nearest_text(hit: Hit) -> str:
    """How near a product falls, and which.

    >>> facts = air_facts([Named(Carrier(mhz)) for mhz in (5658, 5695, 5740)])
    >>> nearest_text(facts.carriers[0].nearest)
    '8 MHz: 2 x 5695 - 5740 = 5650'
    """
    product = hit.product
    return f"{hit.distance_mhz:g} MHz: {product_text(product.kind, product.sources)} = {product.mhz}"


def _window(carriers: Sequence[Carrier], segments: Sequence[Segment]) -> tuple[float, float]:
    edges = list(chain.from_iterable(carrier.edges_mhz for carrier in carriers))
    first, last = min(edges), max(edges)
    band = [edge for segment in segments for edge in (segment.low_mhz, segment.high_mhz)]
    looked_at = [edge for edge in band if first - EDGE_REACH_MHZ <= edge <= last + EDGE_REACH_MHZ]
    return min([first - REACH_MHZ, *looked_at]), max([last + REACH_MHZ, *looked_at])


def _nearest(near: Sequence[_PlacedHit], place: int, signals: int) -> Hit | None:
    return next((hit for at, hit in near if at == place and hit.product.signals == signals), None)


def _fallen(
    carriers: Sequence[Carrier], near: Sequence[_PlacedHit], low: float, high: float
) -> tuple[FallenProduct, ...]:
    found: dict[tuple[int, int], float | None] = {}
    for _place, hit in near:
        found.setdefault((hit.product.mhz, hit.product.signals), hit.distance_mhz)
    for product in products(carriers):
        found.setdefault((product.mhz, product.signals), None)
    return tuple(
        FallenProduct(mhz, signals, distance)
        for (mhz, signals), distance in sorted(found.items(), key=lambda item: item[0])
        if low <= mhz <= high
    )
