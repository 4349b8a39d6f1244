"""Tables of one meet: who came, the loans, the waiting line, alarms, reports and the journal."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Index, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from meetapp.store import naming  # noqa: F401  (the convention comes before the first table)
from meetapp.store.types import UtcDateTime

OPEN_LOAN = text("in_at IS NULL AND voided_at IS NULL")
CURRENT_SETTING = text("until_at IS NULL AND voided_at IS NULL")
STANDING_IN_LINE = text("left_at IS NULL AND voided_at IS NULL")
RUNNING = text("ended_at IS NULL AND voided_at IS NULL")


def _one_open(name: str, column: str, where: Any) -> Index:
    return Index(name, column, unique=True, sqlite_where=where, postgresql_where=where)


class MeetToken(SQLModel, table=True):
    """A token that belongs to a meet's chosen set."""

    __tablename__ = "meet_token"
    meet_id: int = Field(foreign_key="meet.id", primary_key=True)
    token_id: int = Field(foreign_key="token.id", primary_key=True)


class Attendance(SQLModel, table=True):
    """A pilot at a meet: expected beforehand, checked in with today's transmitter, gone home."""

    __table_args__ = (UniqueConstraint("meet_id", "pilot_id"),)
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    pilot_id: int = Field(foreign_key="pilot.id", index=True)
    transmitter_id: int | None = Field(default=None, foreign_key="pilot_transmitter.id")
    is_expected: bool = False
    checked_in_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    left_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Loan(SQLModel, table=True):
    """One token with one pilot from `out_at` until `in_at`; without a pilot it is a ground or camera transmitter.

    What is really set stands in its settings. A voided loan was undone: it never counted.
    """

    __table_args__ = (
        CheckConstraint("pilot_id IS NOT NULL OR holder_name <> ''", name="has_holder"),
        CheckConstraint("token_id IS NOT NULL OR pilot_id IS NULL", name="pilot_has_token"),
        CheckConstraint("in_at IS NULL OR in_at >= out_at", name="in_after_out"),
        _one_open("uq_loan_open_token", "token_id", OPEN_LOAN),
        _one_open("uq_loan_open_pilot", "pilot_id", OPEN_LOAN),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    token_id: int | None = Field(default=None, foreign_key="token.id", index=True)
    pilot_id: int | None = Field(default=None, foreign_key="pilot.id", index=True)
    holder_name: str = ""
    out_at: datetime = Field(sa_type=UtcDateTime)
    in_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    entered_at: datetime = Field(sa_type=UtcDateTime)
    ended_missing: bool = False
    override_reason: str = ""
    seen_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class LoanSetting(SQLModel, table=True):
    """What a loan's transmitter was really set to, from `since_at` until `until_at`."""

    __tablename__ = "loan_setting"
    __table_args__ = (_one_open("uq_loan_setting_current", "loan_id", CURRENT_SETTING),)
    id: int = Field(default=None, primary_key=True)
    loan_id: int = Field(foreign_key="loan.id", index=True)
    transmitter_id: int | None = Field(default=None, foreign_key="pilot_transmitter.id")
    label: str
    mhz: int
    width_mhz: float
    power_mw: float | None = None
    wake_before_mhz: int | None = None
    since_at: datetime = Field(sa_type=UtcDateTime)
    until_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class LineEntry(SQLModel, table=True):
    """A pilot's stand in the waiting line; `joined_at` orders it. `head_since` is when they came to its head."""

    __tablename__ = "line_entry"
    __table_args__ = (_one_open("uq_line_entry_standing", "pilot_id", STANDING_IN_LINE),)
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    pilot_id: int = Field(foreign_key="pilot.id", index=True)
    joined_at: datetime = Field(sa_type=UtcDateTime)
    head_since: datetime | None = Field(default=None, sa_type=UtcDateTime)
    is_skipped: bool = False
    left_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    was_served: bool = False
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Sharing(SQLModel, table=True):
    """Two pilots who use one token by turns: the holder and the one who waits beside them."""

    __table_args__ = (
        CheckConstraint("pilot_id <> partner_id", name="two_pilots"),
        _one_open("uq_sharing_token", "token_id", RUNNING),
        _one_open("uq_sharing_partner", "partner_id", RUNNING),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    token_id: int = Field(foreign_key="token.id")
    pilot_id: int = Field(foreign_key="pilot.id")
    partner_id: int = Field(foreign_key="pilot.id")
    started_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class PassOffer(SQLModel, table=True):
    """A pilot offers their token to another; it passes only when the other confirms."""

    __tablename__ = "pass_offer"
    __table_args__ = (_one_open("uq_pass_offer_loan", "loan_id", RUNNING),)
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    loan_id: int = Field(foreign_key="loan.id")
    to_pilot_id: int = Field(foreign_key="pilot.id")
    started_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    was_taken: bool = False
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Pause(SQLModel, table=True):
    """A stretch in which no waiting counts: wind, lunch."""

    __table_args__ = (_one_open("uq_pause_running", "meet_id", RUNNING),)
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    reason: str = ""
    started_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


RUNNING_KIND = ("meet_id", "kind")


class Alarm(SQLModel, table=True):
    """'Stray transmitter now' or 'everybody down', in sight on every page until it is over."""

    __table_args__ = (
        CheckConstraint("kind IN ('stray', 'down')", name="kind_known"),
        Index("uq_alarm_running", *RUNNING_KIND, unique=True, sqlite_where=RUNNING, postgresql_where=RUNNING),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    kind: str
    started_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class ClashReport(SQLModel, table=True):
    """'My picture broke up at 14:32': who, when (give or take `window_s`), what it looked like."""

    __tablename__ = "clash_report"
    __table_args__ = (
        CheckConstraint("look IN ('lines', 'other_picture', 'gone', 'colour', 'unsure')", name="look_known"),
        CheckConstraint("place IN ('pits', 'line', 'flight', 'unsure')", name="place_known"),
    )
    id: int = Field(default=None, primary_key=True)
    meet_id: int = Field(foreign_key="meet.id", index=True)
    pilot_id: int | None = Field(default=None, foreign_key="pilot.id")
    loan_id: int | None = Field(default=None, foreign_key="loan.id")
    happened_at: datetime = Field(sa_type=UtcDateTime)
    window_s: int = 120
    look: str
    place: str = "unsure"
    lasted_s: int | None = None
    note: str = ""
    entered_at: datetime = Field(sa_type=UtcDateTime)
    voided_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class JournalLine(SQLModel, table=True):
    """One thing that happened. Append only; `id` is its order. Facts name rows by id, so names live in one place.

    `changes` lets the line be undone: each entry is one row's before and after.
    """

    __tablename__ = "journal_line"
    __table_args__ = (UniqueConstraint("undoes_id"),)
    id: int = Field(default=None, primary_key=True)
    meet_id: int | None = Field(default=None, foreign_key="meet.id", index=True)
    kind: str
    facts: dict[str, Any] = Field(sa_type=JSON)
    changes: list[dict[str, Any]] = Field(default_factory=list, sa_type=JSON)
    is_undoable: bool = False
    undoes_id: int | None = Field(default=None, foreign_key="journal_line.id")
    actor_role: str
    actor_name: str
    actor_session_id: int | None = None
    actor_pilot_id: int | None = None
    happened_at: datetime = Field(sa_type=UtcDateTime)
    entered_at: datetime = Field(sa_type=UtcDateTime)
