"""The journal of a meet in plain sentences."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One line: when it happened, when it was entered, who did it, and what, in a sentence with names.

    `is_undone`: a later line took it back; `undoes_id`: the line that this one took back.
    """

    line_id: int
    happened_at: datetime
    entered_at: datetime
    who: str
    role: str
    sentence: str
    is_undone: bool
    undoes_id: int | None
    kind: str


def lines(store: Store, meet_id: int) -> tuple[JournalEntry, ...]:
    """The journal of a meet, in order."""
    with store.read() as session:
        return lines_in(session, meet_id)


def lines_in(session: Session, meet_id: int) -> tuple[JournalEntry, ...]:
    """The same, inside a session that is open already."""
    raise NotImplementedError
