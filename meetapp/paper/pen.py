"""One document in the making: words, lines, codes to scan. Millimetres from the top left corner, text in points.

Text stands on its baseline. Letters that the fonts lack are printed as an empty box, so that a name never vanishes.
"""

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import datetime
from enum import Enum
from importlib.resources import as_file, files

import segno
from fpdf import FPDF, ViewerPreferences
from fpdf.enums import Duplex
from fpdf.fonts import TTFFont

from meetapp.paper.sizes import Paper

MM_PER_PT = 25.4 / 72
CAP_HEIGHT = 0.729
"""How high a capital of the text faces is, as a part of its size (read from the fonts' own tables)."""

NO_LETTER = "□"
QUIET_MODULES = 4
"""The free rim that a code to scan needs, in modules (ISO/IEC 18004)."""

LINE_HEIGHT = 1.22
"""From one line of a text to the next, as a part of its size."""

_DASH_MM, _GAP_MM = 1.2, 1.2
_SEAM_MM = 0.02
"""By how much a row of a code reaches into the next, so that no white seam shows between them."""


class Face(Enum):
    """The faces on paper, by file."""

    PLAIN = "DejaVuSansCondensed.ttf"
    BOLD = "DejaVuSansCondensed-Bold.ttf"
    CODE = "DejaVuSansMono-Bold.ttf"


def line_mm(size_pt: float) -> float:
    """The height of a line of text, in mm.

    >>> round(line_mm(10), 2)
    4.3
    """
    return size_pt * MM_PER_PT * LINE_HEIGHT


class Side(Enum):
    """Which end of a text stands at its x."""

    LEFT = 0.0
    MIDDLE = 0.5
    RIGHT = 1.0


def _font_of(pdf: FPDF, face: Face) -> TTFFont:
    # The library keeps its fonts by their names in small letters.
    font = pdf.fonts[face.name.lower()]
    assert isinstance(font, TTFFont), "every face comes from a file"
    return font


_GAPS = re.compile(r"[^\S\xa0]+")
"""What becomes one space; a space that doesn't break stays what it is."""


def printable(text: str, letters: Collection[int]) -> str:
    """The text in composed letters on one line, with a box (where there is one) for each that a face lacks.

    `letters`: the code points that the face has.

    >>> printable("Pen\u0303a\u2708  B", {*map(ord, "BPaeñ □")})
    'Peña□ B'
    """
    box = NO_LETTER if ord(NO_LETTER) in letters else "?"
    composed = unicodedata.normalize("NFC", _GAPS.sub(" ", text).strip())
    return "".join(sign if sign in " \xa0" or ord(sign) in letters else box for sign in composed)


