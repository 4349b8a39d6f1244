"""What each deed at a meet does and is answered, by code of its own: tokens, the line, heats, undo, and what is seen.

A step gets the inside of a state and the facts of an operation. Those of offers and alarms are in `passing`.
"""

from dataclasses import replace
from typing import Any

from tests.history.meet_state import Act, Heat, Loan, Meet, Stay, Step, Turns
from tests.history.order import Answer

DONE = ("done",)


def hand_out(step: Step, pilot: str, token: str) -> Answer:
    """A token goes to a pilot."""
    refusal = cannot_go(step.meet, pilot, token)
    if refusal is not None:
        return refusal
    if step.meet.is_near(token):
        return ("refused", "floor", token)
    step.send_out(token, pilot)
    return DONE


def cannot_go(meet: Meet, pilot: str, token: str, without: int = 0) -> Answer | None:
    """Why a token can't go to a pilot, floors apart."""
    if meet.cells["token", token][0] != "usable":
        return ("refused", "missing", token)
    out = [loan for loan_id, loan in meet.out().items() if loan_id != without]
    holder = next((loan.pilot for loan in out if loan.token == token), None)
    if holder is not None:
        return ("refused", "out with", token, holder)
    held = next((loan.token for loan in out if loan.pilot == pilot), None)
    return ("refused", "holds", pilot, held) if held is not None else None


def take_back(step: Step, loan: int) -> Answer:
    """A token comes back."""
    known = step.meet.cells.get(("loan", loan))
    if known is None:
        return ("refused", "no such loan")
    if known.how == "out":
        step.bring_back(loan)
        return (*DONE, known.token, known.pilot)
    return ("undone already", known.token) if known.how == "void" else ("back already", known.token)


def join(step: Step, pilot: str) -> Answer:
    """Into the line."""
    held = next((loan.token for loan in step.meet.out().values() if loan.pilot == pilot), None)
    if held is not None:
        return ("refused", "holds", pilot, held)
    shared = next((turns.token for turns in step.meet.turns().values() if turns.partner == pilot), None)
    if shared is not None:
        return ("refused", "by turns", pilot, shared)
    waiting = [who for _stay, who, _is_passed in step.meet.line()]
    if pilot in waiting:
        return ("stands already", pilot, waiting.index(pilot) + 1)
    step.set(("stay", step.meet.number), Stay(pilot, step.meet.number, None, is_void=False))
    step.set(("skip", step.meet.number), False)
    return (*DONE, pilot, len(waiting) + 1)


def leave(step: Step, pilot: str) -> Answer:
    """Out of the line."""
    return DONE if step.leave(pilot) else ("isn't in it", pilot)


def pass_once(step: Step, pilot: str) -> Answer:
    """Not ready."""
    return _skip(step, pilot, is_passed=True)


def ready_again(step: Step, pilot: str) -> Answer:
    """Ready again."""
    return _skip(step, pilot, is_passed=False)


def _skip(step: Step, pilot: str, *, is_passed: bool) -> Answer:
    stand = next((each for each in step.meet.line() if each[1] == pilot), None)
    if stand is None:
        return ("isn't in it", pilot)
    if stand[2] == is_passed:
        return ("is so already", pilot)
    step.set(("skip", stand[0]), is_passed)
    return DONE


def missing(step: Step, token: str) -> Answer:
    """A token is missing; whoever has it, their loan ends."""
    if step.meet.cells["token", token][0] == "missing":
        return ("missing already", token)
    holder = ""
    for loan_id, loan in step.meet.out().items():
        if loan.token == token:
            step.bring_back(loan_id, "missing")
            holder = loan.pilot
    step.set(("token", token), ("missing", step.meet.number))
    return (*DONE, token, holder)


def found(step: Step, token: str) -> Answer:
    """A missing token hangs on the board again."""
    if step.meet.cells["token", token][0] == "usable":
        return ("in use already", token)
    step.set(("token", token), ("usable", step.meet.number))
    return DONE


