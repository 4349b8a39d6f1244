"""The heats of an open meet as its desk needs them: which is in the air, who is still up, who has had a token."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.deeds import Work
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.heats.heat_rows import SeatKit, current_plan, read_heats, save_heats, seat_rows
from meetapp.flows.loans.permissions import check_desk
from meetapp.flows.snapshot import OnAir, Snapshot, locked_snapshot, take_snapshot
from meetapp.rules.heats import Heat, HeatList, Seat
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.kept import keep

PAGE = "/desk/heats"
"""Where the desk runs its heats."""


@dataclass(frozen=True, slots=True)
class FieldHeats:
    """The heats in order of flying, beside the meet as it stands.

    `kits`: what a seat stands for, by heat id and pilot id. `called_at`: since when the called heat is called.
    `had_token`: the pilots to whom a token went out since then, whether they hold it still or not. `held_before`: the
    loans since then of pilots who held that token beside the heats already: they may be on air from before the call.
    """

    snapshot: Snapshot
    heats: HeatList
    kits: Mapping[tuple[int, int], SeatKit]
    called_at: datetime | None
    had_token: frozenset[int]
    held_before: frozenset[int]

    @property
    def called(self) -> Heat | None:
        """The heat in the air."""
        return next((heat for heat in self.heats if heat.state == "called"), None)

    @property
    def to_come(self) -> HeatList:
        """The heats still to be called that have somebody in them, in order of flying."""
        return tuple(heat for heat in self.heats if heat.state == "planned" and heat.seats)

    @property
    def late(self) -> tuple[tuple[Heat, OnAir], ...]:
        """Whoever has not landed yet from heats that are over, with the loan that stays out until they have."""
        found = ((heat, self.snapshot.loan_of(pilot_id)) for heat in self.heats for pilot_id in heat.still_up)
        return tuple((heat, loan) for heat, loan in found if loan is not None)

    @property
    def up_late(self) -> frozenset[int]:
        """The pilots among them."""
        return frozenset[int]().union(*(heat.still_up for heat in self.heats))

    @property
    def out(self) -> tuple[OnAir, ...]:
        """The loans of the heat in the air, in the order they went out."""
        if self.called is None or self.called_at is None:
            return ()
        since, pilots = self.called_at, self.called.pilots
        return tuple(loan for loan in self.snapshot.on_air if loan.pilot_id in pilots and loan.out_at >= since)

    @property
    def up(self) -> tuple[OnAir, ...]:
        """Everybody on air from the heats, the late ones first."""
        return (*(loan for _heat, loan in self.late), *self.out)

    @property
    def without_token(self) -> tuple[Seat, ...]:
        """The seats of the heat in the air whose pilots have had no token in it."""
        seats = self.called.seats if self.called else ()
        return tuple(seat for seat in seats if seat.pilot_id not in self.had_token)

    def heat(self, heat_id: int) -> Heat:
        """A heat by its id. Raises NotFound."""
        found = next((heat for heat in self.heats if heat.heat_id == heat_id), None)
        if found is None:
            raise NotFound("This heat isn't there.", "Look at the heats again: they may have been made anew.")
        return found

    def kit_of(self, seat: Seat) -> SeatKit:
        """What a seat stands for that repeats one of these."""
        for heat in self.heats:
            known = [*heat.seats, *(gap.seat for gap in heat.gaps)]
            if any((each.pilot_id, each.mhz) == (seat.pilot_id, seat.mhz) for each in known):
                return self.kits[heat.heat_id, seat.pilot_id]
        raise LookupError(f"no seat like {seat}")


def read_field_heats(session: Session, snapshot: Snapshot) -> FieldHeats:
    """The heats of the meet of a snapshot, in the same transaction."""
    field = keep(session, ("heats", snapshot.meet_id), lambda: _read_field_heats(session, snapshot))
    return replace(field, snapshot=snapshot)


def _read_field_heats(session: Session, snapshot: Snapshot) -> FieldHeats:
    meet_id = snapshot.meet_id
    planned = keep(session, ("planned", meet_id), lambda: _read_planned(session, meet_id), of=(t.Heat, t.HeatSeat))
    heats, kits, called_at = planned
    lent = queries.loans_since(session, snapshot.meet_id, called_at) if called_at else ()
    return FieldHeats(
        snapshot=snapshot,
        heats=heats,
        kits=kits,
        called_at=called_at,
        had_token=frozenset(loan.pilot_id for loan in lent if loan.pilot_id is not None),
        held_before=queries.loans_taken_over(session, snapshot.meet_id, called_at) if called_at else frozenset(),
    )


def _read_planned(
    session: Session, meet_id: int
) -> tuple[HeatList, Mapping[tuple[int, int], SeatKit], datetime | None]:
    """The heats, what each seat stands for, and since when one is called."""
    heats = read_heats(session, meet_id)
    seats = seat_rows(session, [heat.heat_id for heat in heats])
    called = next((heat for heat in heats if heat.state == "called"), None)
    kits = {
        (heat_id, row.pilot_id): SeatKit(row.transmitter_id, row.token_id, row.width_mhz)
        for heat_id, rows in seats.items()
        for row in rows
    }
    return heats, kits, session.get_one(t.Heat, called.heat_id).called_at if called else None


def locked_field(work: Work, meet_id: int) -> FieldHeats:
    """The heats of the open meet, for the desk to act on: in one order with everybody else.

    Raises:
        Forbidden: this person doesn't keep the desk.
        Refused: the meet isn't open.
    """
    snapshot = locked_snapshot(work, meet_id)
    check_desk(work.actor)
    return read_field_heats(work.session, snapshot)


def saved(work: Work, field: FieldHeats, heats: HeatList) -> FieldHeats:
    """Write the heats down, and read the field as it stands from then on."""
    plan = current_plan(work.session, field.snapshot.meet_id)
    if plan is None:
        raise Refused("This meet has no heats.", "The organiser makes them on the meet's page.")
    save_heats(work.session, plan, heats, field.kit_of, work.now)
    meet = work.session.get_one(t.Meet, field.snapshot.meet_id)
    return read_field_heats(work.session, take_snapshot(work.session, meet, work.now))
