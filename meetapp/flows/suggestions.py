"""Which token for whom: what the desk and the pilots are shown before a hand-out."""

from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.snapshot import Kit, OnAir, Person, Snapshot
from meetapp.spectrum.tuning import Setting
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class TokenChoice:
    """A token that a pilot could take: what to set, why it is offered, what it wakes on, what it would break.

    `settings`: everything within the pull that the pilot could set for it, the suggested one first.
    """

    token_id: int
    code: str
    token_label: str
    nominal_mhz: int
    setting: Setting
    settings: tuple[Setting, ...]
    reason: str
    wake_words: str
    shortfalls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TokenRuledOut:
    """A token that this pilot can't take now, and why, in words."""

    token_id: int
    code: str
    token_label: str
    nominal_mhz: int
    why: str


@dataclass(frozen=True, slots=True)
class HandOutView:
    """The hand-out page of one pilot. `why_not` ('' where nothing stands in the way) is about the pilot."""

    meet_id: int
    version: int
    person: Person
    kits: tuple[Kit, ...]
    holds: OnAir | None
    place: int | None
    waited_min: int | None
    power_ceiling_mw: float | None
    why_not: str
    suggested: TokenChoice | None
    others: tuple[TokenChoice, ...]
    below_floor: tuple[TokenChoice, ...]
    held_back: tuple[TokenChoice, ...]
    ruled_out: tuple[TokenRuledOut, ...]


@dataclass(frozen=True, slots=True)
class NextUp:
    """The head of the line: their suggested token, or why there is none now, and who comes after them.

    `instead`: where the head can't be served now, the first one behind who can be.
    """

    person: Person
    choice: TokenChoice | None
    why_none: str
    waited_min: int
    after: Person | None
    instead: "NextUp | None" = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """Somebody in the line who could take over a token now, with what they would set and why they are asked."""

    person: Person
    setting: Setting
    reason: str
    wake_words: str
    waited_min: int


def hand_out_view(store: Store, meet_id: int, pilot_id: int, now: datetime) -> HandOutView:
    """Everything the hand-out page shows of one pilot."""
    raise NotImplementedError


def next_up(snapshot: Snapshot) -> NextUp | None:
    """Who is next and with which token; None where nobody waits."""
    raise NotImplementedError


def hand_over_candidates(snapshot: Snapshot, loan_id: int) -> tuple[Candidate, ...]:
    """Who in the line can take over this loan's token now, in line order; the first is suggested."""
    raise NotImplementedError
