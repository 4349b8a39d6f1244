"""What is drawn on one tag: the front with label, MHz, code and the code to scan; the back with cautions."""

from meetapp.flows.printing.tags import NearChannel, TagsToPrint, TagToPrint
from meetapp.paper.pen import CAP_HEIGHT, MM_PER_PT, Face, Pen, Side, line_mm
from meetapp.paper.tag_places import HOLE_DIAMETER_MM, TAG_HEIGHT_MM, TAG_WIDTH_MM, TagPlace

SCAN_CODE_MM = 27.0
"""The side of the code to scan with its quiet zone: modules of about 0.7 mm, read from a hand's length and more."""

WORDS_FROM_MM = 16.5
"""From the hole's end to where words may begin."""

EDGE_MM = 3.0
"""No word comes nearer to the cut line than this, as scissors and printers stray."""

CAUTION = "No power before you hold this token."

_SCAN_FROM_MM = TAG_WIDTH_MM - EDGE_MM - SCAN_CODE_MM
_WORDS_MM = _SCAN_FROM_MM - WORDS_FROM_MM - 1
_BACK_MM = TAG_WIDTH_MM - WORDS_FROM_MM - EDGE_MM
_CROSS_MM = 1.0
_LARGEST_PT, _LABEL_MIDDLE_MM = 66.0, 16.0
_ADDRESS_SIZES_PT = (6.5, 6.0, 5.5, 5.0, 4.5, 4.0, 3.5, 3.0, 2.5)
_CAUTION_SIZES_PT = (8.0, 7.0, 6.0, 5.5)


def token_address(base: str, code: str) -> str:
    """Where a tag's code leads: the token's own address at the club's field address.

    >>> token_address("http://192.168.1.20:8022", "K7MN")
    'http://192.168.1.20:8022/t/K7MN'
    """
    return f"{base}/t/{code}"


def draw_front(pen: Pen, tag: TagToPrint, at: TagPlace, base: str, near_mhz: int) -> None:
    """The side that hangs outwards."""
    pen.outline(at.outline)
    _hole(pen, at)
    left = at.x + WORDS_FROM_MM
    _label(pen, tag, left, at.y)
    for baseline, words in zip((41.0, 45.6), _other_names(tag, near_mhz), strict=True):
        pen.write_to_fit(left, at.y + baseline, words, 9, _WORDS_MM)
    pen.write(left, at.y + TAG_HEIGHT_MM - EDGE_MM - 0.6, CAUTION, 7.5, Face.BOLD)
    _code(pen, tag, at, base)


def _hole(pen: Pen, at: TagPlace) -> None:
    x, y = at.hole
    pen.circle(x, y, HOLE_DIAMETER_MM / 2)
    pen.line(x - _CROSS_MM, y, x + _CROSS_MM, y)
    pen.line(x, y - _CROSS_MM, x, y + _CROSS_MM)


def _label(pen: Pen, tag: TagToPrint, left: float, top: float) -> None:
    size = pen.size_to_fit(tag.label, _WORDS_MM, _LARGEST_PT, Face.BOLD)
    pen.write(left, top + _LABEL_MIDDLE_MM + size * MM_PER_PT * CAP_HEIGHT / 2, tag.label, size, Face.BOLD)
    pen.write_to_fit(left, top + 34.5, _mhz_beside(tag), 22, _WORDS_MM, Face.BOLD)


def _mhz_beside(tag: TagToPrint) -> str:
    """The frequency for beside the label, which may be the bare number already."""
    return "MHz" if tag.label == str(tag.mhz) else f"{tag.mhz} MHz"


def _other_names(tag: TagToPrint, near_mhz: int) -> tuple[str, str]:
    """The same channel in other plans, and the near ones with what they are off, a line each."""
    same = ", ".join(tag.also_called) or "no other channel"
    near = f"{', '.join(map(near_words, tag.near))} MHz" if tag.near else f"none within {near_mhz} MHz"
    return f"Same: {same}", f"Near: {near}"


