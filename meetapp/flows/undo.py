"""Undo of one's own last action, by a new journal line."""

from meetapp.flows.deeds import Answer, Deed
from meetapp.store.engine import Store


def undo(store: Store, deed: Deed, journal_id: int) -> Answer:
    """Take back what one journal line did; refused once something rests on it."""
    raise NotImplementedError
