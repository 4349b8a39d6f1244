"""Tables that outlive a meet: the club, its sites, plans, transmitter kinds, pilots and tokens."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, Index, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from meetapp.store import naming  # noqa: F401  (the convention comes before the first table)
from meetapp.store.types import UtcDateTime


class Installation(SQLModel, table=True):
    """What the server itself needs to remember (one row): its secret and the first-visit link."""

    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)
    id: int = Field(default=1, primary_key=True)
    server_secret: str
    first_visit_hash: str | None = None
    made_at: datetime = Field(sa_type=UtcDateTime)


class Club(SQLModel, table=True):
    """The club (one row)."""

    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)
    id: int = Field(default=1, primary_key=True)
    name: str
    field_address: str = ""
    safety_words: str
    password_hash: str
    useful_clearance_mhz: int = 35
    made_at: datetime = Field(sa_type=UtcDateTime)


class BandProfile(SQLModel, table=True):
    """Band edges and power by country or licence, with the source and the day it was read."""

    __tablename__ = "band_profile"
    __table_args__ = (UniqueConstraint("name"),)
    id: int = Field(default=None, primary_key=True)
    name: str
    condition: str = ""
    source: str
    read_on: date | None = None
    is_own: bool = False
    retired_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class BandSegment(SQLModel, table=True):
    """One stretch of a band profile, edges in MHz, the profile's power ceiling in mW where it names one."""

    __tablename__ = "band_segment"
    __table_args__ = (CheckConstraint("low_mhz < high_mhz", name="low_below_high"),)
    id: int = Field(default=None, primary_key=True)
    profile_id: int = Field(foreign_key="band_profile.id", index=True)
    low_mhz: int
    high_mhz: int
    power_mw: float | None = None


class Site(SQLModel, table=True):
    """A flying field with its time zone (IANA name) and band profile."""

    __table_args__ = (UniqueConstraint("name"),)
    id: int = Field(default=None, primary_key=True)
    name: str
    time_zone: str
    band_profile_id: int = Field(foreign_key="band_profile.id")
    note: str = ""
    retired_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Neighbour(SQLModel, table=True):
    """A known foreign signal beside a site; counts by its edge only."""

    __table_args__ = (CheckConstraint("width_mhz > 0", name="width_above_zero"),)
    id: int = Field(default=None, primary_key=True)
    site_id: int = Field(foreign_key="site.id", index=True)
    label: str
    centre_mhz: int
    width_mhz: float
    wifi_channel: int | None = None


class ChannelPlanRow(SQLModel, table=True):
    """A channel plan by its letter: published (copied from the catalogue) or added by the organiser."""

    __tablename__ = "channel_plan"
    __table_args__ = (UniqueConstraint("letter"),)
    id: int = Field(default=None, primary_key=True)
    letter: str
    name: str
    source: str
    is_published: bool = False
    position: int = 0


class PlanChannel(SQLModel, table=True):
    """One channel of a plan."""

    __tablename__ = "plan_channel"
    __table_args__ = (UniqueConstraint("plan_id", "number"),)
    id: int = Field(default=None, primary_key=True)
    plan_id: int = Field(foreign_key="channel_plan.id", index=True)
    number: int
    mhz: int


