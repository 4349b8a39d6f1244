"""A camera or ground transmitter on air: what the form offers and what was typed into it."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.kits import plans_of
from meetapp.flows.loans.loans import GroundLoan
from meetapp.flows.readings import read_channel
from meetapp.flows.snapshot import TokenNow, take_snapshot
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class GroundDraft:
    """What was typed: the channel as a label or as MHz; `token_id` None: it has no token."""

    meet_id: int
    name: str
    channel: str
    width_mhz: float
    power_mw: float | None
    token_id: int | None
    override_reason: str


@dataclass(frozen=True, slots=True)
class GroundPage:
    """The tokens that hang on the board, the usual width, and the meet's power ceiling (None: it has none)."""

    tokens: tuple[TokenNow, ...]
    width_mhz: float
    power_ceiling_mw: float | None


def ground_page(store: Store, meet_id: int, now: datetime) -> GroundPage:
    """What the form of a ground transmitter offers."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
    tokens = tuple(token for token in snapshot.tokens if token.state == "in")
    return GroundPage(tokens, REFERENCE_WIDTH_MHZ, snapshot.power_ceiling_mw)


def read_draft(store: Store, draft: GroundDraft) -> GroundLoan:
    """The draft as a loan, its channel as MHz.

    Raises:
        Refused: naming the field `channel` where it is no one channel.
    """
    with store.read() as session:
        mhz = _mhz(session, draft.channel)
    return GroundLoan(
        meet_id=draft.meet_id,
        holder_name=draft.name,
        mhz=mhz,
        width_mhz=draft.width_mhz,
        power_mw=draft.power_mw,
        token_id=draft.token_id,
        override_reason=draft.override_reason,
    )


def _mhz(session: Session, channel: str) -> int:
    return read_channel(channel, plans_of(session), "channel")
