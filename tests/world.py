"""A small invented club for tests: a fixed cast, no random data. Everything by name."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache

from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher
from sqlmodel import Session

from meetapp.data.catalog import published_plans
from meetapp.flows.secrets import secret_hash
from meetapp.store import tables as t
from meetapp.store.engine import Store

ORGANISER_PASSWORD = "kitchen-table"
PIN = "482913"
DESK_LINK = "desk-link-of-the-test-meet"
NOON = datetime(2026, 6, 14, 12, 0, tzinfo=UTC)
SAFETY_WORDS = "No power before you hold the token.\nPicture gone: come down now, away from people."

KINDS = {
    "analogue 40": ("A B E F R", 20.0, False),
    "analogue R": ("R", 20.0, False),
    "analogue tunable": ("5650-5925/1", 20.0, False),
    "digital wide": ("5660 5695 5735 5770 5805 5839 5878 5914", 40.0, True),
}
SET_OF_FOUR = {"R1": 5658, "F1": 5740, "F5": 5820, "R8": 5917}


class Clock:
    """A clock that moves only when a test says so."""

    def __init__(self, now: datetime = NOON) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **span: float) -> datetime:
        self.now += timedelta(**span)
        return self.now


# Hashed as cheaply as argon2id can be: what is checked is who gets in, not how long guessing takes.
QUICK_HASHES = PasswordHash((Argon2Hasher(time_cost=1, memory_cost=8, parallelism=1),))


@cache
def _hashed(secret: str) -> str:
    return QUICK_HASHES.hash(secret)


@dataclass
class World:
    """Ids of what was made, by name."""

    meet: int = 0
    site: int = 0
    band: int = 0
    kinds: dict[str, int] = field(default_factory=dict)
    pilots: dict[str, int] = field(default_factory=dict)
    transmitters: dict[str, int] = field(default_factory=dict)
    tokens: dict[str, int] = field(default_factory=dict)


def _added(session: Session, row: object) -> int:
    session.add(row)
    session.flush()
    return row.id  # type: ignore[attr-defined, no-any-return]


def make_club(session: Session, world: World) -> None:
    """The club, its plans, one wide band profile, one site and four kinds of transmitter."""
    session.add(
        t.Club(
            name="Lower Meadow Flyers",
            password_hash=_hashed(ORGANISER_PASSWORD),
            safety_words=SAFETY_WORDS,
            made_at=NOON,
        )
    )
    for position, plan in enumerate(published_plans()):
        plan_id = _added(
            session,
            t.ChannelPlanRow(
                letter=plan.letter, name=plan.name, source=plan.source, is_published=True, position=position
            ),
        )
        session.add_all(t.PlanChannel(plan_id=plan_id, number=c.number, mhz=c.mhz) for c in plan.channels)
    world.band = _added(session, t.BandProfile(name="Test band", source="invented for the tests", is_own=True))
    session.add(t.BandSegment(profile_id=world.band, low_mhz=5600, high_mhz=5960, power_mw=25))
    world.site = _added(session, t.Site(name="Lower Meadow", time_zone="Europe/Berlin", band_profile_id=world.band))
    for name, (tuning, width, is_digital) in KINDS.items():
        world.kinds[name] = _added(
            session,
            t.TransmitterKind(
                name=name, tuning=tuning, width_mhz=width, is_digital=is_digital, power_steps_mw="25 200 600"
            ),
        )


def add_pilot(session: Session, world: World, name: str, kind: str = "analogue 40", wake_mhz: int | None = None) -> int:
    """A pilot with one transmitter; the board name is the name."""
    pilot = _added(session, t.Pilot(name=name, board_name=name))
    world.pilots[name] = pilot
    world.transmitters[name] = _added(
        session, t.PilotTransmitter(pilot_id=pilot, kind_id=world.kinds[kind], wake_mhz=wake_mhz)
    )
    return pilot


def open_meet(
    session: Session,
    world: World,
    token_mhz: dict[str, int] | None = None,
    spacing: float = 37,
    clearance: float | None = 0,
) -> int:
    """An open meet with tokens (codes T1, T2, ... in order of MHz) and everybody checked in."""
    world.meet = _added(
        session,
        t.Meet(
            name="June meet",
            on_date=date(2026, 6, 14),
            site_id=world.site,
            state="open",
            fly_at_once=4,
            spacing_floor_mhz=spacing,
            clearance_floor_mhz=clearance,
            pin_hash=_hashed(PIN),
            desk_link_hash=secret_hash(DESK_LINK),
            opened_at=NOON,
        ),
    )
    for place, (label, mhz) in enumerate((token_mhz or SET_OF_FOUR).items(), start=1):
        world.tokens[label] = _added(
            session, t.Token(code=f"T{place}", label=label, nominal_mhz=mhz, state_since=NOON)
        )
        session.add(t.MeetToken(meet_id=world.meet, token_id=world.tokens[label]))
    for name, pilot in world.pilots.items():
        session.add(
            t.Attendance(
                meet_id=world.meet,
                pilot_id=pilot,
                transmitter_id=world.transmitters[name],
                is_expected=True,
                checked_in_at=NOON,
            )
        )
    return world.meet


def make_world(store: Store, names: tuple[str, ...] = ("Ana", "Bo", "Cy", "Di", "Ed", "Fay")) -> World:
    """A club with these pilots, all checked in at an open meet with four tokens."""
    world = World()
    with store.write() as session:
        make_club(session, world)
        for name in names:
            add_pilot(session, world, name)
        open_meet(session, world)
        session.commit()
    return world
