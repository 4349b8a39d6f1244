"""What the wall chart shows: every plan, the meet's set, where its products fall, the band and the neighbours."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from meetapp.flows.kits import plans_of
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.printing.day import Day, day_of
from meetapp.flows.printing.tags import TagToPrint, tag_of
from meetapp.flows.snapshot import neighbours_of, segments_of
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import ChannelPlan
from meetapp.spectrum.products import Hit, Measures, ProductKind, hits, measure, products
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

NEAREST_SHOWN = 8
"""How many of the products that fall nearest to a carrier are written out."""


@dataclass(frozen=True, slots=True)
class WallChart:
    """A day's wall chart. `tokens`: the set, without withdrawn ones, by frequency; sums count each frequency once.

    `two_signal_mhz`, `three_signal_mhz`: where the set's products of the third order fall, each place once, ascending.
    `nearest`: those that fall nearest to a carrier which didn't help to make them, the nearest first.
    """

    day: Day
    plans: tuple[ChannelPlan, ...]
    tokens: tuple[TagToPrint, ...]
    measures: Measures
    two_signal_mhz: tuple[int, ...]
    three_signal_mhz: tuple[int, ...]
    nearest: tuple[Hit, ...]
    band_name: str
    segments: tuple[Segment, ...]
    neighbours: tuple[Neighbour, ...]


def wall_chart(store: Store, meet_id: int) -> WallChart:
    """The wall chart of a meet."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        site = session.get_one(t.Site, meet.site_id)
        plans = plans_of(session)
        tokens = _tokens(session, meet, plans)
        carriers = [Carrier(mhz) for mhz in sorted({token.mhz for token in tokens})]
        return WallChart(
            day=day_of(session, meet),
            plans=plans,
            tokens=tokens,
            measures=measure(carriers),
            two_signal_mhz=_places(carriers, "2a-b"),
            three_signal_mhz=_places(carriers, "a+b-c"),
            nearest=_nearest(session, carriers),
            band_name=session.get_one(t.BandProfile, site.band_profile_id).name,
            segments=segments_of(session, site.band_profile_id),
            neighbours=neighbours_of(session, site.id),
        )


def _tokens(session: Session, meet: t.Meet, plans: Sequence[ChannelPlan]) -> tuple[TagToPrint, ...]:
    usable = [token for token in queries.meet_tokens(session, meet.id) if token.state != "withdrawn"]
    return tuple(tag_of(token, plans, meet.pull_mhz) for token in usable)


def _places(carriers: Sequence[Carrier], kind: ProductKind) -> tuple[int, ...]:
    return tuple(sorted({product.mhz for product in products(carriers) if product.kind == kind}))


def _nearest(session: Session, carriers: Sequence[Carrier]) -> tuple[Hit, ...]:
    reach = session.get_one(t.Club, 1).useful_clearance_mhz
    return hits(carriers, reach)[:NEAREST_SHOWN]
