"""The poster of a day: how to join with a phone, and the club's rules in its own words."""

from dataclasses import dataclass
from datetime import datetime

from segno.helpers import make_wifi_data

from meetapp.flows.printing.day import Day
from meetapp.paper.pen import Face, Pen, Side, line_mm
from meetapp.paper.sizes import PAPERS, Paper, PaperName

LICENCE_WORDS = "The power limit is the club's ceiling; local rules and your licence may be lower."

_MARGIN_MM = 14.0
_SCAN_MM = 62.0
_RULES_TOP_MM = 150.0
_FOOT_MM = 12.0
_GAP_LINES = 0.4
_SIZES_PT = tuple(size / 2 for size in range(52, 9, -1))


@dataclass(frozen=True, slots=True)
class Wifi:
    """The Wi-Fi to join. `password` '': an open one."""

    name: str
    password: str

    @property
    def scan_text(self) -> str:
        """What a phone's camera joins by. The form is common practice, see the ZXing wiki, Barcode Contents."""
        return str(make_wifi_data(self.name, self.password or None, "WPA" if self.password else None))


def poster(day: Day, wifi: Wifi | None, join_address: str, paper: Paper, made_at: datetime) -> bytes:
    """The poster as a PDF. Everything grows with the paper; measures in this module are those on A4."""
    pen = Pen(f"Poster, {day.meet_name}", made_at)
    pen.new_page(paper)
    scale = paper.width_mm / PAPERS[PaperName.A4].width_mm
    _head(pen, day, paper, scale)
    middles = (paper.width_mm * 0.28, paper.width_mm * 0.72) if wifi else (paper.width_mm / 2,)
    if wifi:
        words = (wifi.name, f"Password: {wifi.password}" if wifi.password else "no password")
        _step(pen, middles[0], scale, "1 Join the Wi-Fi", wifi.scan_text, words)
    shown = join_address.removeprefix("http://")
    title = "2 Find your name" if wifi else "Find your name"
    _step(pen, middles[-1], scale, title, join_address, (shown, "your channel, your place in the line"))
    _rules(pen, day.safety_words, paper, scale)
    pen.write_to_fit(
        paper.width_mm / 2,
        paper.height_mm - _FOOT_MM * scale,
        LICENCE_WORDS,
        10 * scale,
        paper.width_mm - 2 * _MARGIN_MM * scale,
        side=Side.MIDDLE,
    )
    return pen.finished()


def _head(pen: Pen, day: Day, paper: Paper, scale: float) -> None:
    left, inner = _MARGIN_MM * scale, paper.width_mm - 2 * _MARGIN_MM * scale
    pen.write_to_fit(left, 24 * scale, day.club_name, 16 * scale, inner)
    pen.write_to_fit(left, 38 * scale, day.meet_name, 36 * scale, inner, Face.BOLD)
    when = f"{day.on_date.isoformat()}, {day.site_name}"
    pen.write_to_fit(left, 47 * scale, when, 16 * scale, inner)
    pen.line(left, 52 * scale, left + inner, 52 * scale, 0.8 * scale)


def _step(pen: Pen, middle: float, scale: float, title: str, text: str, words: tuple[str, str]) -> None:
    wide = 82 * scale
    pen.write_to_fit(middle, 64 * scale, title, 20 * scale, wide, Face.BOLD, Side.MIDDLE)
    pen.scan_code(text, middle - _SCAN_MM * scale / 2, 66 * scale, _SCAN_MM * scale)
    pen.write_to_fit(middle, 133.5 * scale, words[0], 15 * scale, wide, Face.BOLD, Side.MIDDLE)
    pen.write_to_fit(middle, 140.5 * scale, words[1], 13 * scale, wide, side=Side.MIDDLE)


def _rules(pen: Pen, lines: tuple[str, ...], paper: Paper, scale: float) -> None:
    """The rules, as large as they may be to fit above the foot."""
    left, inner = _MARGIN_MM * scale, paper.width_mm - 2 * _MARGIN_MM * scale
    top, bottom = _RULES_TOP_MM * scale, paper.height_mm - (_FOOT_MM + 8) * scale
    pen.line(left, top, left + inner, top, 0.8 * scale)
    pen.write(left, top + 11 * scale, "Rules of the day", 22 * scale, Face.BOLD)
    top += 14 * scale
    number_mm = 10 * scale

    def fit(size: float, wrapped: list[list[str]]) -> bool:
        return (sum(map(len, wrapped)) + _GAP_LINES * len(wrapped)) * line_mm(size) <= bottom - top

    sizes = [size * scale for size in _SIZES_PT]
    size, wrapped = pen.wrapped_to_fit(lines, inner - number_mm, sizes, fit)
    y = top
    for number, pieces in enumerate(wrapped, start=1):
        pen.write(left, y + line_mm(size), str(number), size, Face.BOLD)
        for piece in pieces:
            y += line_mm(size)
            pen.write(left + number_mm, y, piece, size)
        y += _GAP_LINES * line_mm(size)
