"""Making the heats of a meet: planned first, with nothing written, then kept as planned."""

from dataclasses import asdict
from datetime import datetime

from sqlmodel import col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.day_plan import ONE_LOOK, PlannedDay, Search, Wanted, basis_of, plan_day, planned_day
from meetapp.flows.heats.ground import Ground, read_ground
from meetapp.flows.heats.heat_rows import save_heats
from meetapp.flows.planning.meet_rows import find_meet, lock_unclosed
from meetapp.rules.heat_rounds import begun
from meetapp.store import tables as t
from meetapp.store.engine import Store


def read_meet(store: Store, meet_id: int, now: datetime) -> Ground:
    """What heats are planned from. No transaction is open while the sums go on."""
    with store.read() as session:
        return read_ground(session, find_meet(session, meet_id), now)


def make_heats(store: Store, deed: Deed, meet_id: int, wanted: Wanted, search: Search = ONE_LOOK) -> Answer:
    """Plan the heats of a meet and keep them; those that have begun stay as they are.

    Raises: Refused where nothing can be planned.
    """
    ground = read_meet(store, meet_id, deed.now)
    return keep_heats(store, deed, meet_id, planned_day(ground, wanted, plan_day(ground, wanted, search)))


def keep_heats(store: Store, deed: Deed, meet_id: int, day: PlannedDay) -> Answer:
    """Write heats as they were planned, in place of those still to come.

    Raises:
        Conflict: what they were planned from has changed since.
        Refused: nobody flies in them, or the meet is closed.
    """

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        ground = read_ground(work.session, meet, work.now)
        if basis_of(ground, day.wanted) != day.basis:
            raise Conflict(
                "The field has changed since these heats were planned.", "Look at them again and make them then."
            )
        if not any(heat.seats for heat in day.heats):
            raise Refused("Nobody can fly in these heats.", "Look at what would free it.")
        plan = _new_plan(work, ground, day)
        save_heats(work.session, plan, (*begun(ground.heats), *day.heats), ground.kit_of, work.now)
        facts = {
            "heats": len(day.heats),
            "rounds": day.wanted.rounds,
            "pilots": len({seat.pilot_id for heat in day.heats for seat in heat.seats}),
            "size": day.wanted.size,
            "changes": day.figures.channel_changes,
        }
        is_undoable = meet.state == "open"
        line_id = work.note("heats_made", facts, meet_id=meet_id, is_undoable=is_undoable)
        undo_id = line_id if is_undoable else None
        return Answer(f"/organiser/meets/{meet_id}/heats", _notice(day), undo_id=undo_id, made_id=plan.id)

    return do_once(store, deed, work)


def _new_plan(work: Work, ground: Ground, day: PlannedDay) -> t.HeatPlan:
    """The row of the new plan; the one before it has ended."""
    meet_id = ground.snapshot.meet_id
    standing = select(t.HeatPlan).where(t.HeatPlan.meet_id == meet_id, col(t.HeatPlan.ended_at).is_(None))
    for row in work.session.exec(standing.where(col(t.HeatPlan.voided_at).is_(None))):
        row.ended_at = work.now
        work.session.add(row)
    work.session.flush()
    figures = asdict(day.figures)
    plan = t.HeatPlan(
        meet_id=meet_id,
        size=day.wanted.size,
        rounds=day.wanted.rounds,
        pads=day.wanted.pads,
        spacing_floor_mhz=ground.snapshot.floors.spacing_mhz,
        clearance_floor_mhz=ground.snapshot.floors.clearance_mhz,
        made_at=work.now,
        **{name: figures[name] for name in t.HeatPlan.model_fields if name in figures},
    )
    work.session.add(plan)
    work.session.flush()
    return plan


def _notice(day: PlannedDay) -> str:
    heats = len(day.heats)
    left_out = f" {', '.join(day.figures.grounded)} can't fly in them." if day.figures.grounded else ""
    return f"{heats} heat{'' if heats == 1 else 's'} made.{left_out}"
