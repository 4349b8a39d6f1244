"""The setting card of a kind on paper: every channel of it, or those of a meet's tokens."""

from dataclasses import dataclass

from sqlmodel import Session

from meetapp.flows.club.named_rows import KINDS, row_of
from meetapp.flows.club.setting_cards import channels_of
from meetapp.flows.errors import Refused
from meetapp.flows.kits import card_key, plans_of
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.rules.setting_card_text import parse_card
from meetapp.rules.setting_cards import Card, Menu, ToDo
from meetapp.spectrum.tuning import Tuning, parse_tuning, setting_for
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class ChannelToPrint:
    """One channel on the card: its name on the transmitter, its MHz, and what is done for it (None: nobody told)."""

    name: str
    mhz: int
    to_do: ToDo | None


@dataclass(frozen=True, slots=True)
class CardToPrint:
    """A setting card. `meet_name` '': it has every channel of the kind."""

    club_name: str
    kind_name: str
    meet_name: str
    hint: str
    card: Card
    channels: tuple[ChannelToPrint, ...]


def card_to_print(store: Store, kind_id: int, meet_id: int | None = None) -> CardToPrint:
    """What stands on a kind's card.

    Raises:
        NotFound: no such kind or meet.
        Refused: nobody has told how it is set, or it can't make a single token of the meet.
    """
    with store.read() as session:
        kind: t.TransmitterKind = row_of(session, KINDS, kind_id)
        if not kind.setting_card:
            raise Refused(f"'{kind.name}' has no setting card yet.", "Tell first how its channels are set.")
        card = parse_card(kind.setting_card)
        meet = find_meet(session, meet_id) if meet_id is not None else None
        tuning = parse_tuning(kind.tuning, plans_of(session))
        told = _of_meet(session, kind, tuning, meet) if meet else channels_of(tuning)
        if isinstance(card, Menu) and meet is None:
            told = _named_or_few(tuning)
        return CardToPrint(
            club_name=session.get_one(t.Club, 1).name,
            kind_name=kind.name,
            meet_name=meet.name if meet else "",
            hint=kind.setting_hint,
            card=card,
            channels=tuple(ChannelToPrint(name, mhz, card.to_do(name, mhz)) for name, mhz in told.items()),
        )


def _named_or_few(tuning: Tuning) -> dict[str, int]:
    """The channels without the ranges: nobody looks one of hundreds of frequencies up on a card."""
    return channels_of(Tuning(tuning.channels, tuning.frequencies_mhz))


def _of_meet(session: Session, kind: t.TransmitterKind, tuning: Tuning, meet: t.Meet) -> dict[str, int]:
    """What a transmitter of this kind is set to for each token of a meet that it can serve."""
    plans = plans_of(session)
    goggles = parse_tuning(kind.goggles, plans) if kind.goggles else None
    settings = [
        setting_for(token.nominal_mhz, meet.pull_mhz, tuning, goggles, plans)
        for token in queries.meet_tokens(session, meet.id)
        if token.state != "withdrawn"
    ]
    told = {card_key(setting.label): setting.mhz for setting in settings if setting is not None}
    if not told:
        raise Refused(
            f"'{kind.name}' can't make a single token of '{meet.name}'.",
            "Print every channel, or choose another meet.",
            field="meet",
        )
    return told
