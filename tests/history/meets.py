"""The meets that are acted on, one after the other: four tokens of which some break a floor together, and heats."""

from datetime import UTC, datetime

from sqlmodel import select

from meetapp.flows.desk.alarms import end_alarm
from meetapp.flows.secrets import secret_hash
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import ORGANISER, Desk
from tests.heat_desk import HeatDesk
from tests.history.meet_state import Meet, Plan
from tests.history.passing import EVERY_STEP
from tests.history.phones import Ground
from tests.meet_day import close_it
from tests.world import Clock, World

SPACING_MHZ = 83
"""Beside F1 (5740 MHz) neither R1 (5658) nor F5 (5820) keeps it."""
NEAR = frozenset({frozenset({"R1", "F1"}), frozenset({"F1", "F5"})})
HEATS = ({"Ana": "R1", "Bo": "F5"}, {"Cy": "F1", "Di": "R8"}, {"Ed": "R8", "Fay": "R1"}, {"Bo": "F5", "Cy": "R8"})
TIMES = 4
"""How often the heats above are flown at a meet."""


class _Now(Clock):
    """The machine's clock, for the flows."""

    def __call__(self) -> datetime:
        return datetime.now(UTC)


def own_page_secret(name: str) -> str:
    """The secret address of a pilot's own page."""
    return f"the-own-page-of-{name}-0123456789"


def next_meet(store: Store, world: World, actions: int) -> tuple[Ground, Meet]:
    """Open another meet like the last one, which is closed; gives it with the model of how it begins."""
    desk = Desk(store, world, _Now(), ORGANISER)
    with store.read() as session:
        has_begun = session.exec(select(t.HeatPlan.id).where(t.HeatPlan.meet_id == world.meet)).first() is not None
    if has_begun:
        for token in desk.snapshot().tokens:
            if token.state == "missing":
                desk.found(token.label)
        for row in desk.rows(t.Alarm, meet_id=world.meet, ended_at=None):
            end_alarm(store, desk.deed(), row.id)
        close_it(desk)
        world.meet = _opened(store, world)
    _let_pilots_in(store, world)
    desk.set_meet(spacing_floor_mhz=SPACING_MHZ, clearance_floor_mhz=None, head_limit_min=10_000, is_self_service=True)
    HeatDesk(desk).plan(*HEATS * TIMES)
    HeatDesk(desk).tell_of_the_plan()
    rows = desk.rows(t.Heat, meet_id=world.meet)
    ids = {f"Round {row.round}, heat {row.number}": row.id for row in rows}
    seats = {name: HEATS[place % len(HEATS)] for place, name in enumerate(ids)}
    ground = Ground(
        store,
        world.meet,
        world.pilots,
        world.tokens,
        ids,
        {name: tuple(each) for name, each in seats.items()},
        actions,
    )
    woke = {("wake", who): _label(desk, who) for who in world.pilots}
    begin = Meet.begin(Plan(EVERY_STEP, NEAR, seats), world.tokens)
    return ground, Meet(begin.plan, {**begin.cells, **woke})


def _label(desk: Desk, who: str) -> str:
    """On which token's channel a pilot's transmitter wakes."""
    wake = desk.row(t.PilotTransmitter, desk.world.transmitters[who]).wake_mhz
    return next((row.label for row in desk.rows(t.Token) if row.nominal_mhz == wake), "")


def _opened(store: Store, world: World) -> int:
    """A meet like the last one, with everybody there and all tokens on the board."""
    with store.write() as session:
        last = session.get_one(t.Meet, world.meet)
        values = last.model_dump(exclude={"id", "state", "closed_at", "opened_at"})
        meet = t.Meet(**values, state="open", opened_at=datetime.now(UTC))
        session.add(meet)
        session.flush()
        session.add_all(t.MeetToken(meet_id=meet.id, token_id=token_id) for token_id in world.tokens.values())
        session.add_all(
            t.Attendance(
                meet_id=meet.id,
                pilot_id=pilot_id,
                transmitter_id=world.transmitters[name],
                checked_in_at=datetime.now(UTC),
            )
            for name, pilot_id in world.pilots.items()
        )
        session.commit()
        return meet.id


def _let_pilots_in(store: Store, world: World) -> None:
    with store.write() as session:
        for name, pilot_id in world.pilots.items():
            session.get_one(t.Pilot, pilot_id).link_hash = secret_hash(own_page_secret(name))
        session.commit()


