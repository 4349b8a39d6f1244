"""Band segments: where a carrier may lie, edge to edge, and the power written beside each segment.

The text form of segments is `low-high`, with the power behind it where one is known, separated by commas:
`5725-5875 25 mW, 5650-5725`. A carrier counts as inside only where its whole occupied width lies in ONE segment:
two segments that touch usually differ in their rule.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.spectrum.channels import BadProblem, check_mhz

_SEGMENT = re.compile(r"(\d{1,6})\s*[-–]\s*(\d{1,6})(?:\s+(\d{1,6}(?:\.\d{1,4})?)\s*mW)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Segment:
    """A piece of band from edge to edge in MHz, with its highest radiated power in mW (None: no figure given)."""

    low_mhz: int
    high_mhz: int
    power_mw: float | None = None

    def __post_init__(self) -> None:
        check_mhz("segments", self.low_mhz)
        check_mhz("segments", self.high_mhz)
        if self.low_mhz >= self.high_mhz:
            raise BadProblem("segments", f"{self.low_mhz}-{self.high_mhz} runs backwards: write the lower edge first.")
        if self.power_mw is not None and self.power_mw <= 0:
            raise BadProblem("segments", "A power of 0 mW lets nobody fly: leave the power out or give one.")

    @property
    def text(self) -> str:
        """The segment in the form that `parse_segments` reads."""
        power = "" if self.power_mw is None else f" {self.power_mw:g} mW"
        return f"{self.low_mhz}-{self.high_mhz}{power}"


def segment_around(mhz: int, width_mhz: float, segments: Sequence[Segment]) -> Segment | None:
    """The segment that holds a carrier with its whole occupied width; of several, the one with the highest power.

    Units: MHz. None where no segment holds it. A segment without a power figure comes after those with one.

    >>> segment_around(5740, 20, parse_segments("5650-5850, 5725-5875 25 mW"))
    Segment(low_mhz=5725, high_mhz=5875, power_mw=25)
    """
    low, high = mhz - width_mhz / 2, mhz + width_mhz / 2
    around = [segment for segment in segments if segment.low_mhz <= low and high <= segment.high_mhz]
    return max(around, key=lambda segment: segment.power_mw or 0, default=None)


def lies_within(mhz: int, width_mhz: float, segments: Sequence[Segment]) -> bool:
    """Whether the whole occupied width of a carrier lies inside one of the segments (edges count as inside).

    Units: MHz. No segments: nothing lies inside.

    >>> band = parse_segments("5725-5875")
    >>> lies_within(5735, 20, band), lies_within(5733, 20, band), lies_within(5733, 16, band)
    (True, False, True)
    """
    return segment_around(mhz, width_mhz, segments) is not None


def parse_segments(text: str) -> tuple[Segment, ...]:
    """Read segments from text such as `5725-5875 25 mW, 5650-5725`.

    Separators: comma, semicolon or a new line. Units: MHz and mW. Order: as written, a repeated segment once.
    Raises: BadProblem (field "segments") that quotes the piece that is wrong; for an empty text too.

    >>> parse_segments("5725-5875 25 mW, 5650-5725")
    (Segment(low_mhz=5725, high_mhz=5875, power_mw=25), Segment(low_mhz=5650, high_mhz=5725, power_mw=None))
    """
    pieces = [piece.strip() for piece in re.split(r"[,;\n]", text) if piece.strip()]
    if not pieces:
        raise BadProblem("segments", "Give at least one piece of band, such as 5725-5875.")
    return tuple(dict.fromkeys(_segment_from(piece) for piece in pieces))


def segments_text(segments: Sequence[Segment]) -> str:
    """The segments in the form that `parse_segments` reads back.

    >>> segments_text(parse_segments("5725-5875 0.75mw;5650-5725"))
    '5725-5875 0.75 mW, 5650-5725'
    """
    return ", ".join(segment.text for segment in segments)


def _segment_from(piece: str) -> Segment:
    match = _SEGMENT.fullmatch(piece)
    if match is None:
        raise BadProblem("segments", f"'{piece}' is no piece of band: write it as 5725-5875 or 5725-5875 25 mW.")
    low, high, power = match.groups()
    return Segment(int(low), int(high), _number(power) if power else None)


def _number(digits: str) -> float:
    return float(digits) if "." in digits else int(digits)