def call(step: Step, heat: str, landing: str | None, drawn: frozenset[int]) -> Answer:
    """The heat in the air comes down and the next one is called, as the page showed them."""
    meet = step.meet
    in_air = meet.called()
    if in_air != landing:
        return ("refused", "is over already") if in_air is None else ("refused", "is called since")
    if frozenset(meet.out_of_heat()) != drawn:
        return ("refused", "others are on air")
    if heat in meet.to_come()[1:]:
        return ("refused", "comes before")
    if meet.alarms():
        return ("refused", "alarm")
    if in_air is not None and not land(step, in_air):
        return ("refused", "nobody got a token")
    if meet.cells["heat", heat].how != "planned" or not meet.seats(heat):
        return ("refused", "heat")
    begun = [each for each in meet.heats() if meet.cells["heat", each].how != "planned"]
    rest = [each for each in meet.heats() if each not in begun and each != heat]
    for place, each in enumerate([*begun, heat, *rest]):
        step.set(("place", each), place)
    step.set(("heat", heat), Heat("called", meet.number, meet.cells["heat", heat].landed))
    went = [token for pilot, token in meet.seats(heat).items() if _goes(step, pilot, token)]
    return (*DONE, len(went))


def land(step: Step, heat: str) -> bool:
    """The heat in the air is flown, and its tokens come back; False where nobody in it ever got one."""
    meet = step.meet
    was = meet.cells["heat", heat]
    had_token = {loan.pilot for loan in meet.loans().values() if loan.since >= was.called}
    seats = meet.seats(heat)
    without = [pilot for pilot in seats if pilot not in had_token]
    if len(without) == len(seats):
        return False
    for loan_id in meet.out_of_heat():
        step.bring_back(loan_id)
    for pilot in without:
        step.set(("gap", heat, pilot), "no token")
    step.set(("heat", heat), Heat("flown", was.called, meet.number))
    return True


def _goes(step: Step, pilot: str, token: str) -> bool:
    """Whether the token of a seat goes out with its heat. Who has it already keeps it, as a loan of the heat."""
    own = next((each for each, loan in step.meet.out().items() if loan == loan._replace(pilot=pilot, token=token)), 0)
    if cannot_go(step.meet, pilot, token, own) is not None or step.meet.is_near(token, own):
        return False
    if own:
        step.bring_back(own)
    step.send_out(token, pilot)
    return True


def call_off(step: Step, heat: str) -> Answer:
    """Nobody has flown: the tokens come back, the heat is to come again, and all wake on what they did before."""
    if step.meet.cells["heat", heat].how != "called":
        return ("refused", "heat")
    for loan_id, loan in step.meet.out_of_heat().items():
        step.bring_back(loan_id)
        step.set(("wake", loan.pilot), loan.woke_on)
        step.stand_again(loan)
    step.set(("heat", heat), Heat("planned", None, step.meet.cells["heat", heat].landed))
    return DONE


def broken(step: Step, heat: str, pilot: str) -> Answer:
    """A quad is broken: the seat stays empty, and its token comes back."""
    how = step.meet.cells["heat", heat].how
    if how not in ("planned", "called") or pilot not in step.meet.seats(heat):
        return ("refused", "heat")
    for loan_id, loan in step.meet.out_of_heat().items():
        if how == "called" and loan.pilot == pilot:
            step.bring_back(loan_id)
    step.set(("gap", heat, pilot), "broken")
    return DONE


def undo(step: Step, of: str) -> Answer:
    """One's own last step is taken back, unless something rests on it."""
    act = step.acts.get(of)
    if act is None or not _may_undo(step, act):
        return ("refused", "undo")
    for cell, before, _after in act.changes:
        step.set(cell, _voided(step.meet.cells[cell]) if before is None else before)
    if _is_contradictory(step.meet) or _is_too_near(step, act):
        return ("refused", "undo")
    step.acts = {**step.acts, of: replace(act, is_undone=True)}
    step.is_undoable = False
    return DONE