def near_words(channel: NearChannel) -> str:
    """A near channel with what it is off in MHz.

    >>> near_words(NearChannel("B1", 1)), near_words(NearChannel("A4", -2))
    ('B1 +1', 'A4 −2')
    """
    return f"{channel.label} {'+' if channel.off_mhz > 0 else '−'}{abs(channel.off_mhz)}"


def _code(pen: Pen, tag: TagToPrint, at: TagPlace, base: str) -> None:
    left, middle = at.x + _SCAN_FROM_MM, at.x + _SCAN_FROM_MM + SCAN_CODE_MM / 2
    pen.scan_code(token_address(base, tag.code), left, at.y + EDGE_MM, SCAN_CODE_MM)
    pen.write_to_fit(middle, at.y + 36.5, tag.code, 19, SCAN_CODE_MM - 2, Face.CODE, Side.MIDDLE)
    pen.write(middle, at.y + 40.6, "scan it, or type it at", 6.5, side=Side.MIDDLE)
    shown = token_address(base, "").rstrip("/").removeprefix("http://")
    size, [lines] = pen.wrapped_to_fit(
        [shown], SCAN_CODE_MM - 1, _ADDRESS_SIZES_PT, lambda _size, wrapped: len(wrapped[0]) <= 2
    )
    for number, line in enumerate(lines):
        pen.write(middle, at.y + 43.6 + 2.6 * number, line, size, side=Side.MIDDLE)


def draw_back(pen: Pen, view: TagsToPrint, tag: TagToPrint, at: TagPlace) -> None:
    """The side towards the board: what to set, and the club's cautions."""
    _hole(pen, at)
    left, y = at.x + EDGE_MM, at.y + 11.5
    size = pen.size_to_fit(tag.label, _BACK_MM / 2, 26, Face.BOLD)
    pen.write(left, y, tag.label, size, Face.BOLD)
    pen.write(left + pen.width(tag.label, size, Face.BOLD) + 3, y, _mhz_beside(tag), 14, Face.BOLD)
    y += 1.5
    for line in pen.wrapped(how_to_set(tag), _BACK_MM, 7.5):
        y += line_mm(7.5)
        pen.write(left, y, line, 7.5)
    pen.line(left, y + 2, left + _BACK_MM, y + 2)
    _cautions(pen, view.safety_words or (CAUTION,), left, y + 3, at.y + TAG_HEIGHT_MM - EDGE_MM - 0.5)


def how_to_set(tag: TagToPrint) -> str:
    """The setting hint: plan and number of the channel, and where the pilot finds the rest.

    >>> from meetapp.spectrum.channels import Channel
    >>> how_to_set(TagToPrint("K7MN", "R7", 5880, (Channel("R", 7, 5880), Channel("F", 8, 5880)), ()))
    'Set plan R, channel 7 (the same: plan F, channel 8), or 5880 MHz. Your own page shows how on your transmitter.'
    """
    ways = [f"plan {channel.plan}, channel {channel.number}" for channel in tag.same]
    others = f" (the same: {'; '.join(ways[1:])})" if ways[1:] else ""
    what = f"{ways[0]}{others}, or {tag.mhz} MHz" if ways else f"{tag.mhz} MHz; no plan has it"
    return f"Set {what}. Your own page shows how on your transmitter."


def _cautions(pen: Pen, lines: tuple[str, ...], left: float, top: float, bottom: float) -> None:
    """As many of the cautions as fit, whole ones only, as large as they may be."""

    def fit(size: float, wrapped: list[list[str]]) -> bool:
        return sum(map(len, wrapped)) <= (bottom - top) / line_mm(size)

    size, wrapped = pen.wrapped_to_fit(lines, _BACK_MM - 3, _CAUTION_SIZES_PT, fit)
    height = line_mm(size)
    y = top
    for pieces in wrapped:
        if y + len(pieces) * height > bottom:
            break
        pen.write(left, y + height, "–", size, Face.BOLD)
        for piece in pieces:
            y += height
            pen.write(left + 3, y, piece, size)
