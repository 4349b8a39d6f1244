"""Where the heats stand, for those who only look: the desk's first page, the board, a pilot's own page."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session

from meetapp.flows.heats.field_heats import FieldHeats, read_field_heats
from meetapp.flows.heats.heat_words import heat_name, when_words
from meetapp.flows.heats.power_moment import power_moment
from meetapp.flows.heats.seat_checks import sort_seats
from meetapp.flows.loans.air_words import large_label
from meetapp.flows.snapshot import Snapshot
from meetapp.rules.heats import Heat, Seat
from meetapp.store import field_queries as queries


@dataclass(frozen=True, slots=True)
class ShownSeat:
    """A seat as it reads from afar: the channel's name in large type, its MHz, the board name."""

    label: str
    mhz: int
    who: str


@dataclass(frozen=True, slots=True)
class HeatsNow:
    """The heat in the air ('' for none) and the next one with its seats in order of their places."""

    in_air: str
    next_heat: str
    next_seats: tuple[ShownSeat, ...]


@dataclass(frozen=True, slots=True)
class OwnHeat:
    """A pilot's next heat. `when`: 'now', 'next', 'after the next one' and so on.

    `place`: their place in the order of switching on, of `of` (None: they have no token of it).
    `is_up`: their picture was seen. `why_waits`: why their token can't go out, once it is called ('' where it can).
    """

    title: str
    pad: int
    label: str
    mhz: int
    token_label: str
    when: str
    place: int | None = None
    of: int = 0
    is_up: bool = False
    why_waits: str = ""

    @property
    def is_now(self) -> bool:
        """Whether the heat is called."""
        return self.when == NOW


NOW = "now"


def field_of(session: Session, snapshot: Snapshot) -> FieldHeats | None:
    """The heats of a meet beside its snapshot; None where it has none."""
    return read_field_heats(session, snapshot) if queries.has_heats(session, snapshot.meet_id) else None


def heats_now(session: Session, snapshot: Snapshot) -> HeatsNow | None:
    """Where the heats of a meet stand; None where it has none, or all are over."""
    field = field_of(session, snapshot)
    coming = next(iter(field.to_come), None) if field else None
    if field is None or (field.called is None and coming is None):
        return None
    return HeatsNow(
        heat_name(field.called) if field.called else "",
        heat_name(coming) if coming else "",
        _shown(snapshot, coming.seats if coming else ()),
    )


def _shown(snapshot: Snapshot, seats: Sequence[Seat]) -> tuple[ShownSeat, ...]:
    return tuple(
        ShownSeat(large_label(snapshot, seat.label, seat.mhz), seat.mhz, snapshot.people[seat.pilot_id].board_name)
        for seat in sorted(seats, key=lambda seat: seat.pad)
        if seat.pilot_id in snapshot.people
    )


def own_heats(session: Session, snapshot: Snapshot) -> dict[int, OwnHeat]:
    """The next heat of each pilot who has a seat in one, by pilot id; the one in the air comes first."""
    field = field_of(session, snapshot)
    if field is None:
        return {}
    found = _in_the_air(session, field, field.called) if field.called is not None else {}
    for before, heat in enumerate(field.to_come):
        for seat in heat.seats:
            if seat.pilot_id not in found:
                found[seat.pilot_id] = _own(field, heat, seat, when_words(before))
    return found


def _own(field: FieldHeats, heat: Heat, seat: Seat, when: str) -> OwnHeat:
    token = field.snapshot.token(field.kits[heat.heat_id, seat.pilot_id].token_id)
    return OwnHeat(
        title=heat_name(heat),
        pad=seat.pad,
        label=large_label(field.snapshot, seat.label, seat.mhz),
        mhz=seat.mhz,
        token_label=token.label if token else "",
        when=when,
    )


def _in_the_air(session: Session, field: FieldHeats, heat: Heat) -> dict[int, OwnHeat]:
    moment = power_moment(field)
    found = {}
    for seat in heat.seats:
        step = moment.step_of(seat.pilot_id)
        found[seat.pilot_id] = replace(
            _own(field, heat, seat, NOW),
            place=step.place if step else None,
            of=len(moment.steps),
            is_up=step is not None and step.is_up,
            why_waits=_why_waits(session, field, heat, seat),
        )
    return found


def _why_waits(session: Session, field: FieldHeats, heat: Heat, seat: Seat) -> str:
    sorted_seats = sort_seats(session, field, heat, [seat] if seat in field.without_token else [])
    near, staying = [each.why for each in sorted_seats.too_near], [each.why for each in sorted_seats.staying]
    return next(iter(near + staying), "")
