"""Tokens handed on, straight, by an offer or by turns, and alarms: what each deed does and is answered."""

from typing import Any

from tests.history.meet_model import DONE, STEPS, cannot_go
from tests.history.meet_state import Offer, Step, Turns
from tests.history.order import Answer


def hand_over(step: Step, loan: int, pilot: str) -> Answer:
    """The desk takes a token from one and gives it to another."""
    known = step.meet.cells.get(("loan", loan))
    if known is None or known.how != "out":
        return ("refused", "over")
    return _goes_on(step, loan, pilot)


def take_over(step: Step, loan: int, pilot: str) -> Answer:
    """A pilot takes what was offered to them."""
    known = step.meet.cells.get(("loan", loan))
    if known is None or known.how != "out":
        return ("refused", "over")
    if all((offer.loan, offer.to) != (loan, pilot) for offer in step.meet.offers().values()):
        return ("refused", "not offered")
    return _goes_on(step, loan, pilot)


def _goes_on(step: Step, loan: int, pilot: str) -> Answer:
    known = step.meet.cells["loan", loan]
    if known.pilot == pilot:
        return ("refused", "holds it", pilot)
    refusal = cannot_go(step.meet, pilot, known.token, without=loan)
    if refusal is not None:
        return refusal
    if step.meet.is_near(known.token, without=loan):
        return ("refused", "floor", known.token)
    step.bring_back(loan)
    step.send_out(known.token, pilot)
    return DONE


def offer(step: Step, pilot: str, to: str) -> Answer:
    """Whoever holds a token offers it to somebody."""
    out = step.meet.out()
    held = next((loan_id for loan_id, loan in out.items() if loan.pilot == pilot), None)
    if held is None:
        return ("refused", "holds none")
    token = out[held].token
    if to == pilot:
        return ("refused", "is own", token)
    other = next((loan.token for loan in out.values() if loan.pilot == to), None)
    if other is not None:
        return ("refused", "holds", to, other)
    given = next((each.to for each in step.meet.offers().values() if each.loan == held), None)
    if given is not None:
        return ("refused", "offered", token, given)
    step.set(("offer", step.op.made.get("offer", -step.meet.number)), Offer(held, to, "stands"))
    step.is_undoable = False
    return (*DONE, token, to)


def take_offer_back(step: Step, pilot: str, offer: int) -> Answer:
    """Whoever made an offer takes it back."""
    return _answer_offer(step, offer, by_holder=pilot)


def say_no(step: Step, pilot: str, offer: int) -> Answer:
    """Whoever got an offer doesn't want it."""
    return _answer_offer(step, offer, by_taker=pilot)


def _answer_offer(step: Step, number: int, by_holder: str = "", by_taker: str = "") -> Answer:
    standing = step.meet.offers().get(number)
    if standing is None:
        return ("refused", "offer over")
    loan = step.meet.cells["loan", standing.loan]
    if (by_holder and loan.pilot != by_holder) or (by_taker and standing.to != by_taker):
        return ("refused", "other's offer")
    step.set(("offer", number), standing._replace(how="over"))
    step.is_undoable = False
    return (*DONE, loan.token, standing.to if by_holder else loan.pilot)


def share(step: Step, loan: int, partner: str) -> Answer:
    """A second pilot uses a token by turns, and leaves the line."""
    known = step.meet.cells.get(("loan", loan))
    if known is None or known.how != "out":
        return ("refused", "over")
    if partner == known.pilot:
        return ("refused", "has it", partner)
    held = next((each.token for each in step.meet.out().values() if each.pilot == partner), None)
    if held is not None:
        return ("refused", "holds", partner, held)
    other = next((turns.token for turns in step.meet.turns().values() if turns.partner == partner), None)
    if other is not None:
        return ("refused", "by turns", partner, other)
    if any(turns.token == known.token for turns in step.meet.turns().values()):
        return ("refused", "is shared", known.token)
    step.set(("turns", step.meet.number), Turns(known.token, known.pilot, partner, "on"))
    step.leave(partner)
    return (*DONE, known.token, known.pilot)


def swap(step: Step, token: str) -> Answer:
    """The other one's turn."""
    number, turns = _turns_on(step, token)
    if turns is None:
        return ("refused", "no turns", token)
    loan_id = next(each for each, loan in step.meet.out().items() if loan.token == token)
    step.bring_back(loan_id)
    step.send_out(token, turns.partner)
    step.set(("turns", number), Turns(token, turns.partner, turns.holder, "on"))
    return DONE


def end_turns(step: Step, token: str) -> Answer:
    """Whoever has it keeps it."""
    _number, turns = _turns_on(step, token)
    if turns is None:
        return ("no turns", token)
    step.end_turns(token=token)
    return (*DONE, token, turns.holder)


def _turns_on(step: Step, token: str) -> tuple[int, Turns | None]:
    return next(((number, turns) for number, turns in step.meet.turns().items() if turns.token == token), (0, None))


def raise_alarm(step: Step, kind: str) -> Answer:
    """An alarm is on; raised again while it is, nothing more happens."""
    nth = step.meet.cells["alarm", kind]
    step.set(("alarm", kind), nth if nth > 0 else 1 - nth)
    step.is_undoable = False
    return DONE


def end_alarm(step: Step, kind: str, nth: int) -> Answer:
    """The so manieth alarm of a kind is over; said again, nothing more happens."""
    now = step.meet.cells["alarm", kind]
    if nth > abs(now):
        return ("refused", "no such alarm")
    step.set(("alarm", kind), -nth if now == nth else now)
    step.is_undoable = False
    return DONE


def see_alarms(step: Step) -> Answer:
    """What every page says of alarms."""
    return ("seen", step.meet.alarms())


def see_offers(step: Step, pilot: str) -> Answer:
    """What a pilot's own page says: the offers to them, and their own."""
    out = step.meet.out()
    to_me = frozenset(number for number, each in step.meet.offers().items() if each.to == pilot)
    mine = next((number for number, each in step.meet.offers().items() if out[each.loan].pilot == pilot), None)
    return ("seen", to_me, mine)


EVERY_STEP: dict[str, Any] = STEPS | {
    "hand over": hand_over, "take over": take_over, "offer": offer, "take offer back": take_offer_back,
    "say no": say_no, "share": share, "swap": swap, "end turns": end_turns,
    "raise": raise_alarm, "end alarm": end_alarm, "alarms": see_alarms, "offers": see_offers,
}  # fmt: skip
