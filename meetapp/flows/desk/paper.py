"""Paper keeps working: what was written on a loan sheet is entered afterwards, all rows or none."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.desk.paper_rows import BadRows, KnownLoan, PaperLoan, PaperRow, clashes_with, read_rows
from meetapp.flows.errors import Refused
from meetapp.flows.kits import kits_of
from meetapp.flows.loans import line_rows, loan_rows
from meetapp.flows.pilot.self_check_in import attendance_of
from meetapp.flows.snapshot import Person, Snapshot, take_snapshot
from meetapp.rules.waiting_line import after_service
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import shortfalls
from meetapp.store import tables as t
from meetapp.store.engine import Store

ROWS_ON_PAGE = 8
ROWS_MAX = 24


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet as typed: the day its times belong to (site's zone) and its filled rows."""

    meet_id: int
    day: date
    rows: tuple[PaperRow, ...]


@dataclass(frozen=True, slots=True)
class PaperPage:
    """What the entry page offers: tokens and pilots to choose from, the day, the zone's name."""

    zone: ZoneInfo
    day: date
    tokens: tuple[tuple[int, str], ...]
    pilots: tuple[tuple[int, str], ...]


def paper_page(store: Store, meet_id: int, now: datetime) -> PaperPage:
    """The page on which a sheet is entered."""
    with store.read() as session:
        meet = session.get_one(t.Meet, meet_id)
        snapshot = take_snapshot(session, meet, now)
        pilots = select(t.Pilot).where(col(t.Pilot.retired_at).is_(None)).order_by(col(t.Pilot.name), col(t.Pilot.id))
        return PaperPage(
            zone=snapshot.zone,
            day=min(meet.on_date, now.astimezone(snapshot.zone).date()),
            tokens=tuple((token.token_id, f"{token.label} · {token.code}") for token in snapshot.tokens),
            pilots=tuple((pilot.id, _both_names(pilot)) for pilot in session.exec(pilots)),
        )


def _both_names(pilot: t.Pilot) -> str:
    return pilot.name if pilot.board_name == pilot.name else f"{pilot.board_name} · {pilot.name}"


def enter_sheet(store: Store, deed: Deed, sheet: Sheet) -> Answer:
    """Enter what a paper sheet says, all rows or none.

    Each loan happened when the sheet says and was entered now. What lay below a floor is entered all the same (it
    happened) and said.

    Raises:
        BadRows: naming each bad row.
    """

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(sheet.meet_id)
        snapshot = take_snapshot(work.session, meet, work.now)
        _check_day(sheet.day, meet, snapshot)
        loans = read_rows(sheet.rows, sheet.day, snapshot, _everybody(work.session, snapshot))
        errors = clashes_with(loans, _known_loans(work.session, snapshot, loans), snapshot.zone)
        if errors:
            raise BadRows(errors)
        below = {loan.number: _below_floor(work.session, snapshot, loan, loans) for loan in loans}
        made = {loan.number: _write(work, snapshot, loan, below[loan.number]) for loan in loans}
        # The sheet's own line carries every row change, so that one undo takes the whole sheet back.
        sheet_line_id = work.note("paper_entered", {"count": len(loans)}, meet_id=meet.id, is_undoable=True)
        for loan in sorted(loans, key=lambda each: each.out_at):
            _note_loan(work, meet.id, loan, made[loan.number])
        return Answer("/desk/paper", _notice(loans, below), undo_id=sheet_line_id)

    return do_once(store, deed, work)


def _check_day(day: date, meet: t.Meet, snapshot: Snapshot) -> None:
    today = snapshot.now.astimezone(snapshot.zone).date()
    first = min(meet.on_date, today) - timedelta(days=1)
    if not first <= day <= today:
        raise Refused(f"{day} is not a day of this meet.", f"Give a day from {first} to {today}.", field="day")


def _everybody(session: Session, snapshot: Snapshot) -> dict[int, Person]:
    """Everybody of the club who isn't retired, and whoever came to the meet.

    Each with today's transmitter; where none is told, with the only one they own.
    """
    pilots = session.exec(select(t.Pilot).where(col(t.Pilot.retired_at).is_(None))).all()
    strangers = {pilot.id: _stranger(pilot) for pilot in pilots if pilot.id not in snapshot.people}
    everybody = {**snapshot.people, **strangers}
    untold = [pilot_id for pilot_id, person in everybody.items() if person.kit is None]
    only = {pilot_id: kits[0] for pilot_id, kits in kits_of(session, untold, snapshot.plans).items() if len(kits) == 1}
    return {pilot_id: replace(person, kit=person.kit or only.get(pilot_id)) for pilot_id, person in everybody.items()}


def _stranger(pilot: t.Pilot) -> Person:
    return Person(
        pilot_id=pilot.id,
        name=pilot.name,
        board_name=pilot.board_name,
        is_present=False,
        is_retired=False,
        kit=None,
        segments=(),
    )


def _known_loans(session: Session, snapshot: Snapshot, loans: Sequence[PaperLoan]) -> list[KnownLoan]:
    """Every loan that the tables have of these tokens and pilots, at any meet."""
    counted = (
        select(t.Loan, t.Token, t.Pilot)
        .outerjoin(t.Token, col(t.Token.id) == t.Loan.token_id)
        .outerjoin(t.Pilot, col(t.Pilot.id) == t.Loan.pilot_id)
        .where(
            col(t.Loan.voided_at).is_(None),
            col(t.Loan.token_id).in_([loan.token.token_id for loan in loans])
            | col(t.Loan.pilot_id).in_([loan.person.pilot_id for loan in loans]),
        )
        .order_by(col(t.Loan.out_at))
    )
    return [
        KnownLoan(
            token_id=loan.token_id,
            token_label=token.label if token else "",
            pilot_id=loan.pilot_id,
            who=pilot.board_name if pilot else loan.holder_name,
            out_at=loan.out_at,
            in_at=loan.in_at,
        )
        for loan, token, pilot in session.exec(counted)
    ]


