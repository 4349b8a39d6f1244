"""The transmitters of a club's pilots as the sums see them, each as its kind says, and the plans they are tuned by."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from sqlalchemy import bindparam
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from meetapp.rules.setting_card_text import parse_card
from meetapp.rules.setting_cards import Card, ToDo
from meetapp.spectrum.channels import Channel, ChannelPlan
from meetapp.spectrum.tuning import Tuning, parse_tuning
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.kept import keep

PLAN_TABLES = (t.ChannelPlanRow, t.PlanChannel)
KIT_TABLES = (t.PilotTransmitter, t.TransmitterKind, *PLAN_TABLES)
"""The tables behind plans, and behind kits."""


@dataclass(frozen=True, slots=True)
class Kit:
    """A transmitter as the sums see it. `goggles` None: they receive all that it makes. `wake_mhz` None: unknown."""

    transmitter_id: int
    kind_id: int
    name: str
    tuning: Tuning
    goggles: Tuning | None
    width_mhz: float
    power_steps_mw: tuple[float, ...]
    wake_mhz: int | None
    moves_by_itself: bool
    sets_silently: bool
    goggles_transmit: bool
    setting_hint: str
    card: Card | None = None

    def to_do(self, label: str, mhz: int) -> ToDo | None:
        """What is switched, pressed or chosen on it for a setting; None where nobody has told."""
        return self.card.to_do(card_key(label), mhz) if self.card else None


def card_key(label: str) -> str:
    """The name under which a setting card knows a setting: its channel, or its MHz as digits.

    >>> card_key("R1"), card_key("5740 MHz")
    ('R1', '5740')
    """
    return label.removesuffix(" MHz")


def plans_of(session: Session) -> tuple[ChannelPlan, ...]:
    """The club's channel plans as the sums see them."""
    return keep(session, "plans", lambda: _read_plans(session), of=PLAN_TABLES)


def _read_plans(session: Session) -> tuple[ChannelPlan, ...]:
    return tuple(
        ChannelPlan(
            plan.letter,
            plan.name,
            tuple(Channel(plan.letter, row.number, row.mhz) for row in channels),
            plan.source,
        )
        for plan, channels in queries.channel_plans(session)
        if channels
    )


_OWN = (
    columns(
        col(t.PilotTransmitter.id),
        col(t.PilotTransmitter.pilot_id),
        col(t.PilotTransmitter.kind_id),
        col(t.PilotTransmitter.nickname),
        col(t.PilotTransmitter.wake_mhz),
    )
    .where(
        col(t.PilotTransmitter.retired_at).is_(None),
        col(t.PilotTransmitter.pilot_id).in_(bindparam("pilot_ids", expanding=True)),
    )
    .order_by(col(t.PilotTransmitter.id))
)


def kits_of(session: Session, pilot_ids: Collection[int], plans: tuple[ChannelPlan, ...]) -> dict[int, tuple[Kit, ...]]:
    """The transmitters (not the retired ones) of pilots, by pilot id, the oldest first."""
    kinds = keep(session, "kinds", lambda: _read_kinds(session, plans), of=(t.TransmitterKind, *PLAN_TABLES))
    kits: dict[int, tuple[Kit, ...]] = {}
    for own_id, pilot_id, kind_id, nickname, wake_mhz in session.execute(_OWN, {"pilot_ids": list(pilot_ids)}):
        kind = kinds[kind_id]
        kit = replace(kind, transmitter_id=own_id, name=_kit_name(nickname, kind.name), wake_mhz=wake_mhz)
        kits[pilot_id] = (*kits.get(pilot_id, ()), kit)
    return kits


def kit_from(own: t.PilotTransmitter, kind: t.TransmitterKind, plans: tuple[ChannelPlan, ...]) -> Kit:
    """One transmitter of a pilot with what its kind says."""
    kit = _of_kind(kind, plans)
    return replace(kit, transmitter_id=own.id, name=_kit_name(own.nickname, kind.name), wake_mhz=own.wake_mhz)


def _read_kinds(session: Session, plans: tuple[ChannelPlan, ...]) -> Mapping[int, Kit]:
    """What each kind says of its transmitters, with the kind's name and nobody's transmitter."""
    return {kind.id: _of_kind(kind, plans) for kind in session.exec(select(t.TransmitterKind))}


def _of_kind(kind: t.TransmitterKind, plans: tuple[ChannelPlan, ...]) -> Kit:
    return Kit(
        transmitter_id=0,
        kind_id=kind.id,
        name=kind.name,
        tuning=_parsed(kind.tuning, plans),
        goggles=_parsed(kind.goggles, plans) if kind.goggles else None,
        width_mhz=kind.width_mhz,
        power_steps_mw=tuple(float(step) for step in kind.power_steps_mw.split()),
        wake_mhz=None,
        moves_by_itself=kind.moves_by_itself,
        sets_silently=kind.sets_silently,
        goggles_transmit=kind.goggles_transmit,
        setting_hint=kind.setting_hint,
        card=_parsed_card(kind.setting_card) if kind.setting_card else None,
    )


def _kit_name(nickname: str, kind: str) -> str:
    return f"{nickname} ({kind})" if nickname else kind


# Every page parses the same dozen texts; plans and texts are values, so what they parse to may be kept.
_parsed = lru_cache(maxsize=256)(parse_tuning)
_parsed_card = lru_cache(maxsize=256)(parse_card)
