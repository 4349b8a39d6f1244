"""What a pilot sets on their transmitter: for the token they hold, or for one they may take."""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.flows.kits import Kit
from meetapp.flows.loans.air_words import large_label
from meetapp.flows.loans.power_words import power_words
from meetapp.flows.loans.suggestions import TokenChoice
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.snapshot import OnAir, Person, Snapshot
from meetapp.rules.setting_cards import ToDo
from meetapp.spectrum.carriers import Carrier


@dataclass(frozen=True, slots=True)
class ToSet:
    """What to set: `label` large, `on_transmitter` where the pilot's own transmitter calls it otherwise ('').

    `wake_words` '' where the picture has been seen already, `setting_hint` '' where the kind has none; `to_do` says
    where its setting card knows this channel what is switched, pressed or chosen.
    """

    label: str
    mhz: int
    on_transmitter: str
    wake_words: str
    setting_hint: str
    to_do: ToDo | None
    power_words: tuple[str, ...]


def to_set_of_loan(snapshot: Snapshot, person: Person, loan: OnAir, kits: Sequence[Kit]) -> ToSet:
    """What is set for an open loan, on that one of the pilot's transmitters which it was handed out for."""
    kit = next((kit for kit in kits if kit.transmitter_id == loan.transmitter_id), None)
    wakes = wake_words(
        snapshot,
        loan.wake_before_mhz,
        loan.mhz,
        loan.width_mhz,
        kit,
        person=person,
        loan_id=loan.loan_id,
    )
    power = power_words(snapshot, person, loan.carrier, loan.power_mw)
    return _to_set(snapshot, loan.label, loan.mhz, "" if loan.seen_at else wakes, kit, power)


def to_set_of_choice(snapshot: Snapshot, person: Person, choice: TokenChoice) -> ToSet:
    """What the pilot would set for a token they may take now, at the lowest step of today's transmitter."""
    kit = person.kit
    carrier = Carrier(choice.setting.mhz, kit.width_mhz) if kit else Carrier(choice.setting.mhz)
    power = power_words(snapshot, person, carrier, min(kit.power_steps_mw, default=None) if kit else None)
    return _to_set(snapshot, choice.setting.label, choice.setting.mhz, choice.wake_words, kit, power)


def _to_set(
    snapshot: Snapshot, label: str, mhz: int, wakes: str, kit: Kit | None, power: tuple[str, ...]
) -> ToSet:
    large = large_label(snapshot, label, mhz)
    return ToSet(
        label=large,
        mhz=mhz,
        on_transmitter=label if label != large else "",
        wake_words=wakes,
        setting_hint=kit.setting_hint if kit else "",
        to_do=kit.to_do(label, mhz) if kit else None,
        power_words=power,
    )
