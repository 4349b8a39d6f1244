"""Pilots who keep the tokens themselves: take one, bring it back, take over the one that is offered.

The loans' own flows decide, with the pilot as the one who acts: the same floors, the same journal.
"""

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.errors import Refused
from meetapp.flows.loans import loans, sharing
from meetapp.store import field_queries as queries
from meetapp.store.engine import Store


def open_meet_id(store: Store) -> int:
    """The meet that is open now.

    Raises:
        Refused: none is.
    """
    with store.read() as session:
        meet = queries.open_meet(session)
        if meet is None:
            raise Refused("No meet is open now.", "Come back when the organiser has opened it.")
        return meet.id


def take(store: Store, deed: Deed, pilot_id: int, token_id: int) -> Answer:
    """A pilot takes a token from the board, with today's transmitter at the nearest channel and the lowest power."""
    return loans.hand_out(store, deed, loans.HandOut(open_meet_id(store), pilot_id, token_id))


def bring_back(store: Store, deed: Deed, loan_id: int) -> Answer:
    """The holder hangs the token on the board again."""
    return loans.take_back(store, deed, open_meet_id(store), loan_id)


def take_over(store: Store, deed: Deed, pilot_id: int, loan_id: int) -> Answer:
    """The pilot to whom a token is offered takes it: the second half of passing on."""
    return loans.hand_over(store, deed, loans.HandOver(open_meet_id(store), loan_id, pilot_id))


def give_turn(store: Store, deed: Deed, token_id: int) -> Answer:
    """The holder of a token used by turns, off air now, lets the other one have it."""
    return sharing.swap_turns(store, deed, open_meet_id(store), token_id)


def end_turns(store: Store, deed: Deed, token_id: int) -> Answer:
    """Either of the two ends the turns; whoever holds the token keeps it."""
    return sharing.end(store, deed, open_meet_id(store), token_id)
