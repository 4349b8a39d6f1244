"""The moment after a call: who switches on when, what each wakes on then, and the clashes that no order avoids."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from meetapp.flows.heats.field_heats import FieldHeats
from meetapp.flows.heats.heat_words import listed
from meetapp.flows.kits import Kit
from meetapp.flows.loans.wake import own_name, wake_words
from meetapp.flows.snapshot import OnAir, Snapshot
from meetapp.spectrum.heats import PowerUp, WakeClash, power_up_order


@dataclass(frozen=True, slots=True)
class PowerStep:
    """One pilot of the heat in the air: the place in the order, and what their transmitter comes up on then.

    `wakes` '' once their picture was seen: they are up. Whoever held the token before the call counts as on air too.
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

    Those whose picture was seen come first: they are up. So may those be who held their token before the call. The
    others follow in the order of `power_up_order`.
    """
    snapshot = field.snapshot
    up = sorted((loan for loan in field.out if loan.seen_at is not None), key=_seen_at)
    unseen = [loan for loan in field.out if loan.seen_at is None]
    held = [loan for loan in unseen if loan.loan_id in field.held_before]
    down = {str(loan.loan_id): loan for loan in unseen if loan not in held}
    beside = tuple(loan for loan in snapshot.on_air if loan not in field.out)
    on_air = tuple(loan.carrier for loan in (*beside, *up, *held))
    entries = tuple(_entry(snapshot, name, loan) for name, loan in down.items())
    order = _order(entries, on_air, snapshot.floors.spacing_mhz)
    in_order = [*up, *held, *(down[name] for name in order.pilots)]
    clashes = {each.pilot: each for each in order.clashes}
    steps: list[PowerStep] = []
    told: list[_Clash] = []
    for place, loan in enumerate(in_order, start=1):
        before = (*beside, *in_order[: place - 1])
        clash = _clash(loan, before, clashes.get(str(loan.loan_id)))
        told += [clash] if clash else []
        already = "" if loan.seen_at else "already on air" if loan in held else None
        steps.append(PowerStep(place, loan, _wakes(snapshot, loan, before, clash) if already is None else already))
    return PowerMoment(tuple(steps), _clash_words(snapshot, told))


@dataclass(frozen=True, slots=True)
class _Clash:
    """Somebody who wakes on or near others who are up by then (by name). `wake_mhz` None: nobody knows on what."""

    loan: OnAir
    wake_mhz: int | None
    near: str


def _clash(loan: OnAir, before: Sequence[OnAir], found: WakeClash | None) -> _Clash | None:
    if found is None:
        return None
    near = dict.fromkeys(other.who for other in before if other.mhz in found.on_air_mhz)
    return _Clash(loan, found.wake_mhz, listed(list(near)))


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


def _wakes(snapshot: Snapshot, loan: OnAir, before: Sequence[OnAir], clash: _Clash | None) -> str:
    known = clash if clash and clash.wake_mhz is not None else None
    wake_mhz, near = (known.wake_mhz, known.near) if known else (loan.wake_before_mhz, "")
    then, person = replace(snapshot, on_air=tuple(before)), snapshot.people.get(loan.pilot_id or 0)
    return wake_words(then, wake_mhz, loan.mhz, loan.width_mhz, _kit(snapshot, loan), person=person, near=near)


def _clash_words(snapshot: Snapshot, clashes: Sequence[_Clash]) -> str:
    if not clashes:
        return ""
    unknown = [clash.loan.who for clash in clashes if clash.wake_mhz is None]
    told = [
        f"{clash.loan.who} wakes on {own_name(snapshot, _kit(snapshot, clash.loan), clash.wake_mhz)}, "
        f"on or near {clash.near}"
        for clash in clashes
        if clash.wake_mhz is not None
    ]
    if unknown:
        told.append(f"nobody knows what {listed(unknown)} {'wakes' if len(unknown) == 1 else 'wake'} on")
    whoever = clashes[0].loan.who if len(clashes) == 1 else "Each of them"
    what_to_do = f"{whoever} sets the channel at the far point first, then comes back."
    return f"No order avoids this: {'; '.join(told)}. {what_to_do}"
