"""Several meets beside one another: the same pilot, transmitter kind or channel turning up again."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from meetapp.review.causes import CauseKind, Weighed
from meetapp.review.evidence import Airing
from meetapp.review.explaining import MeetExplained, ReportExplained

What = Literal["pilot", "kind", "channel"]

_LEAST_MEETS = 2
_NOT_OUTSIDE: tuple[CauseKind, ...] = ("own_receiver", "unknown")
_MORE_THAN_ITS_SHARE = 1.5
"""A kind that half of the club flies has half of what goes wrong by itself, which says nothing of it. From
experience, no source."""


@dataclass(frozen=True, slots=True)
class TurningUp:
    """Something that was possibly behind reports at several meets. `name`: pilot, kind, or MHz as text.

    `cause`: as what it turns up; None for a channel, whose pictures broke from outside, whatever it was. `flights`: on
    how many loans of those meets it flew.
    """

    what: What
    name: str
    cause: CauseKind | None
    meets: int
    reports: float
    flights: int


_Key = tuple[What, str, CauseKind | None]


def turning_up(meets: Sequence[MeetExplained], least_reports: float = 0.8) -> tuple[TurningUp, ...]:
    """Who and what was possibly behind reports at two meets or more, most first.

    Pilots and kinds by their names: refs mean something inside one meet only. They count as what broke their own
    picture (own kit), as a transmitter on another channel than given, and a pilot as one who may have been on air
    without a token; a channel where its pictures broke from outside. `least_reports`: so many reports are expected to
    come from it in all.
    """
    expected: dict[_Key, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    flights: Counter[tuple[What, str]] = Counter()
    own, flown = 0.0, 0
    for number, meet in enumerate(meets):
        told = _Meet(meet)
        for key, amount in told.behind_reports():
            expected[key][number] += amount
            own += amount if key[0] == "pilot" and key[2] == "own_receiver" else 0.0
        for airing in told.airing_of.values():
            flights.update([*told.flown_by(airing), ("channel", _mhz(airing))])
        flown += len(told.airing_of)
    found = (
        TurningUp(
            what,
            name,
            cause,
            sum(amount > least_reports / 4 for amount in by_meet.values()),
            sum(by_meet.values()),
            flights[what, name],
        )
        for (what, name, cause), by_meet in expected.items()
    )
    worth = (each for each in found if each.meets >= _LEAST_MEETS and each.reports >= least_reports)
    standing_out = (each for each in worth if not _is_as_all(each, own, flown))
    return tuple(sorted(standing_out, key=lambda each: (-each.reports, each.what, each.name, each.cause or "")))


def _is_as_all(each: TurningUp, own: float, flown: int) -> bool:
    """Whether a kind has no more of the `own` matters than its share of the flights lets expect."""
    if each.what != "kind" or each.cause != "own_receiver":
        return False
    return each.reports < _MORE_THAN_ITS_SHARE * own * each.flights / flown


def _mhz(airing: Airing) -> str:
    return f"{airing.mhz} MHz"


class _Meet:
    """One meet with its names."""

    def __init__(self, meet: MeetExplained) -> None:
        self._meet = meet
        self.airing_of = {airing.loan: airing for airing in meet.record.airings}
        self._names = {flier.ref: flier.name for flier in meet.record.fliers}

    def flown_by(self, airing: Airing) -> Iterator[tuple[What, str]]:
        """The pilot and the kind of a loan, as far as they are known."""
        if airing.pilot in self._names:
            yield "pilot", self._names[airing.pilot]
        if airing.kind is not None:
            yield "kind", airing.kind.name

    def behind_reports(self) -> Iterator[tuple[_Key, float]]:
        """Who and what is expected to be behind how much of a report."""
        for report in self._meet.reports:
            for each in report.causes:
                yield from self._behind(report, each)
            if report.case is not None:
                outside = (each.probability for each in report.causes if each.cause.kind not in _NOT_OUTSIDE)
                yield ("channel", _mhz(report.case.victim), None), sum(outside)

    def _behind(self, report: ReportExplained, each: Weighed) -> Iterator[tuple[_Key, float]]:
        """The pilots and kinds that one cause points to."""
        if each.cause.kind == "wrong_channel" and each.cause.sources:
            for what, name in self.flown_by(self.airing_of[each.cause.sources[0]]):
                yield (what, name, "wrong_channel"), each.named
        elif each.cause.kind == "own_receiver" and report.case is not None:
            for what, name in self.flown_by(report.case.victim):
                yield (what, name, "own_receiver"), each.probability
        elif each.cause.kind == "no_token":
            yield from self._without_token(report, each.probability)

    def _without_token(self, report: ReportExplained, probability: float) -> Iterator[tuple[_Key, float]]:
        """Whose transmitter it may have been, by the likeliest silent one that the report tells of."""
        silent = next((each for each in self._meet.silent if report.number in each.reports), None)
        for may_be in silent.may_be if silent is not None else ():
            if may_be.pilot in self._names:
                yield ("pilot", self._names[may_be.pilot], "no_token"), probability * may_be.share
