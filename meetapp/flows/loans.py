"""Loans: hand out, take back, hand over, set anew. Floors are checked with the meet's row locked."""

from dataclasses import dataclass

from meetapp.flows.deeds import Answer, Deed
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class HandOut:
    """A token for a pilot. `transmitter_id` None: today's; `mhz` None: the nearest; `power_mw` None: the lowest step."""

    meet_id: int
    pilot_id: int
    token_id: int
    transmitter_id: int | None = None
    mhz: int | None = None
    power_mw: float | None = None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class GroundLoan:
    """A camera or ground transmitter without a pilot; `token_id` None: it has no token."""

    meet_id: int
    holder_name: str
    mhz: int
    width_mhz: float
    power_mw: float | None = None
    token_id: int | None = None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class HandOver:
    """A token that goes straight from the pilot who holds it to the next."""

    meet_id: int
    loan_id: int
    to_pilot_id: int
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class ChangeSetting:
    """Another transmitter, channel or power during a loan; None keeps what is set."""

    meet_id: int
    loan_id: int
    transmitter_id: int | None = None
    mhz: int | None = None
    power_mw: float | None = None
    override_reason: str = ""


def hand_out(store: Store, deed: Deed, order: HandOut) -> Answer:
    """Give a token to a pilot; refused below a floor unless a reason is written down."""
    raise NotImplementedError


def lend_ground(store: Store, deed: Deed, order: GroundLoan) -> Answer:
    """Put a camera or ground transmitter on air."""
    raise NotImplementedError


def take_back(store: Store, deed: Deed, meet_id: int, loan_id: int) -> Answer:
    """Take a token back to the board."""
    raise NotImplementedError


def hand_over(store: Store, deed: Deed, order: HandOver) -> Answer:
    """Take a token from one pilot and give it to the next, as one step."""
    raise NotImplementedError


def change_setting(store: Store, deed: Deed, order: ChangeSetting) -> Answer:
    """Set another transmitter, channel or power during a loan."""
    raise NotImplementedError


def mark_seen(store: Store, deed: Deed, meet_id: int, loan_id: int) -> Answer:
    """Tick (or untick) that the pilot has seen their own picture on their own goggles."""
    raise NotImplementedError
