"""The moment after a call: who switches on when, what each wakes on then, and the clashes that no order avoids."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from meetapp.flows.heats.field_heats import FieldHeats
from meetapp.flows.heats.heat_words import listed
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.snapshot import Kit, OnAir, Snapshot
from meetapp.spectrum.heats import PowerUp, WakeClash, power_up_order


@dataclass(frozen=True, slots=True)
class PowerStep:
    """One pilot of the heat in the air: the place in the order, and what their transmitter comes up on then.

    `wakes` '' once their picture was seen: they are up.
    """

    place: int
    loan: OnAir
    wakes: str

    @property
    def is_up(self) -> bool:
        """Whether their picture has been seen."""
        return self.loan.seen_at is not None


@dataclass(frozen=True, slots=True)
class PowerMoment:
    """The pilots in the order in which they switch on; `clash`: a sentence about what no order avoids, else ''."""

    steps: tuple[PowerStep, ...]
    clash: str

    def step_of(self, pilot_id: int) -> PowerStep | None:
        """The step of a pilot who has a token of the heat."""
        return next((step for step in self.steps if step.loan.pilot_id == pilot_id), None)


def power_moment(field: FieldHeats) -> PowerMoment:
    """In which order the heat in the air powers up, so that as few as can be wake on a channel that is on air.

    Those whose picture was seen come first: they are up. The others follow in the order of `power_up_order`.
    """
    snapshot = field.snapshot
    up = sorted((loan for loan in field.out if loan.seen_at is not None), key=_seen_at)
    down = {str(loan.loan_id): loan for loan in field.out if loan.seen_at is None}
    beside = tuple(loan for loan in snapshot.on_air if loan not in field.out)
    on_air = tuple(loan.carrier for loan in (*beside, *up))
    entries = tuple(_entry(snapshot, name, loan) for name, loan in down.items())
    order = _order(entries, on_air, snapshot.floors.spacing_mhz)
    in_order = [*up, *(down[name] for name in order.pilots)]
    steps = [
        PowerStep(place, loan, "" if loan.seen_at else _wakes(snapshot, loan, (*beside, *in_order[: place - 1])))
        for place, loan in enumerate(in_order, start=1)
    ]
    return PowerMoment(tuple(steps), _clash_words(snapshot, [(down[each.pilot], each) for each in order.clashes]))


# Every look at a page asks for the same order until somebody is up.
_order = lru_cache(maxsize=64)(power_up_order)


def _seen_at(loan: OnAir) -> float:
    return loan.seen_at.timestamp() if loan.seen_at else 0


def _entry(snapshot: Snapshot, name: str, loan: OnAir) -> PowerUp:
    # What is set without power wakes on what it is set to.
    wake = loan.mhz if _sets_silently(snapshot, loan) else loan.wake_before_mhz
    return PowerUp(name, loan.mhz, loan.width_mhz, wake)


def _sets_silently(snapshot: Snapshot, loan: OnAir) -> bool:
    kit = _kit(snapshot, loan)
    return kit is not None and kit.sets_silently


def _kit(snapshot: Snapshot, loan: OnAir) -> Kit | None:
    """What a pilot flies in the heat; a token that goes out makes it today's transmitter."""
    person = snapshot.people.get(loan.pilot_id or 0)
    return person.kit if person and person.kit and person.kit.transmitter_id == loan.transmitter_id else None


def _wakes(snapshot: Snapshot, loan: OnAir, before: Sequence[OnAir]) -> str:
    then, person = replace(snapshot, on_air=tuple(before)), snapshot.people.get(loan.pilot_id or 0)
    return wake_words(
        then, loan.wake_before_mhz, loan.mhz, loan.width_mhz, _kit(snapshot, loan), person=person
    )


def _clash_words(snapshot: Snapshot, clashes: Sequence[tuple[OnAir, WakeClash]]) -> str:
    if not clashes:
        return ""
    unknown = [loan.who for loan, clash in clashes if clash.wake_mhz is None]
    told = [_one_clash(snapshot, loan, clash.wake_mhz, clash) for loan, clash in clashes if clash.wake_mhz is not None]
    if unknown:
        told.append(f"nobody knows what {listed(unknown)} {'wakes' if len(unknown) == 1 else 'wake'} on")
    whoever = clashes[0][0].who if len(clashes) == 1 else "Each of them"
    what_to_do = f"{whoever} sets the channel at the far point first, then comes back."
    return f"No order avoids this: {'; '.join(told)}. {what_to_do}"


def _one_clash(snapshot: Snapshot, loan: OnAir, wake_mhz: int, clash: WakeClash) -> str:
    near = [other.who for other in snapshot.on_air if other.mhz in clash.on_air_mhz and other is not loan]
    return f"{loan.who} wakes on {snapshot.name_of(wake_mhz)}, on or near {listed(list(dict.fromkeys(near)))}"
