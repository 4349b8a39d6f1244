"""Clash reports: 'my picture broke up at 14:32', with the loan the pilot had then."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, or_, select

from meetapp.flows.deeds import Actor, Answer, Deed, Work, do_once
from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.flows.planning.meet_rows import zone_of
from meetapp.rules.clock import BadTime, time_on_day
from meetapp.store import tables as t
from meetapp.store.engine import Store

UNSURE = "unsure"
LOOKS = {
    "lines": "lines or snow",
    "other_picture": "somebody else's picture",
    "gone": "picture gone",
    "colour": "colour or sync lost",
    "unsure": UNSURE,
}
PLACES = {"pits": "in the pits", "line": "on the start line", "flight": "in the air", "unsure": UNSURE}
LASTED = {2: "a moment", 10: "some seconds", 60: "a minute or more", None: UNSURE}
"""Seconds that stand for the words."""
MINUTES_AGO = {0: "just now", 2: "2 min ago", 5: "5 min ago", 10: "10 min ago", 20: "20 min ago", 40: "40 min ago"}
LATELY = timedelta(minutes=20)
_LANDED = timedelta(minutes=10)
"""Who gave their token back this short a time before means the flight they came down from."""
WINDOW_S = 120
# 'About half an hour ago' is a guess; how far it may be off grows with it.
_WINDOW_S_PER_MINUTE_AGO = 20


@dataclass(frozen=True, slots=True)
class ReportDraft:
    """What somebody tells. `pilot_id` None: somebody who isn't named. When: `at_clock` ('14:32', site's time) or else
    `minutes_ago`. `look`, `place` and `lasted_s` are keys of LOOKS, PLACES and LASTED.
    """

    meet_id: int
    pilot_id: int | None
    look: str
    place: str = "unsure"
    note: str = ""
    minutes_ago: int = 0
    at_clock: str = ""
    lasted_s: int | None = None


@dataclass(frozen=True, slots=True)
class ReportQuestions:
    """What a report form asks, each answer with its words; `clock_now`: the time now in the site's zone."""

    clock_now: str
    looks: tuple[tuple[str, str], ...] = tuple(LOOKS.items())
    places: tuple[tuple[str, str], ...] = tuple(PLACES.items())
    lasted: tuple[tuple[str, str], ...] = tuple(("" if s is None else str(s), words) for s, words in LASTED.items())
    minutes_ago: tuple[tuple[str, str], ...] = tuple((str(number), words) for number, words in MINUTES_AGO.items())


@dataclass(frozen=True, slots=True)
class ReportPage:
    """The desk's report form: pilots of the meet as (id, board name), and what is asked.

    `flew_lately`: those of them who came down a short while ago or are on air, to be named with one tap; the likeliest
    first: who came down last, then who has been on air longest.
    """

    pilots: tuple[tuple[int, str], ...]
    flew_lately: tuple[tuple[int, str], ...]
    asks: ReportQuestions


def questions(store: Store, meet_id: int, now: datetime) -> ReportQuestions:
    """What a report at this meet asks."""
    with store.read() as session:
        return _questions(session, session.get_one(t.Meet, meet_id), now)


def _questions(session: Session, meet: t.Meet, now: datetime) -> ReportQuestions:
    return ReportQuestions(now.astimezone(zone_of(session, meet)).strftime("%H:%M"))


def told_words(*words: str) -> str:
    """What somebody told, with what they weren't sure of left out.

    >>> told_words("picture gone", UNSURE, "a moment"), told_words(UNSURE, UNSURE)
    ('picture gone, a moment', 'unsure')
    """
    return ", ".join(each for each in words if each != UNSURE) or UNSURE


def lasted_words(lasted_s: int | None) -> str:
    """How long it was, in the words of the form, or in seconds where a file said something else.

    >>> lasted_words(10), lasted_words(None), lasted_words(7)
    ('some seconds', 'unsure', '7 s')
    """
    return LASTED.get(lasted_s, f"{lasted_s} s")


def report_page(store: Store, meet_id: int, now: datetime) -> ReportPage:
    """The people who can be named in a report: everybody who checked in at the meet, also if they went home."""
    with store.read() as session:
        meet = session.get_one(t.Meet, meet_id)
        came = (
            select(t.Pilot.id, t.Pilot.board_name)
            .join(t.Attendance, col(t.Attendance.pilot_id) == t.Pilot.id)
            .where(t.Attendance.meet_id == meet_id, col(t.Attendance.checked_in_at).is_not(None))
            .order_by(col(t.Pilot.board_name), col(t.Pilot.id))
        )
        pilots = tuple((pilot_id, name) for pilot_id, name in session.exec(came))
        names = dict(pilots)
        lately = tuple((each, names[each]) for each in _flew_lately(session, meet_id, now) if each in names)
        return ReportPage(pilots, lately, _questions(session, meet, now))