def _may_undo(step: Step, act: Act) -> bool:
    later = [each for each in step.acts.values() if each.who == act.who and each.number > act.number]
    if act.is_undone or step.op.who != act.who or any(not each.is_undone for each in later):
        return False
    if any(step.meet.cells[cell] != after for cell, _before, after in act.changes):
        return False
    return not any(_is_used_since(step.meet, act, cell, before) for cell, before, _after in act.changes)


def _is_used_since(meet: Meet, act: Act, cell: Any, before: Any) -> bool:
    """Whether a loan would be void of which something was offered, or open again though its token or pilot had another
    since, or a seat would be filled again in a heat that is over since.
    """
    if cell[0] == "gap":
        landed = meet.cells["heat", cell[1]].landed
        return landed is not None and landed > act.number
    if cell[0] == "loan" and before is None:
        return any(each[0] == "offer" and offer.loan == cell[1] for each, offer in meet.cells.items())
    if cell[0] != "loan":
        return False
    made = {cell[1] for cell, before, _after in act.changes if cell[0] == "loan" and before is None}
    others = {each: loan for each, loan in meet.loans().items() if each not in made and each != cell[1]}
    return any(loan.since > before.since and (loan.token == before.token or loan.pilot == before.pilot)
               for loan in others.values())  # fmt: skip


def _voided(value: Any) -> Any:
    if isinstance(value, Loan | Turns):
        return value._replace(how="void")
    return value._replace(is_void=True) if isinstance(value, Stay) else value


def _is_contradictory(meet: Meet) -> bool:
    out, line = list(meet.out().values()), [pilot for _stay, pilot, _is_passed in meet.line()]
    tokens, pilots = [loan.token for loan in out], [loan.pilot for loan in out]
    is_twice = any(len(set(each)) < len(each) for each in (tokens, pilots, line))
    called = [heat for heat in meet.plan.heats if meet.cells["heat", heat].how == "called"]
    is_lost = any(meet.cells["token", token][0] != "usable" for token in tokens)
    held = {(loan.token, loan.pilot) for loan in out}
    turns = meet.turns().values()
    is_out_of_turn = any((each.token, each.holder) not in held or each.partner in (*pilots, *line) for each in turns)
    return is_twice or is_lost or is_out_of_turn or bool(set(pilots) & set(line)) or len(called) > 1


def _is_too_near(step: Step, act: Act) -> bool:
    """Whether what comes back on air breaks a floor with what went on air since."""
    back = [cell[1] for cell, before, _after in act.changes if cell[0] == "loan" and before is not None]
    return any(step.meet.is_near(step.meet.cells["loan", each].token, each) for each in back)


def see_desk(step: Step) -> Answer:
    """What the desk shows: on air, the next one, the others in line, missing tokens, heats."""
    meet = step.meet
    on_air = frozenset((loan_id, loan.token, loan.pilot) for loan_id, loan in meet.out().items())
    ready = tuple(meet.ready()[:1])
    others = tuple((pilot, is_passed) for _stay, pilot, is_passed in meet.line() if pilot not in ready)
    return ("seen", on_air, ready, others, _missing(meet), meet.called(), (*meet.to_come(), None)[0])


def see_board(step: Step) -> Answer:
    """What the board shows: on air, who is next, missing tokens."""
    on_air = frozenset((loan.token, loan.pilot) for loan in step.meet.out().values())
    return ("seen", on_air, tuple(step.meet.ready()[:3]), _missing(step.meet))


def _missing(meet: Meet) -> frozenset[str]:
    return frozenset(each[1] for each, how in meet.cells.items() if each[0] == "token" and how[0] == "missing")


STEPS: dict[str, Any] = {
    "hand out": hand_out, "take back": take_back, "join": join, "leave": leave, "not ready": pass_once,
    "ready": ready_again, "missing": missing, "found": found, "call": call, "call off": call_off, "broken": broken,
    "undo": undo, "desk": see_desk, "board": see_board,
}  # fmt: skip
