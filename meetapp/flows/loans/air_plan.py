"""What a hand-out would put on air: the setting, the power, and what speaks against it.

Read with the meet's row locked, so that two hand-outs at the same moment are judged one after the other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Forbidden, Refused
from meetapp.flows.kits import Kit, kits_of
from meetapp.flows.loans.who_waits import HeldBack, held_from, why_no_setting
from meetapp.flows.snapshot import Person, Snapshot, TokenNow
from meetapp.spectrum.bands import lies_within, segment_around
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import shortfalls
from meetapp.spectrum.tuning import Setting, setting_for

REASON_MIN = 3


@dataclass(frozen=True, slots=True)
class AirPlan:
    """One transmitter about to go on air.

    `broken` says which floors it would break, `held` for whom its token is held back: both need a written reason.
    `warning` is only said. `person`: the pilot (None: a ground or camera transmitter).
    """

    kit: Kit | None
    setting: Setting
    width_mhz: float
    power_mw: float | None
    broken: tuple[str, ...]
    held: HeldBack | None = None
    warning: str = ""
    person: Person | None = None

    @property
    def objections(self) -> tuple[str, ...]:
        """Everything that speaks against it, in words."""
        return (*self.broken, self.held.words) if self.held else self.broken

    @property
    def carrier(self) -> Carrier:
        """What the sums see of it."""
        return Carrier(self.setting.mhz, self.width_mhz)

    @property
    def facts(self) -> dict[str, Any]:
        """What the journal keeps of it."""
        return {
            "transmitter": self.kit.transmitter_id if self.kit else None,
            "label": self.setting.label,
            "mhz": self.setting.mhz,
            "width_mhz": self.width_mhz,
            "power_mw": self.power_mw,
            "wake_mhz": self.kit.wake_mhz if self.kit else None,
        }


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for beyond the token: None means today's transmitter, the nearest frequency, the lowest step."""

    transmitter_id: int | None = None
    mhz: int | None = None
    power_mw: float | None = None


def plan_for(
    session: Session,
    snapshot: Snapshot,
    person: Person,
    token: TokenNow,
    wish: Wish,
    *,
    leaving_loan_id: int | None = None,
    passes_nobody: bool = False,
) -> AirPlan:
    """What this pilot would put on air with this token, and what speaks against it.

    `leaving_loan_id`: the loan that ends with it. `passes_nobody`: nobody in the line is passed by it.
    Raises: Refused where their transmitter can't, or where it is too strong for the meet.
    """
    kit = chosen_kit(session, snapshot, person, wish.transmitter_id)
    setting = chosen_setting(snapshot, person, kit, token, wish.mhz)
    power_mw = chosen_power(snapshot, kit, wish.power_mw)
    carrier = Carrier(setting.mhz, kit.width_mhz)
    broken = broken_floors(snapshot, carrier, leaving_loan_id)
    held = None if passes_nobody else held_from(snapshot, person, leaving_loan_id)
    return AirPlan(
        kit,
        setting,
        kit.width_mhz,
        power_mw,
        broken,
        held if held is not None and token.token_id in held.token_ids else None,
        power_warning(person, carrier, power_mw),
        person,
    )


def ground_plan(
    snapshot: Snapshot,
    name: str,
    carrier: Carrier,
    power_mw: float | None,
    token: TokenNow | None,
    *,
    leaving_loan_id: int | None = None,
) -> AirPlan:
    """What a ground or camera transmitter would put on air, and what speaks against it.

    Raises: Refused where it is too far from its token, or too strong for the meet.
    """
    if token is not None:
        check_within_pull(snapshot, token, carrier.mhz)
    check_ceiling(snapshot, name, power_mw, None)
    setting = Setting(snapshot.name_of(carrier.mhz), carrier.mhz)
    broken = broken_floors(snapshot, carrier, leaving_loan_id)
    if snapshot.site_segments and not lies_within(carrier.mhz, carrier.width_mhz, snapshot.site_segments):
        broken = (*broken, f"{carrier.mhz} MHz lies outside the band profile of this site")
    held = held_from(snapshot, None) if token is not None and leaving_loan_id is None else None
    is_held = token is not None and held is not None and token.token_id in held.token_ids
    return AirPlan(None, setting, carrier.width_mhz, power_mw, broken, held if is_held else None)


def broken_floors(snapshot: Snapshot, carrier: Carrier, leaving_loan_id: int | None = None) -> tuple[str, ...]:
    """What a carrier would break among those on air and the neighbours, in words. The leaving loan doesn't count."""
    others = [loan.carrier for loan in snapshot.on_air if loan.loan_id != leaving_loan_id]
    return tuple(each.sentence for each in shortfalls(others, carrier, snapshot.floors, snapshot.neighbours))


def chosen_kit(session: Session, snapshot: Snapshot, person: Person, transmitter_id: int | None) -> Kit:
    """The pilot's transmitter with this id, or today's. Raises Refused where there is none."""
    if transmitter_id is None:
        if person.kit is None:
            raise Refused(
                f"Nobody has said yet which transmitter {person.board_name} flies today.",
                "Choose it on their check-in page.",
                field="transmitter_id",
            )
        return person.kit
    own = kits_of(session, [person.pilot_id], snapshot.plans).get(person.pilot_id, ())
    kit = next((kit for kit in own if kit.transmitter_id == transmitter_id), None)
    if kit is None:
        raise Refused(
            f"This transmitter isn't one of {person.board_name}'s.", "Choose one of theirs.", field="transmitter_id"
        )
    return kit


