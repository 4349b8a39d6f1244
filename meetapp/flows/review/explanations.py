"""What broke the pictures of a meet: for the organiser's screen and for `meetapp explain`, of a stored meet or a file.

Names stand here for the organiser only, each as 'possible' with the others beside it; nothing of it goes on paper.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from meetapp.flows.desk.reports import LOOKS, PLACES, lasted_words, told_words
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.review.advice import advise
from meetapp.review.blame import set_to_blame
from meetapp.review.case import Case
from meetapp.review.cause_sentences import Names, cause_sentence, silent_sentence
from meetapp.review.causes import WORDS, CauseKind
from meetapp.review.evidence import Reported
from meetapp.review.explaining import MeetExplained, ReportExplained
from meetapp.review.reach import away
from meetapp.review.silent_transmitters import SilentTransmitter

ABOUT = (
    "Estimates from the journal by the odds in DEVELOPERS.md: each cause is only possible, and a probability is no "
    "verdict on anybody."
)


@dataclass(frozen=True, slots=True)
class CauseView:
    """One cause of a report. `sources`: refs of loans, `who`: the same in words; `name`: the kind in words; probability
    from 0 to 1. `away_mhz`: from the disturber, product or edge to the victim's channel, widths taken off.
    """

    kind: CauseKind
    name: str
    mhz: int | None
    sources: tuple[int, ...]
    who: tuple[str, ...]
    away_mhz: float | None
    probability: float
    sentence: str


@dataclass(frozen=True, slots=True)
class BesideView:
    """Who was on air with the victim at a time that the report may mean; `away_mhz`: widths taken off."""

    who: str
    mhz: int
    away_mhz: float


@dataclass(frozen=True, slots=True)
class ReportView:
    """A report with its causes, likeliest first. `ref`, `loan`: refs of the meet file; `mhz`: the victim's channel.

    `other_time`: from when to when that was on air, where it was not at the time told.
    """

    ref: int
    who: str
    happened_at: datetime
    window_s: float
    look: str
    place: str
    lasted: str
    loan: int | None
    mhz: int | None
    other_time: tuple[datetime, datetime] | None
    beside: tuple[BesideView, ...]
    causes: tuple[CauseView, ...]

    @property
    def window_min(self) -> int:
        """How many minutes the time may be off."""
        return round(self.window_s / 60)

    @property
    def told(self) -> str:
        """What it looked like and where; what nobody was sure of is left out."""
        return told_words(self.look, self.place)

    @property
    def by_kind(self) -> tuple[tuple[str, float], ...]:
        """The kinds in words with their probabilities, likeliest first."""
        return ranked_kinds(self.causes)


@dataclass(frozen=True, slots=True)
class MayBeView:
    """Whose transmitter without a token it may have been."""

    who: str
    mhz: int
    share: float


@dataclass(frozen=True, slots=True)
class SilentView:
    """A transmitter without a token. `curve`: (MHz, share). `from_mhz` to `to_mhz`: 90 %. `reports`: their refs."""

    mhz: int
    from_mhz: int
    to_mhz: int
    probability: float
    started_at: datetime
    ended_at: datetime
    curve: tuple[tuple[int, float], ...]
    reports: tuple[int, ...]
    may_be: tuple[MayBeView, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class AdviceView:
    """One thing to change; `reports`: how many reports it would have spared, as expected."""

    kind: str
    sentence: str
    reports: float


@dataclass(frozen=True, slots=True)
class ExplanationsView:
    """A meet explained; reports in the order of what happened.

    `blame`: whether it was the channel set; empty without reports.
    """

    meet_name: str
    zone: ZoneInfo
    reports: tuple[ReportView, ...]
    silent: tuple[SilentView, ...]
    advice: tuple[AdviceView, ...]
    blame: str
    about: str = ABOUT


def ranked_kinds(causes: Iterable[CauseView]) -> tuple[tuple[str, float], ...]:
    """What the causes of each kind come to together, most first."""
    sums: dict[str, float] = defaultdict(float)
    for cause in causes:
        sums[cause.name] += cause.probability
    return tuple(sorted(sums.items(), key=lambda pair: (-pair[1], pair[0])))


def view_of(file: MeetFile, explained: MeetExplained) -> ExplanationsView:
    """What is told of a meet file that is explained already."""
    lasted = {each.ref: lasted_words(each.lasted_s) for each in file.reports}
    names = Names(explained.record)
    reports = (_report(each, explained, names, lasted) for each in explained.reports)
    return ExplanationsView(
        meet_name=file.meet.name,
        zone=ZoneInfo(file.site.time_zone),
        reports=tuple(sorted(reports, key=lambda report: (report.happened_at, report.ref))),
        silent=tuple(_silent(each, explained, names) for each in explained.silent),
        advice=tuple(AdviceView(each.kind, each.sentence, each.reports) for each in advise(explained)),
        blame=set_to_blame(explained),
    )


def _report(
    each: ReportExplained, explained: MeetExplained, names: Names, lasted: Mapping[int, str]
) -> ReportView:
    report = explained.record.reports[each.number]
    causes = tuple(
        CauseView(
            kind=weighed.cause.kind,
            name=WORDS[weighed.cause.kind],
            mhz=weighed.cause.mhz,
            sources=weighed.cause.sources,
            who=tuple(names.loan(loan) for loan in weighed.cause.sources),
            away_mhz=weighed.cause.away_mhz,
            probability=weighed.probability,
            sentence=cause_sentence(weighed, each.case, names),
        )
        for weighed in each.causes
    )
    return ReportView(
        ref=report.ref,
        who=names.pilot(report.pilot) if report.pilot is not None else "somebody",
        happened_at=_moment(report.at_s),
        window_s=report.window_s,
        look=LOOKS[report.look],
        place=PLACES[report.place],
        lasted=lasted[report.ref],
        loan=each.case.victim.loan if each.case is not None else None,
        mhz=each.case.victim.mhz if each.case is not None else None,
        other_time=_other_time(each.case, report) if each.case is not None else None,
        beside=_beside(each.case, names) if each.case is not None else (),
        causes=causes,
    )


def _other_time(case: Case, report: Reported) -> tuple[datetime, datetime] | None:
    flown = case.victim
    if flown.away_s(report.at_s) <= report.window_s:
        return None
    return _moment(flown.since_s), _moment(flown.until_s)


def _beside(case: Case, names: Names) -> tuple[BesideView, ...]:
    """Nearest first."""
    others = [names.record.airings[place] for place in case.beside]
    apart = [away(each.mhz, each.width_mhz, case.victim.mhz, case.victim.width_mhz) for each in others]
    views = (BesideView(names.pilot(each.pilot), each.mhz, gap) for each, gap in zip(others, apart, strict=True))
    return tuple(sorted(views, key=lambda view: (view.away_mhz, view.mhz, view.who)))


def _silent(each: SilentTransmitter, explained: MeetExplained, names: Names) -> SilentView:
    return SilentView(
        mhz=each.mhz,
        from_mhz=each.from_mhz,
        to_mhz=each.to_mhz,
        probability=each.probability,
        started_at=_moment(each.start_s),
        ended_at=_moment(each.end_s),
        curve=each.curve,
        reports=tuple(explained.record.reports[number].ref for number in each.reports),
        may_be=tuple(MayBeView(names.pilot(one.pilot), one.mhz, one.share) for one in each.may_be),
        sentence=silent_sentence(each, names),
    )


def _moment(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)
