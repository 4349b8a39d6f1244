"""The heats as the marshal sees them: the one in the air and how it powers up, who is still up, the next one."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from meetapp.flows.deeds import Actor
from meetapp.flows.desk.alarms import alarm_words, came_down_since
from meetapp.flows.desk.desk_journal import last_own
from meetapp.flows.desk.live import live_version
from meetapp.flows.desk.pauses import RunningPause, running_pause
from meetapp.flows.heats.field_heats import FieldHeats, read_field_heats
from meetapp.flows.heats.heat_views import MISSING_WORDS
from meetapp.flows.heats.heat_words import heat_name
from meetapp.flows.heats.landing import StillUp
from meetapp.flows.heats.power_moment import power_moment
from meetapp.flows.heats.seat_checks import snapshot_without_all, sort_seats
from meetapp.flows.journal import JournalEntry
from meetapp.flows.loans.air_words import large_label
from meetapp.flows.snapshot import OnAir, TokenNow, take_snapshot
from meetapp.rules.heats import Heat, HeatState, Seat
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class SeatLine:
    """A seat with its token. `label`: the channel's name in large type; `why`: why the token can't go out, else ''.

    `takes_reason`: it can, with a reason that is written down. `token` None: it isn't one of the meet's any more.
    """

    pilot_id: int
    who: str
    pad: int
    label: str
    mhz: int
    token: TokenNow | None
    why: str = ""
    takes_reason: bool = False


@dataclass(frozen=True, slots=True)
class PowerLine:
    """A pilot of the heat in the air, at their place in the order of switching on. `wakes` '': they are up."""

    place: int
    seat: SeatLine
    loan_id: int
    wakes: str
    is_up: bool


@dataclass(frozen=True, slots=True)
class GapLine:
    """A pilot whose seat was given up, and why in words. `is_taken`: somebody else has the pad by now."""

    who: str
    pad: int
    why: str
    is_taken: bool

    @property
    def words(self) -> str:
        """What became of the seat, as a clause."""
        return f"{self.who} {self.why}" if self.is_taken else f"Pad {self.pad} stays empty: {self.who} {self.why}"


@dataclass(frozen=True, slots=True)
class InAir:
    """The heat in the air. `clash`: what no order of switching on avoids; `waiting`: seats without a token yet.

    `came_down`: 'everybody down' was on while it was in the air, and is over.
    """

    heat_id: int
    title: str
    since: datetime | None
    power: tuple[PowerLine, ...]
    clash: str
    waiting: tuple[SeatLine, ...]
    gaps: tuple[GapLine, ...]
    came_down: bool

    @property
    def all_up(self) -> bool:
        """Whether everybody who has a token has seen their picture."""
        return bool(self.power) and all(each.is_up for each in self.power)


@dataclass(frozen=True, slots=True)
class Ticks:
    """The boxes of a page as they stood. `landing_id`: the heat then in the air; `up`: who was ticked, and with which
    loans there was a box."""

    landing_id: int | None
    up: StillUp

    def of(self, field: FieldHeats) -> frozenset[int]:
        """Who is to be ticked now: boxes that were there before stay as they stood; of the others, the late ones.

        Nothing stays once another heat is in the air: who was unticked then may be a late one now.
        """
        if self.landing_id != (field.called.heat_id if field.called else None):
            return field.up_late
        known = {loan.pilot_id for loan in field.up if loan.loan_id in self.up.of_loans}
        return frozenset((field.up_late - known) | (self.up.pilots & known))


@dataclass(frozen=True, slots=True)
class Up:
    """Somebody on air from a heat; `late_from`: the heat that is over ('' while it is in the air)."""

    pilot_id: int
    loan_id: int
    who: str
    token_label: str
    late_from: str


@dataclass(frozen=True, slots=True)
class NextHeat:
    """The heat to call next, with what would happen if it were called now. `in_turn`: none comes before it."""

    heat_id: int
    title: str
    in_turn: bool
    seats: tuple[SeatLine, ...]

    @property
    def takes_reason(self) -> bool:
        """Whether somebody waits only because of the floors."""
        return any(seat.takes_reason for seat in self.seats)


@dataclass(frozen=True, slots=True)
class HeatDeskView:
    """The heats at the desk. `ticked`: those marked as still up; `last`: the own deed that can be undone.

    `version`: what is shown, as a word; `stamp`: the same with what is ticked. `alarm`: why no heat can be called now,
    in words; '' where no alarm is on.
    """

    meet_id: int
    zone: ZoneInfo
    version: str
    stamp: str
    lower_floors_reason: str
    pause: RunningPause | None
    alarm: str
    has_heats: bool
    in_air: InAir | None
    up: tuple[Up, ...]
    ticked: frozenset[int]
    next_heat: NextHeat | None
    to_come: int
    last_flown: tuple[int, str] | None
    last: JournalEntry | None


@dataclass(frozen=True, slots=True)
class HeatLine:
    """One heat in the list of the day: who flies in it, in order of their places."""

    heat_id: int
    title: str
    state: HeatState
    names: tuple[str, ...]
    again_for: str


@dataclass(frozen=True, slots=True)
class OneHeat:
    """One heat with everything the desk can do about it. `up`: its pilots on air."""

    heat_id: int
    title: str
    state: HeatState
    seats: tuple[SeatLine, ...]
    gaps: tuple[GapLine, ...]
    again_for: str
    again_as: str
    up: tuple[Up, ...]


def heat_desk(
    store: Store,
    meet_id: int,
    now: datetime,
    actor: Actor,
    ticks: Ticks | None = None,
    chosen_id: int = 0,
) -> HeatDeskView:
    """The heats of the open meet. `ticks`: what somebody has ticked so far; None: nothing, so the late ones are.

    `chosen_id`: a heat to come that is called out of turn; any other number means the next one.
    """
    version = live_version(store, now)
    with store.read() as session:
        meet = session.get_one(t.Meet, meet_id)
        field = read_field_heats(session, take_snapshot(session, meet, now))
        up = _up(field)
        marked = field.up_late if ticks is None else ticks.of(field)
        flown = [heat for heat in field.heats if heat.state in ("flown", "voided")]
        return HeatDeskView(
            meet_id=meet_id,
            zone=field.snapshot.zone,
            version=version,
            stamp=stamp_of(version, marked),
            lower_floors_reason=field.snapshot.lower_floors_reason,
            pause=running_pause(session, meet_id),
            alarm=alarm_words(session, meet_id),
            has_heats=bool(field.heats),
            in_air=_in_air(session, field),
            up=up,
            ticked=marked,
            next_heat=_next_heat(session, _landed(field, marked), chosen_id),
            to_come=len(field.to_come),
            last_flown=(flown[-1].heat_id, heat_name(flown[-1])) if flown and flown[-1].state == "flown" else None,
            last=last_own(session, meet_id, actor),
        )


def stamp_of(version: str, ticked: Collection[int]) -> str:
    """What a page shows, as a word: the version of the meet, and who is ticked as still up."""
    return f"{version}.{'-'.join(str(pilot_id) for pilot_id in sorted(ticked))}"


def _in_air(session: Session, field: FieldHeats) -> InAir | None:
    heat = field.called
    if heat is None:
        return None
    moment = power_moment(field)
    lines = {seat.pilot_id: _line(field, heat, seat) for seat in heat.seats}
    return InAir(
        heat_id=heat.heat_id,
        title=heat_name(heat),
        since=field.called_at,
        power=tuple(
            PowerLine(
                step.place,
                _as_set(field, lines[step.loan.pilot_id or 0], step.loan),
                step.loan.loan_id,
                step.wakes,
                step.is_up,
            )
            for step in moment.steps
        ),
        clash=moment.clash,
        waiting=_judged(session, field, heat, field.without_token),
        gaps=_gaps(field, heat),
        came_down=field.called_at is not None
        and came_down_since(session, field.snapshot.meet_id, field.called_at),
    )


def _as_set(field: FieldHeats, line: SeatLine, loan: OnAir) -> SeatLine:
    """The seat with what is really set by now and the token that is really out."""
    token = field.snapshot.token(loan.token_id) if loan.token_id is not None else None
    return replace(line, label=large_label(field.snapshot, loan.label, loan.mhz), mhz=loan.mhz, token=token)


def _up(field: FieldHeats) -> tuple[Up, ...]:
    """Who is on air from the heats, the late ones first."""
    late = [(loan, heat_name(heat)) for heat, loan in field.late]
    return tuple(
        Up(loan.pilot_id, loan.loan_id, loan.who, loan.token_label, late_from)
        for loan, late_from in [*late, *((loan, "") for loan in field.out)]
        if loan.pilot_id is not None
    )


def _landed(field: FieldHeats, still_up: frozenset[int]) -> FieldHeats:
    """The field as it would stand with everybody down but those still up."""
    down = [loan for loan in field.up if loan.pilot_id not in still_up]
    called = field.called
    heats = tuple(
        replace(heat, state="flown", still_up=heat.pilots & still_up)
        if heat is called
        else replace(heat, still_up=heat.still_up & still_up)
        for heat in field.heats
    )
    return replace(field, snapshot=snapshot_without_all(field.snapshot, down), heats=heats)


def _next_heat(session: Session, field: FieldHeats, chosen_id: int) -> NextHeat | None:
    in_turn = next(iter(field.to_come), None)
    heat = next((heat for heat in field.to_come if heat.heat_id == chosen_id), in_turn)
    if heat is None:
        return None
    return NextHeat(heat.heat_id, heat_name(heat), heat is in_turn, _judged(session, field, heat, heat.seats))


def _judged(session: Session, field: FieldHeats, heat: Heat, seats: Sequence[Seat]) -> tuple[SeatLine, ...]:
    """Seats in order of their places, each with why its token can't go out now."""
    found = sort_seats(session, field, heat, seats)
    near = {each.seat.pilot_id: each.why for each in found.too_near}
    why = near | {each.seat.pilot_id: each.why for each in found.staying}
    return tuple(
        replace(_line(field, heat, seat), why=why.get(seat.pilot_id, ""), takes_reason=seat.pilot_id in near)
        for seat in sorted(seats, key=lambda seat: seat.pad)
    )