def chosen_setting(snapshot: Snapshot, person: Person, kit: Kit, token: TokenNow, mhz: int | None) -> Setting:
    """What to set for the token: the nearest, or this frequency if it lies within the pull. Raises Refused."""
    if mhz is None:
        setting = snapshot.setting(person, token.nominal_mhz, kit)
        if setting is None:
            why = why_no_setting(snapshot, person, kit, token.nominal_mhz)
            raise Refused(f"{token.label} is not for {person.board_name}: {why}.", "Take another token.")
        return setting
    check_within_pull(snapshot, token, mhz)
    setting = _setting_at(snapshot, person, kit, mhz)
    if setting is None:
        raise Refused(f"{person.board_name} can't set {mhz} MHz on {kit.name}.", "Choose another one.", field="mhz")
    return setting


def check_within_pull(snapshot: Snapshot, token: TokenNow, mhz: int) -> None:
    """Raise Refused where a frequency is farther from a token's nominal one than the meet's pull."""
    if abs(mhz - token.nominal_mhz) > snapshot.pull_mhz:
        raise Refused(
            f"{mhz} MHz is too far from {token.label} ({token.nominal_mhz} MHz).",
            f"It must lie within {snapshot.pull_mhz} MHz of the token.",
            field="mhz",
        )


def settings_within_pull(snapshot: Snapshot, person: Person, kit: Kit, nominal_mhz: int) -> tuple[Setting, ...]:
    """Everything this pilot could set for a token, the nearest first."""
    reach = range(nominal_mhz - snapshot.pull_mhz, nominal_mhz + snapshot.pull_mhz + 1)
    nearest_first = sorted(reach, key=lambda mhz: abs(mhz - nominal_mhz))
    possible = (_setting_at(snapshot, person, kit, mhz) for mhz in nearest_first)
    return tuple(setting for setting in possible if setting is not None)


def _setting_at(snapshot: Snapshot, person: Person, kit: Kit, mhz: int) -> Setting | None:
    return setting_for(
        mhz,
        0,
        kit.tuning,
        kit.goggles,
        snapshot.plans,
        segments=person.segments or None,
        width_mhz=kit.width_mhz,
    )


def chosen_power(snapshot: Snapshot, kit: Kit, power_mw: float | None) -> float | None:
    """This power, or the lowest step of the transmitter. Raises Refused: no such step, or above the meet's ceiling."""
    steps = kit.power_steps_mw
    if power_mw is None:
        power_mw = min(steps, default=None)
    elif steps and power_mw not in steps:
        listed = ", ".join(f"{step:g}" for step in steps)
        raise Refused(f"{kit.name} has no step of {power_mw:g} mW.", f"It has {listed} mW.", field="power_mw")
    check_ceiling(snapshot, kit.name, power_mw, min(steps, default=None))
    return power_mw


def check_ceiling(snapshot: Snapshot, name: str, power_mw: float | None, lowest_mw: float | None) -> None:
    """Raise Refused where a power is above the meet's ceiling."""
    ceiling = snapshot.power_ceiling_mw
    if ceiling is None or power_mw is None or power_mw <= ceiling:
        return
    if power_mw == lowest_mw:
        raise Refused(
            f"{name} can't go below {power_mw:g} mW, and the ceiling of this meet is {ceiling:g} mW.",
            "Take another transmitter.",
            field="power_mw",
        )
    raise Refused(
        f"{power_mw:g} mW is above the ceiling of this meet, {ceiling:g} mW.", "Choose a lower step.", field="power_mw"
    )


def power_warning(person: Person, carrier: Carrier, power_mw: float | None) -> str:
    """A sentence where the pilot's band profile names less power there; '' otherwise."""
    segment = segment_around(carrier.mhz, carrier.width_mhz, person.segments)
    if power_mw is None or segment is None or segment.power_mw is None or power_mw <= segment.power_mw:
        return ""
    return f"The band profile '{person.band_name}' names {segment.power_mw:g} mW there, {power_mw:g} mW is set."


def check_objections(actor: Actor, what: str, objections: Sequence[str], reason: str) -> str:
    """The reason to write down for going on all the same; '' where nothing speaks against it.

    Raises:
        Refused: something does, and there is no reason.
        Forbidden: something does, and this person may not override it.
    """
    if not objections:
        return ""
    told = "; ".join(objections)
    if not actor.keeps_desk and reason.strip():
        raise Forbidden(f"{what}: {told}.", "Only the desk may go on all the same.")
    if not actor.keeps_desk:
        raise Refused(f"{what}: {told}.", "Take another token, or wait.")
    if len(reason.strip()) < REASON_MIN:
        raise Refused(
            f"{what}: {told}.",
            "Take another token, or write down why it goes out all the same.",
            field="override_reason",
        )
    return reason.strip()