def _flew_lately(session: Session, meet_id: int, now: datetime) -> list[int]:
    """Pilots, each once: a report is told after landing, so who came down last stands first."""
    loans = select(t.Loan.pilot_id, t.Loan.out_at, t.Loan.in_at).where(
        t.Loan.meet_id == meet_id,
        col(t.Loan.voided_at).is_(None),
        or_(col(t.Loan.in_at).is_(None), col(t.Loan.in_at) > now - LATELY),
    )
    flown = [(pilot_id, out_at, in_at) for pilot_id, out_at, in_at in session.exec(loans) if pilot_id is not None]
    landed = sorted(((in_at, pilot_id) for pilot_id, _, in_at in flown if in_at), reverse=True)
    on_air = sorted((out_at, pilot_id) for pilot_id, out_at, in_at in flown if in_at is None)
    return list(dict.fromkeys(pilot_id for _, pilot_id in [*landed, *on_air]))


def add(store: Store, deed: Deed, draft: ReportDraft) -> Answer:
    """Write a clash report down, tied to the loan that the pilot had at that time."""

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(draft.meet_id)
        _check_may_report(deed.actor, draft)
        name = _name(work.session, draft)
        zone = zone_of(work.session, meet)
        told_at = _told_at(draft, work.now, zone)
        loan = _loan_meant(work.session, draft, told_at)
        happened_at = _while_out(loan, told_at) if loan else told_at
        report = t.ClashReport(
            meet_id=meet.id,
            pilot_id=draft.pilot_id,
            loan_id=loan.id if loan else None,
            happened_at=happened_at,
            window_s=WINDOW_S if draft.at_clock else WINDOW_S + _WINDOW_S_PER_MINUTE_AGO * draft.minutes_ago,
            look=draft.look,
            place=draft.place,
            lasted_s=draft.lasted_s,
            note=draft.note,
            entered_at=work.now,
        )
        work.session.add(report)
        work.session.flush()
        facts = {"pilot": draft.pilot_id, "loan": report.loan_id, "report": report.id, "look": LOOKS[draft.look]}
        line_id = work.note("report_added", facts, meet_id=meet.id, happened_at=happened_at, is_undoable=True)
        on_what = f"on {_label_then(work.session, loan, happened_at)}" if loan else "no token out to them at that time"
        landed = "" if happened_at == told_at else ", just before it came back"
        notice = f"Noted: {name}, {happened_at.astimezone(zone):%H:%M}, {LOOKS[draft.look]} ({on_what}{landed})."
        if draft.pilot_id is None:
            notice = f"Noted: {happened_at.astimezone(zone):%H:%M}, {LOOKS[draft.look]}."
        location = "/desk" if deed.actor.keeps_desk else "/my"
        return Answer(location, notice, undo_id=line_id, made_id=report.id)

    return do_once(store, deed, work)


def _check_may_report(actor: Actor, draft: ReportDraft) -> None:
    if actor.keeps_desk or (actor.role == "pilot" and actor.pilot_id == draft.pilot_id):
        return
    raise Forbidden("A report is written by the pilot it is about, or at the desk.", "Tell the desk.")


def _name(session: Session, draft: ReportDraft) -> str:
    if draft.pilot_id is None:
        return "somebody"
    pilot = session.get(t.Pilot, draft.pilot_id)
    if pilot is None:
        raise NotFound("This pilot isn't in the club's list.", "Load the page again.", field="pilot_id")
    return pilot.board_name


def _told_at(draft: ReportDraft, now: datetime, zone: ZoneInfo) -> datetime:
    if not draft.at_clock:
        return now - timedelta(minutes=draft.minutes_ago)
    try:
        told_at = time_on_day(draft.at_clock, now.astimezone(zone).date(), zone)
    except BadTime as error:
        raise Refused(str(error), field="at_clock") from error
    if told_at > now:
        raise Refused(f"{draft.at_clock} is still to come.", "Give a time of today that has been.", field="at_clock")
    return told_at


def _loan_meant(session: Session, draft: ReportDraft, at: datetime) -> t.Loan | None:
    """What was out to them then; a time by the clock is meant as it is told, 'just now' may be just after landing."""
    if draft.pilot_id is None:
        return None
    back_after = at if draft.at_clock else at - _LANDED
    out_then = select(t.Loan).where(
        t.Loan.meet_id == draft.meet_id,
        t.Loan.pilot_id == draft.pilot_id,
        col(t.Loan.voided_at).is_(None),
        t.Loan.out_at <= at,
        or_(col(t.Loan.in_at).is_(None), col(t.Loan.in_at) > back_after),
    )
    return session.exec(out_then.order_by(col(t.Loan.out_at).desc()).limit(1)).first()


def _while_out(loan: t.Loan, at: datetime) -> datetime:
    if loan.in_at is None or at < loan.in_at:
        return at
    return max(loan.out_at, loan.in_at - timedelta(seconds=1))


def _label_then(session: Session, loan: t.Loan, at: datetime) -> str:
    settings = select(t.LoanSetting).where(
        t.LoanSetting.loan_id == loan.id, col(t.LoanSetting.voided_at).is_(None), t.LoanSetting.since_at <= at
    )
    setting = session.exec(settings.order_by(col(t.LoanSetting.since_at).desc()).limit(1)).first()
    return setting.label if setting else "their token"
