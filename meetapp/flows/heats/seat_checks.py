"""Which tokens of a heat can go out now, and why the others can't: decided for the whole heat at once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session

from meetapp.flows.errors import MeetError
from meetapp.flows.heats.field_heats import FieldHeats
from meetapp.flows.heats.heat_rows import SeatKit
from meetapp.flows.heats.heat_words import listed
from meetapp.flows.loans import air_plan
from meetapp.flows.loans.air_plan import AirPlan, Wish
from meetapp.flows.loans.giving import snapshot_without
from meetapp.flows.loans.wording import check_step, check_there, holds_since, person_at, token_at
from meetapp.flows.snapshot import OnAir, Person, Snapshot, TokenNow
from meetapp.rules import loans as rules
from meetapp.rules.heats import Heat, Seat
from meetapp.rules.loans import Held
from meetapp.spectrum.floors import shortfalls
from meetapp.spectrum.heats import most_that_fit


@dataclass(frozen=True, slots=True)
class Going:
    """A seat whose token can go out. `plan.broken`: the floors it would break, if it is one that doesn't fit.

    `leaving`: the pilot holds this very token beside the heats; that loan ends and the one of the heat begins.
    `because`: with whom it doesn't fit, in names.
    """

    seat: Seat
    person: Person
    token: TokenNow
    plan: AirPlan
    leaving: OnAir | None = None
    because: tuple[str, ...] = ()

    @property
    def why(self) -> str:
        """Why it doesn't fit, in words; '' where it does."""
        if not self.plan.broken:
            return ""
        whom = f"because of {listed(self.because)}: " if self.because else ""
        return f"{whom}{self.plan.broken[0]}"


@dataclass(frozen=True, slots=True)
class Staying:
    """A seat whose token can't go out, whatever reason is written down."""

    seat: Seat
    who: str
    why: str


@dataclass(frozen=True, slots=True)
class Sorted:
    """The seats of a heat: those that go, those that don't fit the floors beside what is up, those that can't go."""

    going: tuple[Going, ...]
    too_near: tuple[Going, ...]
    staying: tuple[Staying, ...]


def sort_seats(session: Session, field: FieldHeats, heat: Heat, seats: Sequence[Seat]) -> Sorted:
    """Which of these seats of a heat can go out beside what is on air.

    As many go as keep the floors together; of equally many, those whose places on the start line come first.
    """
    snapshot = field.snapshot
    able: list[Going] = []
    staying: list[Staying] = []
    for seat in seats:
        try:
            able.append(_going(session, field, seat, field.kits[heat.heat_id, seat.pilot_id]))
        except MeetError as error:
            who = snapshot.people[seat.pilot_id].board_name if seat.pilot_id in snapshot.people else "This pilot"
            staying.append(Staying(seat, who, error.message.removesuffix(".")))
    beside = snapshot_without_all(snapshot, [each.leaving for each in able if each.leaving])
    fit = most_that_fit(beside.carriers, [each.plan.carrier for each in able], snapshot.floors, snapshot.neighbours)
    going = [able[place] for place in fit]
    left = [each for place, each in enumerate(able) if place not in fit]
    return Sorted(tuple(going), tuple(_judged(beside, going, each) for each in left), tuple(staying))


def snapshot_without_all(snapshot: Snapshot, leaving: Iterable[OnAir]) -> Snapshot:
    """The same meet without some loans on air."""
    for loan in leaving:
        snapshot = snapshot_without(snapshot, loan)
    return snapshot


def _going(session: Session, field: FieldHeats, seat: Seat, kit: SeatKit) -> Going:
    snapshot = field.snapshot
    person, token = person_at(snapshot, seat.pilot_id), token_at(snapshot, kit.token_id)
    check_there(person)
    own = snapshot.loan_of(seat.pilot_id)
    if own is not None and seat.pilot_id in field.up_late:
        raise MeetError(f"{person.board_name} is still up and {holds_since(snapshot, own)}.")
    leaving = own if own is not None and own.token_id == token.token_id else None
    beside = snapshot_without(snapshot, leaving)
    held = Held(0, token.token_id, person.pilot_id, snapshot.now)
    check_step(beside, rules.hand_out(beside.rules_field(), held), token.token_id, person.pilot_id)
    power_mw = leaving.power_mw if leaving and leaving.transmitter_id == kit.transmitter_id else None
    wish = Wish(kit.transmitter_id, seat.mhz, power_mw)
    plan = air_plan.plan_for(session, beside, person, token, wish, passes_nobody=True)
    return Going(seat, person, token, replace(plan, broken=()), leaving)


def _judged(beside: Snapshot, going: Sequence[Going], left: Going) -> Going:
    """The same seat with what it would break beside what is on air and those who go."""
    carriers = [*beside.carriers, *(each.plan.carrier for each in going)]
    broken = shortfalls(carriers, left.plan.carrier, beside.floors, beside.neighbours)
    near = [mhz for shortfall in broken[:1] for mhz in shortfall.with_mhz]
    return replace(
        left,
        plan=replace(left.plan, broken=tuple(each.sentence for each in broken)),
        because=tuple(dict.fromkeys(who for mhz in near for who in _who_is_on(beside, going, mhz))),
    )


def _who_is_on(beside: Snapshot, going: Sequence[Going], mhz: int) -> list[str]:
    on_air = [loan.who for loan in beside.on_air if loan.mhz == mhz]
    return [*on_air, *(each.person.board_name for each in going if each.plan.setting.mhz == mhz)]
