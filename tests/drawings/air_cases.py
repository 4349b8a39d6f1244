"""Sets to draw, the worst ones among them."""

from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour

NAMES = (
    "Ana", "Bartholomew", "Cy", "Dov the Elder", "Wwwwwwwwwwwwwwww", "Flo", "Gil", "Hal", "Ida", "Jan", "Kit", "Lou",
)  # fmt: skip
SEGMENTS = (Segment(5650, 5850, 25), Segment(5725, 5875, 25), Segment(5850, 5925))
NEIGHBOURS = (
    Neighbour("Wi-Fi 138", 5690, 80),
    Neighbour("The neighbour's camera behind the hedge", 5840, 20),
    Neighbour("Wi-Fi 155", 5775, 80),
)


def drawn_set(
    mhz: tuple[int, ...],
    widths: tuple[float, ...] = (),
    *,
    names: bool = True,
    who: bool = False,
    beside: bool = False,
) -> AirFacts:
    """The facts of a set, with as much around it as asked for."""
    named = [
        Named(
            Carrier(each, widths[place % len(widths)] if widths else 20),
            f"R{place + 1}" if names else "",
            NAMES[place % len(NAMES)] if who else "",
        )
        for place, each in enumerate(mhz)
    ]
    facts = air_facts(named, NEIGHBOURS if beside else (), SEGMENTS if beside else ())
    assert facts is not None
    return facts


CASES = {
    "one": drawn_set((5740,)),
    "two": drawn_set((5658, 5917), who=True),
    "six": drawn_set((5658, 5695, 5760, 5800, 5880, 5917), beside=True),
    "eight evenly, many products on carriers": drawn_set(tuple(range(5658, 5918, 37)), who=True, beside=True),
    "twelve on one frequency": drawn_set((5800,) * 12, who=True),
    "twelve 1 MHz apart": drawn_set(tuple(range(5800, 5812)), who=True, beside=True),
    "twelve at the lower edge": drawn_set(tuple(range(5650, 5710, 5)), beside=True),
    "twelve at the upper edge": drawn_set((5362, *range(5880, 5935, 5)), who=True),
    "twelve wide ones": drawn_set(tuple(range(5650, 5926, 24)), (40, 27, 17.5), who=True, beside=True),
    "twelve uneven, many products": drawn_set(
        (5645, 5658, 5685, 5705, 5732, 5769, 5806, 5828, 5865, 5880, 5905, 5945), who=True, beside=True
    ),
    "a figure of the axis at its very end": drawn_set((5927,), (76,), names=False),
    "one very wide": drawn_set((5650, 5770, 5917), (20, 160, 20), names=False, who=True, beside=True),
}
