"""A meet's day as one sees it on a time axis: a row for each token, loans as stretches, reports at their minute."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from zoneinfo import ZoneInfo

StretchKind = Literal["loan", "missing", "pause", "alarm"]


@dataclass(frozen=True, slots=True)
class DayStretch:
    """Something that lasted. `hint` says it in a sentence, `href` leads on; `changes`: when the setting changed."""

    kind: StretchKind
    start: datetime
    end: datetime
    text: str
    hint: str
    href: str
    changes: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class DayReport:
    """A clash report: its minute, and from when to when it may have been."""

    at: datetime
    early: datetime
    late: datetime
    hint: str
    href: str


@dataclass(frozen=True, slots=True)
class DayRow:
    """What happened with one token, or one kind of thing that concerns all."""

    name: str
    stretches: tuple[DayStretch, ...]
    reports: tuple[DayReport, ...] = ()

    @property
    def moments(self) -> tuple[datetime, ...]:
        """Every moment from which or to which something in it lasts.

        >>> from datetime import UTC
        >>> at = datetime(2026, 6, 14, 12, tzinfo=UTC)
        >>> len(DayRow("R1", (), (DayReport(at, at, at, "", ""),)).moments)
        2
        """
        spans = [(each.start, each.end) for each in self.stretches]
        spans += [(each.early, each.late) for each in self.reports]
        return tuple(moment for span in spans for moment in span)


@dataclass(frozen=True, slots=True)
class DayFacts:
    """The whole day from the first thing that happened to the last, in the site's zone."""

    start: datetime
    end: datetime
    zone: ZoneInfo
    rows: tuple[DayRow, ...]
