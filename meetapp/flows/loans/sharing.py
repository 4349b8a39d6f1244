"""Two pilots who use one token by turns: one holds it, the other waits beside them instead of in the line."""

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.loans import line_rows, loan_rows
from meetapp.flows.loans.air_plan import Wish
from meetapp.flows.loans.giving import give, given_answer
from meetapp.flows.loans.loan_settings import open_loan
from meetapp.flows.loans.permissions import check_desk, check_may_act
from meetapp.flows.loans.who_waits import why_cannot_use
from meetapp.flows.loans.wording import check_there, holds_since, home_of, loan_address, person_at, token_at
from meetapp.flows.snapshot import Person, Snapshot, TokenNow, locked_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store


def share(store: Store, deed: Deed, meet_id: int, loan_id: int, partner_id: int) -> Answer:
    """Let a second pilot use the token of this loan by turns; the partner leaves the line. The desk does this.

    Raises:
        Refused: the partner holds a token, uses another by turns, isn't here, or can't make this one.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        check_desk(work.actor)
        loan = open_loan(work, snapshot, loan_id)
        if loan.pilot_id is None or loan.token_id is None:
            raise Refused(f"{loan.who} is a ground transmitter: it takes no turns.", "Choose a pilot's loan.")
        holder, partner = person_at(snapshot, loan.pilot_id), person_at(snapshot, partner_id)
        token = token_at(snapshot, loan.token_id)
        _check_partner(work, snapshot, holder, partner, token)
        if loan_rows.running_turns(work.session, token_id=token.token_id) is not None:
            raise Refused(f"{token.label} is used by turns already.", "End those turns first.")
        work.session.add(
            t.Sharing(
                meet_id=meet_id,
                token_id=token.token_id,
                pilot_id=holder.pilot_id,
                partner_id=partner.pilot_id,
                started_at=work.now,
            )
        )
        line_rows.leave(work, snapshot, partner.pilot_id)
        facts = {
            "loan": loan_id,
            "token": token.token_id,
            "pilot": holder.pilot_id,
            "other_pilot": partner.pilot_id,
        }
        line_id = work.note("sharing_started", facts, meet_id=meet_id, is_undoable=True)
        names = f"{holder.board_name} and {partner.board_name}"
        notice = f"{names} use {token.label} by turns; {holder.board_name} has it now."
        return Answer(loan_address(work.actor, loan_id), notice, undo_id=line_id, made_id=loan_id)

    return do_once(store, deed, work)


def swap_turns(store: Store, deed: Deed, meet_id: int, token_id: int, override_reason: str = "") -> Answer:
    """The other one's turn: the token goes from the holder to the partner, and the turns go on.

    In self-service the holder does this, once they are off air. Floors are judged without what comes down.
    Raises: Refused, Forbidden or NotFound, as `loans.hand_over` does.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        token, turns = _running(work, snapshot, token_id)
        check_may_act(work.actor, snapshot, turns.pilot_id)
        loan = snapshot.loan_with(token_id)
        if loan is None:
            raise Refused(f"{token.label} isn't out now.", "Load the page again.")
        given = give(
            work,
            snapshot,
            person_at(snapshot, turns.partner_id),
            token,
            Wish(),
            override_reason,
            leaving=loan,
            passes_nobody=True,
        )
        turns.pilot_id, turns.partner_id = turns.partner_id, turns.pilot_id
        line_id = work.note("turns_swapped", dict(given.facts), meet_id=meet_id, is_undoable=True)
        return given_answer(work, given, line_id)

    return do_once(store, deed, work)


def end(store: Store, deed: Deed, meet_id: int, token_id: int) -> Answer:
    """End the turns; whoever holds the token keeps it. No turns on it: nothing happens."""

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        token = token_at(snapshot, token_id)
        turns = loan_rows.running_turns(work.session, token_id=token_id)
        if turns is None:
            check_desk(work.actor)
            return Answer(home_of(work.actor), f"Nobody uses {token.label} by turns.")
        own_id = work.actor.pilot_id
        check_may_act(work.actor, snapshot, own_id if own_id == turns.partner_id else turns.pilot_id)
        holder, partner = person_at(snapshot, turns.pilot_id), person_at(snapshot, turns.partner_id)
        loan_rows.end_turns(work, token_id=token_id)
        facts = {"token": token_id, "pilot": holder.pilot_id, "other_pilot": partner.pilot_id}
        line_id = work.note("sharing_ended", facts, meet_id=meet_id, is_undoable=True)
        notice = f"The turns on {token.label} are over; {holder.board_name} keeps it."
        return Answer(home_of(work.actor), notice, undo_id=line_id)

    return do_once(store, deed, work)


def _running(work: Work, snapshot: Snapshot, token_id: int) -> tuple[TokenNow, t.Sharing]:
    token = token_at(snapshot, token_id)
    turns = loan_rows.running_turns(work.session, token_id=token_id)
    if turns is None:
        raise Refused(f"Nobody uses {token.label} by turns.", "Hand it over instead.")
    return token, turns


def _check_partner(work: Work, snapshot: Snapshot, holder: Person, partner: Person, token: TokenNow) -> None:
    check_there(partner)
    who = partner.board_name
    if partner.pilot_id == holder.pilot_id:
        raise Refused(f"{who} has {token.label}.", "Choose somebody else for the turns.", field="partner_id")
    if (own := snapshot.loan_of(partner.pilot_id)) is not None:
        raise Refused(f"{who} {holds_since(snapshot, own)}.", "Take it back first.", field="partner_id")
    if (other := loan_rows.running_turns(work.session, partner_id=partner.pilot_id)) is not None:
        label = token_at(snapshot, other.token_id).label
        raise Refused(f"{who} uses {label} by turns already.", "End those turns first.", field="partner_id")
    if why := why_cannot_use(snapshot, partner, token.nominal_mhz):
        raise Refused(
            f"{token.label} is not for {who}: {why}.", "Choose somebody else for the turns.", field="partner_id"
        )
