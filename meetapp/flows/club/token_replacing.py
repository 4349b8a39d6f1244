"""A new tag for a token that is lost for good: the same channel, a new code, and the old code withdrawn."""

from sqlmodel import Session, col, select

from meetapp.flows.club.token_codes import new_code
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.loans.token_states import locked_token, refuse_while_out, set_state
from meetapp.store import tables as t
from meetapp.store.engine import Store


def replace_token(store: Store, deed: Deed, token_id: int) -> Answer:
    """Withdraw a token and make another for its channel, which takes its place in every meet that isn't closed.

    Raises:
        Refused: it is out, or withdrawn already.
    """

    def work(work: Work) -> Answer:
        snapshot, old = locked_token(work, None, token_id)
        if old.state == "withdrawn":
            raise Refused(f"{old.label} is withdrawn already.", "Add a new token for its channel.")
        refuse_while_out(snapshot, old)
        code = new_code(work.session.exec(select(t.Token.code)).all())
        new = t.Token(code=code, label=old.label, nominal_mhz=old.nominal_mhz, state_since=work.now)
        set_state(work, old, "withdrawn")
        work.session.add(new)
        work.session.flush()
        _take_its_place(work.session, old, new)
        facts = {"token": new.id, "token_before": old.id, "code": new.code, "code_before": old.code}
        work.note("token_replaced", facts, meet_id=snapshot.meet_id if snapshot else None)
        return Answer(
            f"/organiser/tokens/{new.id}",
            f"{new.label} gets a new tag with the code {new.code}; the old code {old.code} is withdrawn. "
            "Print the new tag.",
            made_id=new.id,
        )

    return do_once(store, deed, work)


def _take_its_place(session: Session, old: t.Token, new: t.Token) -> None:
    """Put the new token where the old one stood. The old one stays in the record of a meet that has begun."""
    meets = session.exec(
        select(t.Meet, t.MeetToken)
        .join(t.MeetToken, col(t.MeetToken.meet_id) == t.Meet.id)
        .where(t.MeetToken.token_id == old.id, t.Meet.state != "closed")
    ).all()
    for meet, row in meets:
        session.add(t.MeetToken(meet_id=meet.id, token_id=new.id))
        if meet.state == "planned":
            session.delete(row)
    seats = session.exec(
        select(t.HeatSeat)
        .join(t.Heat, col(t.Heat.id) == t.HeatSeat.heat_id)
        .where(
            t.HeatSeat.token_id == old.id,
            col(t.Heat.state).in_(("planned", "called")),
            col(t.Heat.meet_id).in_([meet.id for meet, _row in meets]),
        )
    )
    for seat in seats:
        seat.token_id = new.id
        session.add(seat)
    session.flush()
