"""Closing a meet: whatever is still out is settled, everything that runs ends, then nothing changes any more."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.desk.alarms import ALARM_NAMES
from meetapp.flows.errors import Refused
from meetapp.flows.heats.heat_rows import read_heats
from meetapp.flows.heats.heat_words import heat_name
from meetapp.flows.heats.landing import end_called
from meetapp.flows.loans.line_rows import keep_line
from meetapp.flows.loans.loan_rows import end_turns, take_off_air
from meetapp.flows.planning.meet_rows import find_meet, zone_of
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

Settled = Literal["back", "missing"]


@dataclass(frozen=True, slots=True)
class StillOut:
    """A loan that is open. `token_label` is empty for a ground transmitter without a token, which can't be missing."""

    loan_id: int
    who: str
    token_label: str
    nominal_mhz: int | None
    code: str
    out_at: datetime


@dataclass(frozen=True, slots=True)
class ClosingPage:
    """What is still open at a meet: loans, pilots in the line, a pause, alarms, heats.

    `heat_in_air`: the heat that is called ('' for none), `heats_to_come`: how many are not flown.
    """

    meet_id: int
    meet_name: str
    state: str
    zone: ZoneInfo
    still_out: tuple[StillOut, ...]
    waiting: int
    is_paused: bool
    alarms: tuple[str, ...]
    heat_in_air: str
    heats_to_come: int


def closing_page(store: Store, meet_id: int) -> ClosingPage:
    """Read what has to be settled before the meet can close."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        heats = read_heats(session, meet_id)
        return ClosingPage(
            meet.id,
            meet.name,
            meet.state,
            zone_of(session, meet),
            _still_out(session, meet_id),
            len(queries.standing_in_line(session, meet_id)),
            bool(_running(session, t.Pause, meet_id)),
            tuple(ALARM_NAMES[alarm.kind] for alarm in _running(session, t.Alarm, meet_id)),
            next((heat_name(heat) for heat in heats if heat.state == "called"), ""),
            sum(1 for heat in heats if heat.state == "planned" and heat.seats),
        )


def _still_out(session: Session, meet_id: int) -> tuple[StillOut, ...]:
    found = []
    for loan, _setting in queries.open_loans(session, meet_id):
        token = session.get(t.Token, loan.token_id) if loan.token_id is not None else None
        pilot = session.get(t.Pilot, loan.pilot_id) if loan.pilot_id is not None else None
        found.append(
            StillOut(
                loan.id,
                pilot.board_name if pilot else loan.holder_name,
                token.label if token else "",
                token.nominal_mhz if token else None,
                token.code if token else "",
                loan.out_at,
            )
        )
    return tuple(found)


def _running(session: Session, table: type[Any], meet_id: int) -> list[Any]:
    running = select(table).where(
        table.meet_id == meet_id, col(table.ended_at).is_(None), col(table.voided_at).is_(None)
    )
    return list(session.exec(running.order_by(table.id)))


def close_meet(store: Store, deed: Deed, meet_id: int, settled: Mapping[int, Settled]) -> Answer:
    """Close an open meet. `settled` says for each open loan whether its token is back or missing.

    Raises:
        Refused: the meet isn't open, or a loan isn't settled (a field 'loan-<id>' then).
    """

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(meet_id)
        still_out = _still_out(work.session, meet_id)
        _check_settled(work.session, meet, still_out, settled)
        end_called(work, meet)
        for loan in still_out:
            _settle(work, meet_id, loan, settled[loan.loan_id])
        _end_what_runs(work, meet_id)
        meet.state, meet.closed_at = "closed", work.now
        work.session.add(meet)
        work.note("meet_closed", {"name": meet.name, "count": len(still_out)}, meet_id=meet_id)
        notice = f"'{meet.name}' is closed. Nothing in it changes any more; here is what happened."
        return Answer(f"/organiser/meets/{meet_id}/review", notice)

    return do_once(store, deed, work)


def _check_settled(
    session: Session, meet: t.Meet, still_out: tuple[StillOut, ...], settled: Mapping[int, Settled]
) -> None:
    zone = zone_of(session, meet)
    for loan in still_out:
        what = loan.token_label or "A transmitter without a token"
        since = f"{loan.out_at.astimezone(zone):%H:%M}"
        field = f"loan-{loan.loan_id}"
        if loan.loan_id not in settled:
            raise Refused(f"{what} is out with {loan.who} since {since}: is it back or missing?", field=field)
        if settled[loan.loan_id] == "missing" and not loan.token_label:
            raise Refused("There is no token here that could be missing.", "Take it off air.", field=field)


def _settle(work: Work, meet_id: int, still_out: StillOut, how: Settled) -> None:
    loan = work.session.get_one(t.Loan, still_out.loan_id)
    take_off_air(work, loan.id, is_missing=how == "missing")
    if loan.token_id is not None:
        end_turns(work, token_id=loan.token_id)
    facts = {"loan": loan.id, "token": loan.token_id, "pilot": loan.pilot_id}
    if how == "missing":
        token = work.session.get_one(t.Token, loan.token_id)
        token.state, token.state_since = "missing", work.now
        work.note("token_missing", facts, meet_id=meet_id)
    elif loan.pilot_id is None:
        work.note("ground_off", facts | {"name": loan.holder_name}, meet_id=meet_id)
    else:
        work.note("taken_back", facts, meet_id=meet_id)


def _end_what_runs(work: Work, meet_id: int) -> None:
    """The line goes home, the pause and the alarms are over, turns and offers end."""
    keep_line(work, meet_id, ())
    for pause in _running(work.session, t.Pause, meet_id):
        pause.ended_at = work.now
        facts = {"reason": pause.reason, "minutes": _minutes(pause.started_at, work.now)}
        work.note("resumed", facts, meet_id=meet_id)
    for alarm in _running(work.session, t.Alarm, meet_id):
        alarm.ended_at = work.now
        facts = {"name": ALARM_NAMES[alarm.kind], "minutes": _minutes(alarm.started_at, work.now)}
        work.note("alarm_over", facts, meet_id=meet_id)
    for row in (*_running(work.session, t.Sharing, meet_id), *_running(work.session, t.PassOffer, meet_id)):
        row.ended_at = work.now


def _minutes(start: datetime, end: datetime) -> int:
    return int((end - start).total_seconds() // 60)
