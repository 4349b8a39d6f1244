"""A pause of the meet (wind, lunch, or another reason): nobody's waiting counts while it lasts."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.planning.meet_rows import zone_of
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class RunningPause:
    """The pause that runs now: its reason and since when."""

    reason: str
    started_at: datetime


def running_pause(session: Session, meet_id: int) -> RunningPause | None:
    """The pause of a meet that hasn't ended, if there is one."""
    return keep(session, ("running pause", meet_id), lambda: _read_running(session, meet_id), of=(t.Pause,))


def _read_running(session: Session, meet_id: int) -> RunningPause | None:
    row = _running(session, meet_id)
    return RunningPause(row.reason, row.started_at) if row else None


def pause_now(store: Store, meet_id: int) -> RunningPause | None:
    """The same for a page."""
    with store.read() as session:
        return running_pause(session, meet_id)


def pause(store: Store, deed: Deed, meet_id: int, reason: str) -> Answer:
    """Pause the meet for a reason in plain words."""

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(meet_id)
        running = _running(work.session, meet_id)
        if running is not None:
            since = running.started_at.astimezone(zone_of(work.session, meet)).strftime("%H:%M")
            raise Refused(f"The meet is paused since {since} already: {running.reason}.", "Go on from the desk.")
        work.session.add(t.Pause(meet_id=meet_id, reason=reason, started_at=work.now))
        line_id = work.note("paused", {"reason": reason}, meet_id=meet_id, is_undoable=True)
        return Answer("/desk", f"Paused: {reason}. Nobody's waiting counts until you go on.", undo_id=line_id)

    return do_once(store, deed, work)


def resume(store: Store, deed: Deed, meet_id: int) -> Answer:
    """End the pause; where none runs, nothing changes."""

    def work(work: Work) -> Answer:
        work.lock_open_meet(meet_id)
        running = _running(work.session, meet_id)
        if running is None:
            return Answer("/desk", "The meet goes on: it isn't paused.")
        running.ended_at = work.now
        work.session.add(running)
        minutes = int((work.now - running.started_at).total_seconds() // 60)
        facts = {"reason": running.reason, "minutes": minutes}
        line_id = work.note("resumed", facts, meet_id=meet_id, is_undoable=True)
        return Answer("/desk", f"The meet goes on after {minutes} min.", undo_id=line_id)

    return do_once(store, deed, work)


def _running(session: Session, meet_id: int) -> t.Pause | None:
    running = select(t.Pause).where(
        t.Pause.meet_id == meet_id, col(t.Pause.ended_at).is_(None), col(t.Pause.voided_at).is_(None)
    )
    return session.exec(running).one_or_none()
