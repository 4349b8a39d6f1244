"""A meet looked back on: its reports explained, what was on air without a token, what another set would have meant.

For the organiser's screen alone: names stand here, each as possible with the others beside it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from meetapp.flows.errors import NotFound
from meetapp.flows.files.meet_file import export_meet
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.explained_once import explained_once
from meetapp.flows.review.explanations import ExplanationsView, ReportView, SilentView, ranked_kinds, view_of
from meetapp.flows.review.meet_record import record_of
from meetapp.flows.review.review import minute_address
from meetapp.flows.review.waits_again import SetFlown, Waits, sets_flown, waits_of
from meetapp.review.cause_sentences import Names
from meetapp.review.evidence import MeetRecord
from meetapp.review.explaining import MeetExplained
from meetapp.review.replay import FlownDay
from meetapp.store.engine import Store

LIMITS = (
    "These are estimates from what was tapped and told, and no measurements. They know nothing of antennas, goggles or "
    "where anybody stood or flew. A cause that leaves no trace in the journal can't be found; a report told late "
    "or wrongly leads astray. On made-up meets, whose truth is known, the likeliest kind was the true one in a third "
    "to a half of the reports; nobody has measured that at your field. Read the others too. Ask, and try it on the "
    "bench, before anybody is told that it was them."
)


_WORTH_SHOWING = 0.05
"""Less than that is shown as 0.0."""


@dataclass(frozen=True, slots=True)
class InUse:
    """A channel that was on air beside a transmitter without a token, and with whom."""

    mhz: int
    who: str


@dataclass(frozen=True, slots=True)
class SilentFacts:
    """A transmitter without a token with the channels in use while it may have been on, by frequency."""

    told: SilentView
    in_use: tuple[InUse, ...]


@dataclass(frozen=True, slots=True)
class LookBack:
    """What a meet's reports come to. `kinds`: how many reports each kind of cause would explain, as expected.

    `state`: 'planned', 'open' or 'closed'. `still_out`: loans without an end.
    """

    meet_id: int
    on_date: date
    state: str
    still_out: int
    explained: ExplanationsView
    kinds: tuple[tuple[str, float], ...]
    silent: tuple[SilentFacts, ...]
    sets: tuple[SetFlown, ...]
    waits: Waits | None
    limits: str = LIMITS

    @property
    def home(self) -> str:
        """The address of the review."""
        return f"/organiser/meets/{self.meet_id}/review"

    @property
    def is_so_far(self) -> bool:
        """Whether more may still come."""
        return self.state != "closed"

    def address_at(self, when: datetime) -> str:
        """The page that says who was on air at that minute."""
        return minute_address(self.meet_id, when, self.explained.zone)


@dataclass(frozen=True, slots=True)
class ReportLookedAt:
    """One report on a page of its own; `before` and `after`: refs of those beside it, None at the ends."""

    meet: LookBack
    report: ReportView
    silent: tuple[SilentFacts, ...]
    before: int | None
    after: int | None


def look_back(store: Store, meet_id: int, now: datetime) -> LookBack:
    """A stored meet looked back on, up to now where it is still open.

    Raises:
        NotFound: no such meet.
    """
    file = export_meet(store, meet_id, now)
    return look_back_on(meet_id, file, explained_once(record_of(file)))


def look_back_on(meet_id: int, file: MeetFile, explained: MeetExplained) -> LookBack:
    """The same of a meet that is explained already."""
    record = explained.record
    view, day = view_of(file, explained), FlownDay(record)
    return LookBack(
        meet_id=meet_id,
        on_date=file.meet.on_date,
        state=file.meet.state,
        still_out=sum(loan.in_at is None and loan.voided_at is None for loan in file.loans),
        explained=view,
        kinds=tuple(
            (kind, count)
            for kind, count in ranked_kinds(cause for report in view.reports for cause in report.causes)
            if count >= _WORTH_SHOWING
        ),
        silent=tuple(SilentFacts(each, tuple(_in_use(record, each))) for each in view.silent),
        sets=tuple(sets_flown(day)),
        waits=waits_of(day),
    )


def look_at_report(store: Store, meet_id: int, ref: int, now: datetime) -> ReportLookedAt:
    """One report of a meet, read together with all others.

    Raises:
        NotFound: no such meet, or it has no such report.
    """
    meet = look_back(store, meet_id, now)
    refs = [report.ref for report in meet.explained.reports]
    if ref not in refs:
        raise NotFound("This report isn't in the meet's record, or was undone.", "Go back to the review.")
    place = refs.index(ref)
    return ReportLookedAt(
        meet=meet,
        report=meet.explained.reports[place],
        silent=tuple(each for each in meet.silent if ref in each.told.reports),
        before=refs[place - 1] if place else None,
        after=refs[place + 1] if place + 1 < len(refs) else None,
    )


def _in_use(record: MeetRecord, silent: SilentView) -> Iterator[InUse]:
    """Who was on air by the journal while it may have been on: each channel once, with everybody who had it."""
    start, end = silent.started_at.timestamp(), silent.ended_at.timestamp()
    names = Names(record)
    found: dict[int, list[str]] = {}
    for airing in record.airings:
        if airing.since_s < end and airing.until_s > start:
            found.setdefault(airing.mhz, []).append(names.pilot(airing.pilot))
    for mhz, who in sorted(found.items()):
        yield InUse(mhz, ", ".join(dict.fromkeys(who)))
