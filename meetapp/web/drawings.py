"""Where the lines of a drawing go: plain geometry over a view, in the units of the drawing's view box."""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.flows.planning.token_counts import CountRow

WIDTH, LEFT, RIGHT = 360, 4, 356
PANEL_HEIGHT, LABEL_ROOM = 110, 24
BAR_SHARE = 0.62
"""How much of its column a bar fills."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar with the words above it. `line_y`: a heavy line across it for a second value, None where there is none.

    `is_main`: the one that stands out (in the accent colour and by a thicker frame).
    """

    x: float
    y: float
    width: float
    height: float
    text: str
    text_y: float
    line_y: float | None
    is_main: bool

    @property
    def middle_x(self) -> float:
        """Where its words are centred."""
        return self.x + self.width / 2


@dataclass(frozen=True, slots=True)
class Panel:
    """A row of bars over one another's foot, with its title."""

    title: str
    title_y: float
    foot_y: float
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class CountsDrawing:
    """Two panels over one scale of token counts. `columns`: (x, text) pairs at the foot."""

    width: float
    height: float
    panels: tuple[Panel, ...]
    columns: tuple[tuple[float, str], ...]
    columns_y: float


@dataclass(frozen=True, slots=True)
class _Value:
    """A bar to be: None has no height and only its words."""

    value: float | None
    text: str
    second: float | None
    is_main: bool


def counts_drawing(rows: Sequence[CountRow]) -> CountsDrawing:
    """The share of time in the air and the clearance, by number of tokens."""
    air = _panel(
        "Time in the air, %",
        0,
        [
            _Value(
                row.queue.air_share,
                f"{100 * row.queue.air_share:.0f}",
                row.mixed.air_share if row.mixed else None,
                row.is_usual,
            )
            for row in rows
        ],
    )
    clearance = _panel("Clearance, MHz", PANEL_HEIGHT + 2 * LABEL_ROOM, [_clearance(row) for row in rows])
    columns_y = clearance.foot_y + LABEL_ROOM
    columns = tuple((bar.middle_x, str(row.queue.tokens)) for bar, row in zip(clearance.bars, rows, strict=True))
    return CountsDrawing(WIDTH, columns_y + LABEL_ROOM + 4, (air, clearance), columns, columns_y)


def _clearance(row: CountRow) -> _Value:
    nominal, worst = row.found.measures.clearance_mhz, row.found.worst.clearance_mhz
    return _Value(nominal, "none" if nominal is None else f"{nominal:g}", worst, row.is_usual)


def _panel(title: str, top: float, values: Sequence[_Value]) -> Panel:
    title_y, foot_y = top + LABEL_ROOM, top + 2 * LABEL_ROOM + PANEL_HEIGHT
    most = max((each for value in values for each in (value.value, value.second) if each is not None), default=0)
    column = (RIGHT - LEFT) / max(1, len(values))

    def height(value: float | None) -> float:
        return max(0.0, value) / most * PANEL_HEIGHT if value is not None and most > 0 else 0.0

    bars = []
    for place, each in enumerate(values):
        tall = height(each.value)
        line_y = None if each.second is None else foot_y - height(each.second)
        top_y = min(foot_y - tall, foot_y if line_y is None else line_y)
        x, width = LEFT + column * (place + (1 - BAR_SHARE) / 2), column * BAR_SHARE
        bars.append(Bar(x, foot_y - tall, width, tall, each.text, top_y - 6, line_y, each.is_main))
    return Panel(title, title_y, foot_y, tuple(bars))
