"""What the estimated levels say, in sentences with figures."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, log10

from meetapp.spectrum.levels.assumptions import ALLOWED, Assumptions
from meetapp.spectrum.levels.layout import Needed, PilotLevels, PitsCase, PitsChannel, PowersCompared
from meetapp.spectrum.levels.receiver import Kind
from meetapp.spectrum.products import product_text

NO_SOURCE = "assumed, no source"
TYPED = "as typed here"

FIGURE_NAMES = {
    "quad_gain_dbi": "A quad's antenna",
    "pilot_gain_dbi": "A pilot's antenna",
    "noise_figure_db": "Noise figure of the receiver",
    "intercept_dbm": "Intercept point of the receiver (third order, at its input)",
    "rejection_20_db": "Filter, 20 MHz beside the channel",
    "rejection_40_db": "Filter, 40 MHz beside the channel",
    "rejection_80_db": "Filter, 80 MHz and more beside the channel",
    "conversion_loss_db": "A product made in a transmitter: weaker than what comes in by",
    "protection_db": "Protection ratio: the margin that a picture needs",
}

GROUND_RULES = (
    ("Powers", "into the quad's antenna; licences often count e.i.r.p., with the antenna's gain in it", TYPED),
    ("Path loss", "free space, antennas alike in every direction", "ITU-R P.525"),
    ("Products", "by the receiver's intercept point", "method of ITU-R SM.1134-1, annex 1, section 3.2"),
    ("Three signals", "6 dB above two of the same strength", "20 log 2"),
    ("Noise", "k T B at 290 K in 20 MHz, the analogue reference width", "physics; the width: no source"),
    ("Filter", "straight between the three points, from 0 dB on the channel", NO_SOURCE),
    ("Where a product lies", "all its power at its centre, though it is up to three widths wide", NO_SOURCE),
    ("The others", "every one at the nearest distance, your own quad at its farthest", "as bad as it gets"),
)
"""(what, how, source) of what no field changes."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure that may be changed. `source`: where it comes from, or that it comes from nowhere."""

    name: str
    label: str
    value: float
    unit: str
    source: str


def figures_assumed(assumed: Assumptions) -> tuple[Figure, ...]:
    """Every figure in use; one that differs from the default was typed."""
    usual = Assumptions()
    return tuple(
        Figure(
            name,
            label,
            getattr(assumed, name),
            ALLOWED[name].unit,
            NO_SOURCE if getattr(assumed, name) == getattr(usual, name) else TYPED,
        )
        for name, label in FIGURE_NAMES.items()
    )


def made_by(kind: Kind, sources: Sequence[int]) -> str:
    """What disturbs, written out."""
    match kind:
        case "noise":
            return "the receiver's noise"
        case "carrier":
            return f"the carrier on {sources[0]} MHz"
        case "transmitter":
            return f"{product_text('2a-b', sources)}, made in the transmitter on {sources[0]} MHz"
        case "two-signal":
            return f"{product_text('2a-b', sources)}, made in the receiver"
        case "three-signal":
            return f"{product_text('a+b-c', sources)}, made in the receiver"


def metres(distance_m: float) -> str:
    """A least distance, rounded up: what is rounded down would not be enough."""
    if distance_m <= 1:
        return "1 m"
    return f"{ceil(distance_m * 10) / 10:g} m" if distance_m < 10 else f"{ceil(distance_m)} m"


def power_sentences(
    compared: Sequence[PowersCompared], low_mw: float, high_mw: float, protection_db: float
) -> Iterator[str]:
    """Does the power matter?"""
    louder = 10 * log10(high_mw / low_mw)
    low, high = f"{low_mw:g} mW", f"{high_mw:g} mW"
    yield (
        f"Everybody with {high} in place of {low}: each signal is {louder:.1f} dB stronger. That gains {louder:.1f} dB "
        f"over noise, changes nothing beside another carrier, and loses {2 * louder:.1f} dB against a product."
    )
    cases = [
        (f"everybody at {low}", _weakest([each.low for each in compared])),
        (f"everybody at {high}", _weakest([each.high for each in compared])),
    ]
    beside = [each.beside_loud for each in compared if each.beside_loud is not None]
    if beside:
        cases.append((f"one at {high} among {low}", _weakest(beside)))
    for what, weakest in cases:
        disturber = made_by(weakest.strongest.kind, weakest.strongest.sources)
        yield (
            f"The smallest margin, {what}: {weakest.margin_db:.1f} dB, for the pilot on {weakest.mhz} MHz against "
            f"{disturber}."
        )
    yield _verdict([(what, weakest.margin_db) for what, weakest in cases], protection_db)


def _weakest(levels: Sequence[PilotLevels]) -> PilotLevels:
    return min(levels, key=lambda each: each.margin_db)


def _verdict(cases: Sequence[tuple[str, float]], protection_db: float) -> str:
    ratio = f"the protection ratio of {protection_db:g} dB"
    below = [what for what, margin in cases if margin < protection_db]
    if not below:
        return f"By this estimate neither power makes a picture fall below {ratio}."
    if len(below) == len(cases):
        return f"By this estimate some picture is below {ratio} with either power."
    return f"By this estimate it matters here: a picture is below {ratio} with {', and with '.join(below)}."


def nearest_sentences(needs: Sequence[tuple[float, Needed | None]]) -> Iterator[str]:
    """How far must the others stay from a pilot's receiver? needs: pairs of mW and the answer."""
    for mw, needed in needs:
        if needed is not None:
            yield (
                f"Everybody with {mw:g} mW: nobody else's transmitter nearer to a pilot's receiver than "
                f"{metres(needed.distance_m)} (for the pilot on {needed.victim_mhz} MHz, because of "
                f"{made_by(needed.kind, needed.sources)})."
            )


def pits_sentence(low: Sequence[PitsCase], high: Sequence[PitsCase], low_mw: float, high_mw: float) -> str:
    """How far apart must the pilots' spot and the pits be?"""
    at_low, at_high = _farthest(low), _farthest(high)
    if at_low is None or at_high is None:
        return "With one channel there is no other to power a quad on in the pits, and on the same one: see below."
    return (
        f"Where a quad that is powered in the pits is on a channel of its own out of the set: {metres(at_low)} apart "
        f"if it has {low_mw:g} mW, {metres(at_high)} if it has {high_mw:g} mW among pilots with {low_mw:g} mW. On the "
        "channel of a pilot in the air it is another matter: see below."
    )


def _farthest(cases: Sequence[PitsCase]) -> float | None:
    return max((case.needed.distance_m for case in cases if case.channel != "same"), default=None)


PITS_CHANNELS: dict[PitsChannel, str] = {
    "same": "On the channel of a pilot in the air",
    "other": "On another channel of the set",
    "product": "Through a product with those in the air",
}