def _line(field: FieldHeats, heat: Heat, seat: Seat) -> SeatLine:
    return SeatLine(
        seat.pilot_id,
        _who(field, seat.pilot_id),
        seat.pad,
        large_label(field.snapshot, seat.label, seat.mhz),
        seat.mhz,
        field.snapshot.token(field.kits[heat.heat_id, seat.pilot_id].token_id),
    )


def _gaps(field: FieldHeats, heat: Heat) -> tuple[GapLine, ...]:
    taken = {seat.pad for seat in heat.seats}
    return tuple(
        GapLine(_who(field, gap.seat.pilot_id), gap.seat.pad, MISSING_WORDS[gap.why], gap.seat.pad in taken)
        for gap in heat.gaps
    )


def _who(field: FieldHeats, pilot_id: int) -> str:
    person = field.snapshot.people.get(pilot_id)
    return person.board_name if person else "somebody who isn't on the list of this meet"


def heat_list(store: Store, meet_id: int, now: datetime) -> tuple[HeatLine, ...]:
    """Every heat of the meet in order of flying."""
    with store.read() as session:
        field = read_field_heats(session, take_snapshot(session, session.get_one(t.Meet, meet_id), now))
    return tuple(
        HeatLine(
            heat.heat_id,
            heat_name(heat),
            heat.state,
            tuple(_who(field, seat.pilot_id) for seat in sorted(heat.seats, key=lambda seat: seat.pad)),
            heat_name(field.heat(heat.again_for)) if heat.again_for else "",
        )
        for heat in field.heats
    )


def one_heat(store: Store, meet_id: int, heat_id: int, now: datetime) -> OneHeat:
    """One heat. Raises: NotFound."""
    with store.read() as session:
        field = read_field_heats(session, take_snapshot(session, session.get_one(t.Meet, meet_id), now))
    heat = field.heat(heat_id)
    again = next((each for each in field.heats if each.again_for == heat_id), None)
    return OneHeat(
        heat_id=heat_id,
        title=heat_name(heat),
        state=heat.state,
        seats=tuple(_line(field, heat, seat) for seat in sorted(heat.seats, key=lambda seat: seat.pad)),
        gaps=_gaps(field, heat),
        again_for=heat_name(field.heat(heat.again_for)) if heat.again_for else "",
        again_as=heat_name(again) if again else "",
        up=tuple(each for each in _up(field) if not each.late_from) if heat is field.called else (),
    )
