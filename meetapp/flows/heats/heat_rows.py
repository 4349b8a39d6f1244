"""The heats of a meet between the database and the rules: read as one value, and saved by what differs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlmodel import Session, SQLModel, col, select

from meetapp.rules.heats import Gap, Heat, HeatList, HeatState, Seat, WhyMissing
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class SeatKit:
    """What a seat stands for at the desk: the transmitter that flies, the token to take, the occupied width in MHz."""

    transmitter_id: int
    token_id: int
    width_mhz: float


KitOf = Callable[[Seat], SeatKit]
"""What a new or changed seat stands for."""


def current_plan(session: Session, meet_id: int) -> t.HeatPlan | None:
    """The plan that the meet flies by; None where there is none."""
    standing = select(t.HeatPlan).where(
        t.HeatPlan.meet_id == meet_id, col(t.HeatPlan.ended_at).is_(None), col(t.HeatPlan.voided_at).is_(None)
    )
    return session.exec(standing).one_or_none()


def read_heats(session: Session, meet_id: int) -> HeatList:
    """The heats of a meet in order of flying; those dropped are left out."""
    rows = _heat_rows(session, meet_id)
    seats = seat_rows(session, [row.id for row in rows])
    return tuple(_heat(row, seats[row.id]) for row in rows if row.state != "dropped")


def seat_rows(session: Session, heat_ids: Sequence[int]) -> Mapping[int, tuple[t.HeatSeat, ...]]:
    """The seats of heats by heat id, in order of the places on the start line; those given up are left out."""
    kept = select(t.HeatSeat).where(col(t.HeatSeat.heat_id).in_(heat_ids), col(t.HeatSeat.voided_at).is_(None))
    rows = session.exec(kept.order_by(col(t.HeatSeat.pad), col(t.HeatSeat.id))).all()
    seats: dict[int, list[t.HeatSeat]] = {heat_id: [] for heat_id in heat_ids}
    for row in rows:
        seats[row.heat_id].append(row)
    return {heat_id: tuple(each) for heat_id, each in seats.items()}


def _heat_rows(session: Session, meet_id: int) -> Sequence[t.Heat]:
    kept = select(t.Heat).where(t.Heat.meet_id == meet_id, col(t.Heat.voided_at).is_(None))
    return session.exec(kept.order_by(col(t.Heat.position), col(t.Heat.id))).all()


def _heat(row: t.Heat, seats: Sequence[t.HeatSeat]) -> Heat:
    return Heat(
        heat_id=row.id,
        round=row.round,
        number=row.number,
        seats=tuple(_seat(seat) for seat in seats if not seat.missing),
        state=cast(HeatState, row.state),
        gaps=tuple(Gap(_seat(seat), cast(WhyMissing, seat.missing)) for seat in seats if seat.missing),
        still_up=frozenset(seat.pilot_id for seat in seats if seat.is_up_late),
        again_for=row.again_for_id,
    )


def _seat(row: t.HeatSeat) -> Seat:
    return Seat(row.pilot_id, row.label, row.mhz, row.pad)


def save_heats(session: Session, plan: t.HeatPlan, heats: HeatList, kit_of: KitOf, now: datetime) -> Mapping[int, int]:
    """Write the heats of a plan's meet as they are now: what differs is changed, what is missing is dropped.

    A heat not in the database yet has an id below zero; the answer gives its id from then on.
    """
    rows = {row.id: row for row in _heat_rows(session, plan.meet_id)}
    for row in rows.values():
        if row.state == "planned" and row.id not in {heat.heat_id for heat in heats}:
            row.state = "dropped"
    session.flush()
    # Read once: one question for each heat would cost more than all that is saved.
    seats = seat_rows(session, list(rows))
    new_ids = {}
    for position, heat in enumerate(heats, start=1):
        row = rows.get(heat.heat_id) or t.Heat(
            meet_id=plan.meet_id, plan_id=plan.id, round=heat.round, number=heat.number, position=position
        )
        _save_state(row, heat, position, now)
        session.add(row)
        session.flush()
        if heat.heat_id < 0:
            new_ids[heat.heat_id] = row.id
        _save_seats(session, row.id, seats.get(row.id, ()), heat, kit_of, now)
    return new_ids


def _save_state(row: t.Heat, heat: Heat, position: int, now: datetime) -> None:
    if heat.state == "planned":
        _save(row, called_at=None)
    elif heat.state == "called" and row.state != "called":
        row.called_at = now
    elif heat.state in ("flown", "voided") and row.landed_at is None:
        row.landed_at = now
    _save(row, state=heat.state, position=position, again_for_id=heat.again_for)


def _save(row: SQLModel, **values: object) -> None:
    """Set what differs. A row that is only set to what it was would still be looked through at each flush."""
    for name, value in values.items():
        if getattr(row, name) != value:
            setattr(row, name, value)


def _save_seats(
    session: Session, heat_id: int, kept_rows: Sequence[t.HeatSeat], heat: Heat, kit_of: KitOf, now: datetime
) -> None:
    wanted: dict[int, tuple[Seat, str]] = {gap.seat.pilot_id: (gap.seat, gap.why) for gap in heat.gaps}
    wanted |= {seat.pilot_id: (seat, "") for seat in heat.seats}
    rows = {row.pilot_id: row for row in kept_rows}
    for pilot_id, row in rows.items():
        if pilot_id not in wanted:
            row.voided_at = now
    for pilot_id, (seat, missing) in wanted.items():
        kept = rows.get(pilot_id)
        if kept is None:
            kept = _new_seat(heat_id, seat, kit_of(seat))
        elif _seat(kept) != seat:
            _change_seat(kept, seat, kit_of(seat))
        _save(kept, missing=missing, is_up_late=pilot_id in heat.still_up)
        session.add(kept)
    session.flush()


def _new_seat(heat_id: int, seat: Seat, kit: SeatKit) -> t.HeatSeat:
    return t.HeatSeat(
        heat_id=heat_id,
        pilot_id=seat.pilot_id,
        transmitter_id=kit.transmitter_id,
        token_id=kit.token_id,
        label=seat.label,
        mhz=seat.mhz,
        width_mhz=kit.width_mhz,
        pad=seat.pad,
    )


def _change_seat(row: t.HeatSeat, seat: Seat, kit: SeatKit) -> None:
    row.transmitter_id, row.token_id, row.width_mhz = kit.transmitter_id, kit.token_id, kit.width_mhz
    row.label, row.mhz, row.pad = seat.label, seat.mhz, seat.pad
