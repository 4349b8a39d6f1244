"""What can't be true of a meet at one moment: loans, the line and the turns against each other."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from meetapp.rules.loans import Field
from meetapp.rules.waiting_line import Stand


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One thing that can't be: `reason` is one of the words below, with the pilot or token it is about.

    Reasons: token_twice, pilot_twice, token_not_usable, holder_absent, holder_in_line, waiting_twice, waiting_absent,
    turns_without_loan, partner_holds, partner_in_line, partner_absent.
    """

    reason: str
    pilot_id: int | None = None
    token_id: int | None = None


def contradictions(
    state: Field, line: Sequence[Stand], turns: Mapping[int, tuple[int, int]]
) -> tuple[Contradiction, ...]:
    """Everything that can't be true at once; empty for a meet in order.

    turns: token id to (holder, partner) for tokens used by turns. Order: loans, then the line, then the turns.

    >>> contradictions(Field({}, frozenset()), [], {3: (7, 8)})[0]
    Contradiction(reason='turns_without_loan', pilot_id=7, token_id=3)
    """
    return (*_of_loans(state), *_of_line(state, line), *_of_turns(state, line, turns))


def _of_loans(state: Field) -> list[Contradiction]:
    tokens = Counter(loan.token_id for loan in state.held if loan.token_id is not None)
    pilots = Counter(loan.pilot_id for loan in state.held if loan.pilot_id is not None)
    return [
        *(Contradiction("token_twice", token_id=token) for token, times in tokens.items() if times > 1),
        *(Contradiction("pilot_twice", pilot) for pilot, times in pilots.items() if times > 1),
        *(
            Contradiction("token_not_usable", token_id=token)
            for token in tokens
            if state.token_states.get(token) != "usable"
        ),
        *(Contradiction("holder_absent", pilot) for pilot in pilots if pilot not in state.present),
    ]


def _of_line(state: Field, line: Sequence[Stand]) -> list[Contradiction]:
    waiting = Counter(stand.pilot_id for stand in line)
    return [
        *(Contradiction("holder_in_line", pilot) for pilot in waiting if state.with_pilot(pilot)),
        *(Contradiction("waiting_twice", pilot) for pilot, times in waiting.items() if times > 1),
        *(Contradiction("waiting_absent", pilot) for pilot in waiting if pilot not in state.present),
    ]


def _of_turns(state: Field, line: Sequence[Stand], turns: Mapping[int, tuple[int, int]]) -> list[Contradiction]:
    found = []
    waiting = {stand.pilot_id for stand in line}
    for token, (holder, partner) in turns.items():
        loan = state.with_token(token)
        if loan is None or loan.pilot_id != holder:
            found.append(Contradiction("turns_without_loan", holder, token))
        if state.with_pilot(partner):
            found.append(Contradiction("partner_holds", partner, token))
        if partner in waiting:
            found.append(Contradiction("partner_in_line", partner, token))
        if partner not in state.present:
            found.append(Contradiction("partner_absent", partner, token))
    return found
