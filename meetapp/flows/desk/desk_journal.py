"""Today's journal as the desk shows it, and the marshal's own last deed that can still be undone."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sqlalchemy import bindparam
from sqlmodel import Session, col, select

from meetapp.flows.deeds import Actor
from meetapp.flows.journal import JournalEntry, lines_in, standing_entry
from meetapp.flows.planning.meet_rows import zone_of
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class DeskJournal:
    """The lines of the meet, the latest entered first; `undo_id`: the viewer's own last deed that isn't undone."""

    zone: ZoneInfo
    entries: tuple[JournalEntry, ...]
    undo_id: int | None


def desk_journal(store: Store, meet_id: int, actor: Actor) -> DeskJournal:
    """Everything that happened at this meet."""
    with store.read() as session:
        meet = session.get_one(t.Meet, meet_id)
        zone = zone_of(session, meet)
        entries = sorted(lines_in(session, meet_id), key=lambda entry: entry.line_id, reverse=True)
        return DeskJournal(zone, tuple(entries), last_own_id(session, meet_id, actor))


def last_own(session: Session, meet_id: int, actor: Actor) -> JournalEntry | None:
    """The actor's own last deed at this meet that could be undone."""
    key = ("last own", meet_id, actor.session_id)
    return keep(session, key, lambda: _read_last_own(session, meet_id, actor))


def _read_last_own(session: Session, meet_id: int, actor: Actor) -> JournalEntry | None:
    line_id = last_own_id(session, meet_id, actor)
    return standing_entry(session, line_id) if line_id is not None else None


def last_own_id(session: Session, meet_id: int, actor: Actor) -> int | None:
    """The journal line of that deed."""
    if actor.session_id is None:
        return None
    return session.exec(_LAST_OWN, params={"meet_id": meet_id, "session_id": actor.session_id}).first()


_UNDONE = select(t.JournalLine.undoes_id).where(col(t.JournalLine.undoes_id).is_not(None))
_LAST_OWN = (
    select(t.JournalLine.id)
    .where(
        col(t.JournalLine.meet_id) == bindparam("meet_id"),
        col(t.JournalLine.actor_session_id) == bindparam("session_id"),
        col(t.JournalLine.is_undoable).is_(True),
        col(t.JournalLine.id).not_in(_UNDONE),
    )
    .order_by(col(t.JournalLine.id).desc())
    .limit(1)
)
