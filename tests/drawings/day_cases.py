"""Days to draw, the worst ones among them."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from meetapp.review.day import DayFacts, DayReport, DayRow, DayStretch, StretchKind

MORNING = datetime(2026, 6, 14, 8, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
NAMES = ("Ana", "Bartholomew", "Cy", "Dov the Elder", "Wwwwwwwwwwwwwwww", "Flo", "漢字", "Ön")


def at(minute: float) -> datetime:
    return MORNING + timedelta(minutes=minute)


def stretch(start: float, end: float, who: str = "Ana", kind: StretchKind = "loan") -> DayStretch:
    change = (at((start + end) / 2),)
    return DayStretch(kind, at(start), at(end), who, f"{who} from {start:g} to {end:g}", "/loan", change)


def report(minute: float, window: float = 2) -> DayReport:
    return DayReport(at(minute), at(minute - window), at(minute + window), f"Clash report at {minute:g}", "/at")


def day(*rows: DayRow) -> DayFacts:
    moments = [moment for row in rows for moment in row.moments]
    return DayFacts(min(moments), max(moments), BERLIN, rows)


def busy_row(name: str, length: float, until: float) -> DayRow:
    count = int(until / length)
    loans = (stretch(n * length, (n + 1) * length - 0.5, NAMES[n % len(NAMES)]) for n in range(count))
    return DayRow(name, tuple(loans), tuple(report(n * 31.0) for n in range(int(until / 31))))


DAYS = {
    "one short loan": day(DayRow("R1", (stretch(0, 0.2),))),
    "one moment": day(DayRow("R1", (stretch(3, 3),), (report(3, 0),))),
    "a report alone": day(DayRow("no token", (), (report(5),))),
    "a busy day": day(
        DayRow("paused", (stretch(60, 95, "Paused", "pause"),)),
        DayRow(
            "alarm", (stretch(100, 101, "Everybody down", "alarm"), stretch(130, 160, "Stray transmitter", "alarm"))
        ),
        *(busy_row(f"R{n}", 4 + 2 * n, 210) for n in range(1, 7)),
        DayRow("the line camera by the second gate", (stretch(10, 200, "the line camera", "missing"),)),
    ),
    "two loans of one token at once": day(DayRow("R1", (stretch(0, 30), stretch(10, 40, "Bo"), stretch(40, 50, "Cy")))),
    "three days": day(busy_row("R1", 144, 4320), busy_row("R8 K7P", 600, 4320)),
}
