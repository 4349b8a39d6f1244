"""Two pilots who use one token by turns."""

from meetapp.flows.deeds import Answer, Deed
from meetapp.store.engine import Store


def share(store: Store, deed: Deed, meet_id: int, loan_id: int, partner_id: int) -> Answer:
    """Let a second pilot use the token of this loan by turns; the partner leaves the line."""
    raise NotImplementedError


def swap_turns(store: Store, deed: Deed, meet_id: int, token_id: int, override_reason: str = "") -> Answer:
    """The other one's turn: a hand-over of the same token between the two."""
    raise NotImplementedError


def end(store: Store, deed: Deed, meet_id: int, token_id: int) -> Answer:
    """End the turns; whoever holds the token keeps it."""
    raise NotImplementedError
