"""Tables of a meet's heats: the plan that was made, its heats in order of flying, and who sits where in each."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, text
from sqlmodel import Field, SQLModel

from meetapp.store import naming  # noqa: F401  (the convention comes before the first table)
from meetapp.store.types import UtcDateTime

CURRENT_PLAN = text("ended_at IS NULL AND voided_at IS NULL")
CALLED_HEAT = text("state = 'called' AND voided_at IS NULL")
KEPT_SEAT = text("voided_at IS NULL")
ONE_SEAT = ("heat_id", "pilot_id")


class HeatPlan(SQLModel, table=True):
    """What the organiser asked for and what is proven about the answer. One plan at most is current at a meet.

    `heats_bound` and `changes_bound`: no plan has fewer heats in a round, or fewer channel changes over the day.
    """

    __tablename__ = "heat_plan"
    __table_args__ = (
        Index("uq_heat_plan_current", "meet_id", unique=True, sqlite_where=CURRENT_PLAN, postgresql_where=CURRENT_PLAN),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    size: int
    rounds: int
    pads: int | None = None
    spacing_floor_mhz: float
    clearance_floor_mhz: float | None = None
    heats_per_round: int
    heats_bound: int
    heats_proven: bool
    channel_changes: int
    changes_bound: int
    changes_proven: bool
    made_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Heat(SQLModel, table=True):
    """A group that flies at once. `position` orders the heats of a meet; people know it by round and number.

    State 'voided': flown, but it doesn't count and is flown again by the heat whose `again_for_id` names it. State
    'dropped': it was planned and is flown no more. `voided_at`: the row was made by a step that was undone.
    """

    __table_args__ = (
        CheckConstraint("state IN ('planned', 'called', 'flown', 'voided', 'dropped')", name="state_known"),
        Index("uq_heat_called", "meet_id", unique=True, sqlite_where=CALLED_HEAT, postgresql_where=CALLED_HEAT),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    plan_id: int = Field(foreign_key="heat_plan.id", index=True)
    round: int
    number: int
    position: int
    state: str = "planned"
    again_for_id: int | None = Field(default=None, foreign_key="heat.id")
    called_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    landed_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class HeatSeat(SQLModel, table=True):
    """A pilot in a heat: the token to take, the channel to set and the place on the start line.

    `missing`: why the seat stays empty ('' where it doesn't). `is_up_late`: the heat is over, the pilot has not landed.
    """

    __tablename__ = "heat_seat"
    __table_args__ = (
        CheckConstraint("missing IN ('', 'no_show', 'broken', 'left', 'no_token')", name="missing_known"),
        Index("uq_heat_seat_pilot", *ONE_SEAT, unique=True, sqlite_where=KEPT_SEAT, postgresql_where=KEPT_SEAT),
    )
    id: int = Field(default=None, primary_key=True)
    heat_id: int = Field(foreign_key="heat.id", index=True)
    pilot_id: int = Field(foreign_key="pilot.id", index=True)
    transmitter_id: int = Field(foreign_key="pilot_transmitter.id")
    token_id: int = Field(foreign_key="token.id")
    label: str
    mhz: int
    width_mhz: float
    pad: int
    missing: str = ""
    is_up_late: bool = False
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
