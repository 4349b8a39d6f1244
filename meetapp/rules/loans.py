"""Loans as a value: what a hand-out, a take-back and a hand-over do to the field, or why they are refused.

No floors here: `meetapp.spectrum.floors` measures those. Here stand the rules of tokens and people.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Held:
    """An open loan: one token (None: a ground transmitter without one) with one pilot (None: no pilot)."""

    loan_id: int
    token_id: int | None
    pilot_id: int | None
    out_at: datetime


@dataclass(frozen=True, slots=True)
class Field:
    """The tokens' states ('usable', 'missing', 'withdrawn') by id, who is checked in, and the open loans."""

    token_states: Mapping[int, str]
    present: frozenset[int]
    held: tuple[Held, ...] = field(default=())

    def with_token(self, token_id: int) -> Held | None:
        """The open loan of a token, if it is out."""
        return next((loan for loan in self.held if loan.token_id == token_id), None)

    def with_pilot(self, pilot_id: int) -> Held | None:
        """The open loan of a pilot, if they hold a token."""
        return next((loan for loan in self.held if loan.pilot_id == pilot_id), None)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a step isn't taken. `reason` is one of the words below; `loan` is the loan that stands in the way.

    Reasons: token_out, token_missing, token_withdrawn, token_unknown, pilot_holds, pilot_absent, loan_closed,
    same_pilot, before_out.
    """

    reason: str
    loan: Held | None = None


def hand_out(state: Field, loan: Held) -> Field | Refusal:
    """Give a token to a pilot who is there and holds none.

    >>> at = datetime(2026, 1, 1)
    >>> hand_out(Field({1: "missing"}, frozenset({7})), Held(1, 1, 7, at)).reason
    'token_missing'
    """
    refusal = _token_refusal(state, loan.token_id) or _pilot_refusal(state, loan.pilot_id)
    return refusal or replace(state, held=(*state.held, loan))


def take_back(state: Field, loan_id: int, at: datetime) -> Field | Refusal:
    """Take a token back at `at`, which can't lie before it went out.

    >>> take_back(Field({}, frozenset()), 5, datetime(2026, 1, 1)).reason
    'loan_closed'
    """
    loan = next((held for held in state.held if held.loan_id == loan_id), None)
    if loan is None:
        return Refusal("loan_closed")
    if at < loan.out_at:
        return Refusal("before_out", loan)
    return replace(state, held=tuple(held for held in state.held if held is not loan))


def hand_over(state: Field, loan_id: int, new_loan: Held) -> Field | Refusal:
    """Take a token from one pilot and give it (or another token) to the next, as one step.

    >>> hand_over(Field({}, frozenset()), 5, Held(6, 1, 7, datetime(2026, 1, 1))).reason
    'loan_closed'
    """
    old = next((held for held in state.held if held.loan_id == loan_id), None)
    if old is not None and old.pilot_id == new_loan.pilot_id:
        return Refusal("same_pilot", old)
    between = take_back(state, loan_id, new_loan.out_at)
    return between if isinstance(between, Refusal) else hand_out(between, new_loan)


def _token_refusal(state: Field, token_id: int | None) -> Refusal | None:
    if token_id is None:
        return None
    token_state = state.token_states.get(token_id, "unknown")
    if token_state != "usable":
        return Refusal(f"token_{token_state}")
    loan = state.with_token(token_id)
    return Refusal("token_out", loan) if loan else None


def _pilot_refusal(state: Field, pilot_id: int | None) -> Refusal | None:
    if pilot_id is None:
        return None
    if pilot_id not in state.present:
        return Refusal("pilot_absent")
    loan = state.with_pilot(pilot_id)
    return Refusal("pilot_holds", loan) if loan else None