class TransmitterKind(SQLModel, table=True):
    """A kind of transmitter: what it can make, how wide it is, its powers and its habits.

    `tuning` and `goggles` are texts such as 'A B R3 5740 5650-5925/1'; an empty `goggles` means the goggles make
    all that the transmitter makes. `power_steps_mw` is ascending, space-separated. Carson figures in MHz where used.
    `setting_card` says how each channel is set, in the text form of `rules/setting_card_text.py` (None: only the hint).
    """

    __tablename__ = "transmitter_kind"
    __table_args__ = (UniqueConstraint("name"), CheckConstraint("width_mhz > 0", name="width_above_zero"))
    id: int = Field(default=None, primary_key=True)
    name: str
    is_digital: bool = False
    width_mhz: float
    width_source: str = ""
    carson_modulating_mhz: float | None = None
    carson_deviation_mhz: float | None = None
    tuning: str
    goggles: str = ""
    power_steps_mw: str
    antenna_gain_dbi: float | None = None
    goggles_transmit: bool = False
    moves_by_itself: bool = False
    sets_silently: bool = False
    setting_hint: str = ""
    setting_card: str | None = None
    retired_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Pilot(SQLModel, table=True):
    """A pilot. `link_hash` guards their own page; `claimed_at` says that a phone is bound to it."""

    __table_args__ = (Index("uq_pilot_link_hash", "link_hash", unique=True),)
    id: int = Field(default=None, primary_key=True)
    name: str
    board_name: str
    band_profile_id: int | None = Field(default=None, foreign_key="band_profile.id")
    link_hash: str | None = None
    claimed_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    retired_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class PilotTransmitter(SQLModel, table=True):
    """One transmitter of a pilot with its wake channel (None: unknown)."""

    __tablename__ = "pilot_transmitter"
    id: int = Field(default=None, primary_key=True)
    pilot_id: int = Field(foreign_key="pilot.id", index=True)
    kind_id: int = Field(foreign_key="transmitter_kind.id")
    nickname: str = ""
    wake_mhz: int | None = None
    retired_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Token(SQLModel, table=True):
    """A physical tag of the club. `in` and `out` follow from its loans; here stands what loans can't tell."""

    __table_args__ = (
        UniqueConstraint("code"),
        CheckConstraint("state IN ('usable', 'missing', 'withdrawn')", name="state_known"),
    )
    id: int = Field(default=None, primary_key=True)
    code: str
    label: str
    nominal_mhz: int
    state: str = "usable"
    state_since: datetime = Field(sa_type=UtcDateTime)


class DeskSession(SQLModel, table=True):
    """A signed-in browser. Only the hash of its secret is stored, so it can be ended but not copied."""

    __tablename__ = "desk_session"
    __table_args__ = (
        UniqueConstraint("secret_hash"),
        CheckConstraint("role IN ('organiser', 'marshal', 'pilot')", name="role_known"),
    )
    id: int = Field(default=None, primary_key=True)
    secret_hash: str
    role: str
    name: str
    meet_id: int | None = Field(default=None, foreign_key="meet.id")
    pilot_id: int | None = Field(default=None, foreign_key="pilot.id")
    made_at: datetime = Field(sa_type=UtcDateTime)
    expires_at: datetime = Field(sa_type=UtcDateTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class Operation(SQLModel, table=True):
    """The answer first given to an operation key, kept with the work it did."""

    key: str = Field(primary_key=True)
    digest: str
    answer: dict[str, Any] = Field(sa_type=JSON)
    made_at: datetime = Field(sa_type=UtcDateTime)


OPEN_MEET = text("state = 'open'")


class Meet(SQLModel, table=True):
    """A day of flying: its site, its floors and how the desk is kept. One meet at most is open."""

    __table_args__ = (
        CheckConstraint("state IN ('planned', 'open', 'closed')", name="state_known"),
        CheckConstraint("signals IN ('both', 'two')", name="signals_known"),
        Index("uq_meet_one_open", "state", unique=True, sqlite_where=OPEN_MEET, postgresql_where=OPEN_MEET),
    )
    id: int = Field(default=None, primary_key=True)
    name: str
    on_date: date
    site_id: int = Field(foreign_key="site.id")
    state: str = "planned"
    fly_at_once: int
    pull_mhz: int = 2
    head_limit_min: int = 20
    power_ceiling_mw: float | None = None
    spacing_floor_mhz: float | None = None
    clearance_floor_mhz: float | None = None
    lower_floors_reason: str = ""
    signals: str = "both"
    is_self_service: bool = False
    pin_hash: str | None = None
    desk_link_hash: str | None = None
    opened_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    closed_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


class GuessSource(SQLModel, table=True):
    """What is remembered of who types PINs or passwords (`what`), where several processes share it (PostgreSQL)."""

    __tablename__ = "guess_source"
    what: str = Field(primary_key=True)
    source: str = Field(primary_key=True)
    wrong: int = 0
    last_at: datetime | None = Field(default=None, sa_type=UtcDateTime, index=True)
    has_fitted: bool = False


class GuessCrowd(SQLModel, table=True):
    """The wrong ones of all sources together: when each was typed (ISO), and when the next attempt has its turn."""

    __tablename__ = "guess_crowd"
    what: str = Field(primary_key=True)
    wrong_at: list[str] = Field(sa_type=JSON)
    next_turn: datetime | None = Field(default=None, sa_type=UtcDateTime)