def _below_floor(session: Session, snapshot: Snapshot, loan: PaperLoan, rows: Sequence[PaperLoan]) -> str:
    """What this loan broke while it lasted, in words; '' where it kept the floors."""
    others = _beside(session, snapshot, loan, rows)
    moments = sorted({loan.out_at} | {since for _carrier, since, _until in others if since > loan.out_at})
    for moment in moments:
        on_air = [carrier for carrier, since, until in others if since <= moment and (until is None or moment < until)]
        broken = shortfalls(on_air, loan.carrier, snapshot.floors, snapshot.neighbours)
        if broken:
            return broken[0].sentence
    return ""


def _beside(
    session: Session, snapshot: Snapshot, loan: PaperLoan, rows: Sequence[PaperLoan]
) -> list[tuple[Carrier, datetime, datetime | None]]:
    """What else was on air at some moment of this loan, known or on the same sheet, with since and until."""
    settings = session.exec(
        select(t.LoanSetting)
        .join(t.Loan, col(t.Loan.id) == t.LoanSetting.loan_id)
        .where(
            t.Loan.meet_id == snapshot.meet_id,
            col(t.Loan.voided_at).is_(None),
            col(t.LoanSetting.voided_at).is_(None),
        )
    )
    known = [(Carrier(row.mhz, row.width_mhz), row.since_at, row.until_at) for row in settings]
    on_sheet = [(row.carrier, row.out_at, row.in_at) for row in rows if row is not loan]
    return [(carrier, since, until) for carrier, since, until in known + on_sheet if loan.overlaps(since, until)]


def _write(work: Work, snapshot: Snapshot, paper: PaperLoan, below: str) -> int:
    session, transmitter_id = work.session, paper.person.kit.transmitter_id if paper.person.kit else None
    loan = t.Loan(
        meet_id=snapshot.meet_id,
        token_id=paper.token.token_id,
        pilot_id=paper.person.pilot_id,
        out_at=paper.out_at,
        in_at=paper.in_at,
        entered_at=work.now,
        override_reason=f"entered from paper: {below}" if below else "",
    )
    session.add(loan)
    session.flush()
    session.add(
        t.LoanSetting(
            loan_id=loan.id,
            transmitter_id=transmitter_id,
            label=paper.setting.label,
            mhz=paper.setting.mhz,
            width_mhz=paper.width_mhz,
            since_at=paper.out_at,
            until_at=paper.in_at,
        )
    )
    _check_in(work, snapshot.meet_id, paper, transmitter_id)
    _remember_wake(session, paper, transmitter_id)
    if paper.in_at is None:
        line = after_service(line_rows.stands_in(work, snapshot.meet_id), paper.person.pilot_id)
        line_rows.keep_line(work, snapshot.meet_id, line, paper.person.pilot_id)
        loan_rows.end_turns(work, partner_id=paper.person.pilot_id)
    session.flush()
    return loan.id


def _check_in(work: Work, meet_id: int, paper: PaperLoan, transmitter_id: int | None) -> None:
    """Whoever stands on the sheet was there: from then on, if nobody had checked them in."""
    row = attendance_of(work.session, meet_id, paper.person.pilot_id) or t.Attendance(
        meet_id=meet_id, pilot_id=paper.person.pilot_id
    )
    if row.checked_in_at is None or row.checked_in_at > paper.out_at:
        row.checked_in_at = paper.out_at
    if row.transmitter_id is None:
        row.transmitter_id = transmitter_id
    if paper.in_at is None:
        row.left_at = None
    work.session.add(row)


def _remember_wake(session: Session, paper: PaperLoan, transmitter_id: int | None) -> None:
    """The transmitter wakes on what was set last, unless a later loan set something else."""
    if transmitter_id is None:
        return
    later = select(t.LoanSetting.id).where(
        t.LoanSetting.transmitter_id == transmitter_id,
        col(t.LoanSetting.voided_at).is_(None),
        t.LoanSetting.since_at > paper.out_at,
    )
    if session.exec(later.limit(1)).first() is None:
        transmitter = session.get_one(t.PilotTransmitter, transmitter_id)
        transmitter.wake_mhz = paper.setting.mhz
        session.add(transmitter)


def _note_loan(work: Work, meet_id: int, loan: PaperLoan, loan_id: int) -> None:
    facts: dict[str, object] = {
        "loan": loan_id,
        "pilot": loan.person.pilot_id,
        "token": loan.token.token_id,
        "label": loan.setting.label,
        "mhz": loan.setting.mhz,
    }
    if loan.in_at is None:
        work.note("paper_loan_out", facts, meet_id=meet_id, happened_at=loan.out_at)
        return
    facts["minutes"] = int((loan.in_at - loan.out_at).total_seconds() // 60)
    work.note("paper_loan", facts, meet_id=meet_id, happened_at=loan.out_at)


def _notice(loans: Sequence[PaperLoan], below: dict[int, str]) -> str:
    entered = "1 loan is entered" if len(loans) == 1 else f"{len(loans)} loans are entered"
    said = [f"row {number}: {sentence}" for number, sentence in below.items() if sentence]
    return f"{entered}, from paper. Below a floor: {'; '.join(said)}." if said else f"{entered}, from paper."
