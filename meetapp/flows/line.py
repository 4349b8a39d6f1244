"""The waiting line: join, leave, not ready, ready again."""

from meetapp.flows.deeds import Answer, Deed
from meetapp.store.engine import Store


def join_line(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Put a pilot at the end of the line."""
    raise NotImplementedError


def leave_line(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Take a pilot out of the line."""
    raise NotImplementedError


def not_ready(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Pass a pilot once; the place is kept."""
    raise NotImplementedError


def ready_again(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """A pilot who was not ready is ready."""
    raise NotImplementedError