class Pen:
    """Draws the pages of one PDF in the order in which they are asked for."""

    def __init__(self, title: str, made_at: datetime, *, is_double_sided: bool = False) -> None:
        self._pdf = FPDF(unit="mm")
        self._pdf.set_auto_page_break(False)
        self._pdf.set_margin(0)
        self._pdf.c_margin = 0
        self._pdf.set_title(title)
        self._pdf.set_lang("en")
        self._pdf.set_creation_date(made_at)
        self._pdf.viewer_preferences = ViewerPreferences(
            display_doc_title=True,
            print_scaling="None",
            duplex=Duplex.DUPLEX_FLIP_LONG_EDGE if is_double_sided else None,
        )
        for face in Face:
            with as_file(files("meetapp.paper") / "fonts" / face.value) as path:
                self._pdf.add_font(face.name, fname=path)
        self._fonts = {face: _font_of(self._pdf, face) for face in Face}

    def new_page(self, paper: Paper) -> None:
        """Begin another page."""
        self._pdf.add_page(format=(paper.width_mm, paper.height_mm))

    def finished(self) -> bytes:
        """The document."""
        return bytes(self._pdf.output())

    def width(self, text: str, size_pt: float, face: Face = Face.PLAIN) -> float:
        """How wide a text is, in mm."""
        font = self._fonts[face]
        _signs, wide_pt = font.get_text_width(printable(text, font.cmap), size_pt, None)
        return wide_pt * MM_PER_PT

    def size_to_fit(self, text: str, width_mm: float, largest_pt: float, face: Face = Face.PLAIN) -> float:
        """The largest size up to `largest_pt` at which a text is no wider than `width_mm`."""
        wide = self.width(text, largest_pt, face)
        return largest_pt if wide <= width_mm else largest_pt * width_mm / wide

    def write(
        self,
        x: float,
        baseline: float,
        text: str,
        size_pt: float,
        face: Face = Face.PLAIN,
        side: Side = Side.LEFT,
        *,
        is_white: bool = False,
    ) -> None:
        """Write one line."""
        left = x - side.value * self.width(text, size_pt, face)
        self._pdf.set_font(face.name, size=size_pt)
        self._pdf.set_text_color(255 if is_white else 0)
        self._pdf.text(left, baseline, printable(text, self._fonts[face].cmap))

    def write_to_fit(
        self,
        x: float,
        baseline: float,
        text: str,
        largest_pt: float,
        width_mm: float,
        face: Face = Face.PLAIN,
        side: Side = Side.LEFT,
    ) -> None:
        """Write one line, smaller where it would be wider than `width_mm`."""
        self.write(x, baseline, text, self.size_to_fit(text, width_mm, largest_pt, face), face, side)

    def wrapped(self, text: str, width_mm: float, size_pt: float, face: Face = Face.PLAIN) -> list[str]:
        """A text in lines no wider than `width_mm`; a word that is wider by itself is broken."""
        lines: list[str] = []
        line = ""
        for word in printable(text, self._fonts[face].cmap).split(" "):
            joined = f"{line} {word}" if line else word
            if self.width(joined, size_pt, face) <= width_mm:
                line = joined
                continue
            if line:
                lines.append(line)
            *full, line = self._broken(word, width_mm, size_pt, face)
            lines += full
        return [*lines, line]

    def wrapped_to_fit(
        self,
        texts: Iterable[str],
        width_mm: float,
        sizes_pt: Sequence[float],
        fits: Callable[[float, list[list[str]]], bool],
        face: Face = Face.PLAIN,
    ) -> tuple[float, list[list[str]]]:
        """Texts in lines at the first of the sizes at which they fit (at the last where they never do), with the size.

        `fits` is asked with a size in points and the lines of each text at that size.
        """
        for size in sizes_pt:
            lines = [self.wrapped(text, width_mm, size, face) for text in texts]
            if fits(size, lines):
                break
        return size, lines

    def _broken(self, word: str, width_mm: float, size_pt: float, face: Face) -> list[str]:
        pieces = [""]
        for sign in word:
            if pieces[-1] and self.width(pieces[-1] + sign, size_pt, face) > width_mm:
                pieces.append("")
            pieces[-1] += sign
        return pieces

    def line(
        self, x1: float, y1: float, x2: float, y2: float, width_mm: float = 0.2, *, is_dashed: bool = False
    ) -> None:
        """Draw a straight line."""
        self._stroke(width_mm)
        if is_dashed:
            self._pdf.set_dash_pattern(_DASH_MM, _GAP_MM)
        self._pdf.line(x1, y1, x2, y2)
        if is_dashed:
            self._pdf.set_dash_pattern()

    def outline(self, points: Sequence[tuple[float, float]], width_mm: float = 0.2) -> None:
        """Draw a closed line through these points."""
        self._stroke(width_mm)
        self._pdf.polygon(points)

    def circle(self, x: float, y: float, radius_mm: float, width_mm: float = 0.2) -> None:
        """Draw a circle around a centre."""
        self._stroke(width_mm)
        self._pdf.circle(x, y, radius_mm)

    def disc(self, x: float, y: float, radius_mm: float) -> None:
        """Fill a circle around a centre."""
        self._pdf.set_fill_color(0)
        self._pdf.circle(x, y, radius_mm, style="F")

    def box(self, x: float, y: float, width_mm: float, height_mm: float, line_mm: float = 0.2) -> None:
        """Draw the outline of a rectangle."""
        self._stroke(line_mm)
        self._pdf.rect(x, y, width_mm, height_mm)

    def block(self, x: float, y: float, width_mm: float, height_mm: float, grey: float = 0) -> None:
        """Fill a rectangle: 0 is black, 1 is white."""
        self._pdf.set_fill_color(round(255 * grey))
        self._pdf.rect(x, y, width_mm, height_mm, style="F")

    def shape(self, points: Sequence[tuple[float, float]], grey: float = 0) -> None:
        """Fill a closed shape."""
        self._pdf.set_fill_color(round(255 * grey))
        self._pdf.polygon(points, style="F")

    def scan_code(self, text: str, x: float, y: float, side_mm: float) -> None:
        """Draw a QR code (ISO/IEC 18004) with its quiet zone inside a square; error correction M or better."""
        matrix = segno.make(text, micro=False, error="m").matrix
        module = side_mm / (len(matrix) + 2 * QUIET_MODULES)
        for row, column, length in _dark_runs(matrix):
            left, top = x + (QUIET_MODULES + column) * module, y + (QUIET_MODULES + row) * module
            self.block(left, top, length * module, module + _SEAM_MM)

    def _stroke(self, width_mm: float) -> None:
        self._pdf.set_draw_color(0)
        self._pdf.set_line_width(width_mm)


def _dark_runs(matrix: Iterable[Iterable[int]]) -> Iterable[tuple[int, int, int]]:
    """The dark modules as runs: row, first column, length."""
    for row, modules in enumerate(matrix):
        start = None
        for column, is_dark in enumerate([*modules, 0]):
            if is_dark and start is None:
                start = column
            elif not is_dark and start is not None:
                yield row, start, column - start
                start = None
