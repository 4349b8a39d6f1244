"""What heats are planned from: the field, who could fly with what, the heats there are, the loans beside them."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.errors import Refused
from meetapp.flows.heats.heat_rows import SeatKit, current_plan, read_heats, seat_rows
from meetapp.flows.planning.planned_set import read_plan
from meetapp.flows.snapshot import Person, Snapshot, TokenNow
from meetapp.rules.heats import Heat, HeatList, Seat, on_air
from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.heats import HeatPilot
from meetapp.spectrum.tuning import Setting
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class PlanNow:
    """The plan that a meet flies by: what was asked for, and what was proven when it was made. See `t.HeatPlan`."""

    size: int
    rounds: int
    pads: int | None
    heats_per_round: int
    heats_bound: int
    heats_proven: bool
    channel_changes: int
    changes_bound: int
    changes_proven: bool
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Flyer:
    """A pilot as the planner sees them, with the token that each frequency belongs to. `name`: no other has it."""

    person: Person
    name: str
    settings: tuple[Setting, ...]
    token_of: Mapping[int, int]

    @property
    def width_mhz(self) -> float:
        """The occupied width of what they fly today."""
        assert self.person.kit is not None  # whoever has no transmitter is no flyer
        return self.person.kit.width_mhz

    def as_pilot(self, set_mhz: int | None) -> HeatPilot:
        """The same for the planner; `set_mhz`: what they have flown on today."""
        assert self.person.kit is not None
        return HeatPilot(self.name, self.settings, self.width_mhz, set_mhz, self.person.kit.wake_mhz)

    def kit_for(self, mhz: int) -> SeatKit:
        """What a seat of theirs on this frequency stands for."""
        assert self.person.kit is not None
        return SeatKit(self.person.kit.transmitter_id, self.token_of[mhz], self.width_mhz)


@dataclass(frozen=True, slots=True)
class Ground:
    """A meet for its heats. `flyers`: those who are coming or there, with a transmitter, by id in order of names.

    `no_transmitter`: the names of those of whom nobody has said what they fly. `here`: who is checked in. `names`: of
    the flyers and of everybody with a seat. `seat_kits`: what a seat stands for, by heat id and pilot id.
    """

    snapshot: Snapshot
    flyers: Mapping[int, Flyer]
    no_transmitter: tuple[str, ...]
    here: frozenset[int]
    names: Mapping[int, str]
    heats: HeatList
    seat_kits: Mapping[tuple[int, int], SeatKit]
    plan: PlanNow | None

    @property
    def pads(self) -> int | None:
        """Places on the start line of the heats there are; None: as many as each needs."""
        return self.plan.pads if self.plan else None

    def beside(self, pilot_ids: Collection[int]) -> tuple[Carrier, ...]:
        """What is on air beside the heats of these pilots: ground transmitters, and loans of others."""
        in_heats = {seat.pilot_id for seat in on_air(self.heats)}.union(pilot_ids)
        return tuple(loan.carrier for loan in self.snapshot.on_air if loan.pilot_id not in in_heats)

    def kit_of(self, seat: Seat) -> SeatKit:
        """What a new or changed seat stands for."""
        return self.flyers[seat.pilot_id].kit_for(seat.mhz)

    def kit_at(self, heat: Heat, seat: Seat) -> SeatKit:
        """What a seat stands for: in a heat to come, what the pilot flies today; else what they flew."""
        flyer = self.flyers.get(seat.pilot_id)
        if heat.state == "planned" and flyer is not None and seat.mhz in flyer.token_of:
            return flyer.kit_for(seat.mhz)
        return self.seat_kits[heat.heat_id, seat.pilot_id]


def read_ground(session: Session, meet: t.Meet, now: datetime) -> Ground:
    """Read a meet for its heats, in one transaction."""
    plan = read_plan(session, meet, now)
    snapshot = plan.snapshot
    able = [person for person in plan.people if person.kit is not None]
    names = _names_apart(able)
    usable = [token for token in snapshot.tokens if token.state in ("in", "out")]
    flyers = [_flyer(snapshot, person, names[person.pilot_id], usable) for person in able]
    heats = read_heats(session, meet.id)
    seat_kits = {
        (heat_id, row.pilot_id): SeatKit(row.transmitter_id, row.token_id, row.width_mhz)
        for heat_id, rows in seat_rows(session, [heat.heat_id for heat in heats]).items()
        for row in rows
    }
    return Ground(
        snapshot=snapshot,
        flyers={flyer.person.pilot_id: flyer for flyer in sorted(flyers, key=lambda each: each.name.casefold())},
        no_transmitter=tuple(person.board_name for person in plan.people if person.kit is None),
        here=frozenset(person.pilot_id for person in plan.people if person.is_present),
        names={pilot_id: session.get_one(t.Pilot, pilot_id).board_name for _heat_id, pilot_id in seat_kits} | names,
        heats=heats,
        seat_kits=seat_kits,
        plan=_plan_now(current_plan(session, meet.id)),
    )


def _plan_now(row: t.HeatPlan | None) -> PlanNow | None:
    return None if row is None else PlanNow(**{name: getattr(row, name) for name in PlanNow.__dataclass_fields__})


def _names_apart(people: Iterable[Person]) -> dict[int, str]:
    """Board names, with the number of the pilot behind those that two have."""
    listed = list(people)
    times = Counter(person.board_name for person in listed)
    return {
        person.pilot_id: person.board_name
        if times[person.board_name] == 1
        else f"{person.board_name} ({person.name}, {person.pilot_id})"
        for person in listed
    }


def _flyer(snapshot: Snapshot, person: Person, name: str, usable: Iterable[TokenNow]) -> Flyer:
    settings: dict[int, Setting] = {}
    token_of: dict[int, TokenNow] = {}
    for token in usable:
        setting = snapshot.setting(person, token.nominal_mhz)
        if setting is None:
            continue
        before = token_of.get(setting.mhz)
        if before is None or abs(token.nominal_mhz - setting.mhz) < abs(before.nominal_mhz - setting.mhz):
            settings[setting.mhz], token_of[setting.mhz] = setting, token
    return Flyer(person, name, tuple(settings.values()), {mhz: token.token_id for mhz, token in token_of.items()})


def check_can_be_planned(ground: Ground, pilot_ids: Collection[int]) -> None:
    """Raise Refused where the meet has no channels or floors yet, or where two could end up with one token."""
    snapshot = ground.snapshot
    if not snapshot.tokens:
        raise Refused("This meet has no channels yet.", "Choose the channels first.")
    if snapshot.floors.spacing_mhz <= 0:
        raise Refused("This meet has no spacing floor yet.", "Choose the channels first, or set the floor.")
    narrowest = min((ground.flyers[pilot_id].width_mhz for pilot_id in pilot_ids), default=REFERENCE_WIDTH_MHZ)
    apart = spacing_between(Carrier(0, narrowest), Carrier(2 * snapshot.pull_mhz, narrowest))
    if apart >= snapshot.floors.spacing_mhz:
        raise Refused(
            f"The spacing floor is {snapshot.floors.spacing_mhz:g} MHz and the pull {snapshot.pull_mhz} MHz: "
            f"two pilots could be up with one token, set {2 * snapshot.pull_mhz} MHz apart.",
            "Heats need a spacing floor above twice the pull: change one of them in the meet's details.",
        )
