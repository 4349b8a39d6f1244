"""Tokens that are missing, found or withdrawn; `meet_id` None: outside a meet."""

from meetapp.flows.deeds import Answer, Deed
from meetapp.store.engine import Store


def mark_missing(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Say that a token is missing; an open loan ends with it."""
    raise NotImplementedError


def mark_found(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Say that a missing token hangs on the board again (or put a withdrawn one back in use)."""
    raise NotImplementedError


def withdraw(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Take a token out of use."""
    raise NotImplementedError
