"""The air picture: one set of carriers, or several over one another on the same axis."""

from collections.abc import Iterator, Sequence

from meetapp.drawings import air_narrow, air_wide
from meetapp.drawings.air_strips import Strip, on_one_axis
from meetapp.drawings.shapes import Picture
from meetapp.spectrum.air import AirFacts

SIDE_BY_SIDE = 2
"""How many sets stand side by side on a phone."""


def air_picture(facts: AirFacts) -> Picture:
    """What is on air (or shall be), in both layouts."""
    strips = [Strip("", facts)]
    carriers = facts.carriers
    span = f"{carriers[0].carrier.mhz} to {carriers[-1].carrier.mhz} MHz" if len(carriers) > 1 else ""
    title = f"{len(carriers)} carriers from {span}" if span else f"One carrier on {carriers[0].carrier.mhz} MHz"
    return Picture(title, _described(strips), (air_wide.drawn(strips), air_narrow.drawn(strips)))


def air_compared(sets: Sequence[tuple[str, AirFacts]]) -> Picture:
    """Sets with their headings, one over the other on the same axis; on a phone two at a time stand side by side."""
    shared = on_one_axis([facts for _heading, facts in sets])
    strips = [Strip(heading, facts) for (heading, _facts), facts in zip(sets, shared, strict=True)]
    title = " over ".join(strip.heading for strip in strips)
    pairs = [strips[number : number + SIDE_BY_SIDE] for number in range(0, len(strips), SIDE_BY_SIDE)]
    return Picture(title, _described(strips), (air_wide.drawn(strips), *map(air_narrow.drawn, pairs)))


def _described(strips: Sequence[Strip]) -> str:
    return " ".join(sentence for strip in strips for sentence in _sentences(strip)) + " The tables say the same."


def _sentences(strip: Strip) -> Iterator[str]:
    facts = strip.facts
    mhz = ", ".join(str(each.carrier.mhz) for each in facts.carriers)
    yield f"{strip.heading}: carriers at {mhz} MHz." if strip.heading else f"Carriers at {mhz} MHz."
    nearest = min(
        (hit for each in facts.carriers if (hit := each.nearest) is not None),
        key=lambda hit: hit.distance_mhz,
        default=None,
    )
    if nearest is not None:
        yield f"The nearest product falls {nearest.distance_mhz:g} MHz from {nearest.victim_mhz}."
    for neighbour in facts.neighbours:
        yield f"Neighbour: {neighbour.label} around {neighbour.centre_mhz} MHz."
    if facts.segments:
        yield f"Band: {', '.join(segment.text for segment in facts.segments)}."
