"""What a transmitter wakes on, in words for the desk and for the pilot."""

from meetapp.flows.kits import Kit
from meetapp.flows.snapshot import Person, Snapshot
from meetapp.spectrum.bands import lies_within
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors, shortfalls
from meetapp.spectrum.tuning import setting_for

_BY_THE_CLUBS_RULE = "no power here before it is set by the club's rule"


def wake_words(
    snapshot: Snapshot,
    wake_mhz: int | None,
    set_mhz: int,
    width_mhz: float,
    kit: Kit | None,
    *,
    person: Person | None = None,
    loan_id: int | None = None,
    near: str = "",
) -> str:
    """What this transmitter comes up on, by its own names, and what to do about it before it is powered.

    `wake_mhz` None: nobody knows. `person`: whose band profile counts. `loan_id`: the pilot's own loan, which
    doesn't count against them. `near`: on or near whom it comes up, where the order of a heat has found that already.
    """
    if wake_mhz is not None and person and _is_outside_band(person, wake_mhz, width_mhz):
        words = _outside_band(snapshot, person, wake_mhz, kit) + (f"; on or near {near}" if near else "")
    elif wake_mhz is not None and near:
        words = f"wakes on {own_name(snapshot, kit, wake_mhz)}, on or near {near}: {_what_to_do(kit)}"
    else:
        words = _wake_part(snapshot, wake_mhz, set_mhz, width_mhz, kit, loan_id)
    return f"{words}; may change channel by itself: lock it" if kit and kit.moves_by_itself else words


def _wake_part(
    snapshot: Snapshot, wake_mhz: int | None, set_mhz: int, width_mhz: float, kit: Kit | None, loan_id: int | None
) -> str:
    if wake_mhz == set_mhz:
        return f"wakes on {own_name(snapshot, kit, set_mhz)}, already set"
    what_to_do = _what_to_do(kit)
    if wake_mhz is None:
        nobody_on_air = all(loan.loan_id == loan_id for loan in snapshot.on_air)
        return f"wake channel unknown: {'nobody else is on air now' if nobody_on_air else what_to_do}"
    name = own_name(snapshot, kit, wake_mhz)
    trouble = _trouble(snapshot, wake_mhz, width_mhz, loan_id)
    return f"wakes on {name}, {trouble}: {what_to_do}" if trouble else f"wakes on {name}: free now"


def _what_to_do(kit: Kit | None) -> str:
    return "set it silently first" if kit and kit.sets_silently else "wait, or set it at the far point first"


def _is_outside_band(person: Person, wake_mhz: int, width_mhz: float) -> bool:
    return bool(person.segments) and not lies_within(wake_mhz, width_mhz, person.segments)


def _outside_band(snapshot: Snapshot, person: Person, wake_mhz: int, kit: Kit | None) -> str:
    """Waiting doesn't help here, whoever is on air."""
    what_to_do = "set it silently first" if kit and kit.sets_silently else _BY_THE_CLUBS_RULE
    return f"wakes on {own_name(snapshot, kit, wake_mhz)}, outside the band profile '{person.band_name}': {what_to_do}"


def own_name(snapshot: Snapshot, kit: Kit | None, mhz: int) -> str:
    """What the transmitter itself calls a frequency (F8), else its name in the club's plans (R7)."""
    own = setting_for(mhz, 0, kit.tuning, None, snapshot.plans) if kit else None
    return own.label if own else snapshot.name_of(mhz)


def _trouble(snapshot: Snapshot, wake_mhz: int, width_mhz: float, loan_id: int | None) -> str:
    """What waking there would do to those on air now; '' where it keeps the floors with them."""
    others = [loan for loan in snapshot.on_air if loan.loan_id != loan_id]
    if any(loan.mhz == wake_mhz for loan in others):
        return "which is on air"
    carriers = [loan.carrier for loan in others]
    waking = Carrier(wake_mhz, width_mhz)
    too_close = shortfalls(carriers, waking, Floors(snapshot.floors.spacing_mhz, None))
    if too_close:
        near = too_close[0].with_mhz[0]
        who = next(loan for loan in others if loan.mhz == near)
        return f"too close to {who.who} on {snapshot.name_of(near)}"
    return "which disturbs those on air" if shortfalls(carriers, waking, snapshot.floors) else ""
