"""Heats at the field as a value: called, flown, voided, missed and left, each with the smallest change for the others.

People know their heat by round and number, their channel and their place on the start line. None of that changes for
anybody who is not named by a step, and a heat that was flown never changes.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal

HeatState = Literal["planned", "called", "flown", "voided"]
WhyMissing = Literal["no_show", "broken", "left", "no_token"]
"""Why a seat stays empty; 'no_token': the heat flew before this pilot's token could go out."""


@dataclass(frozen=True, slots=True)
class Seat:
    """One pilot in a heat: the channel to set and the place on the start line."""

    pilot_id: int
    label: str
    mhz: int
    pad: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A seat that stays empty: the heat flies without this pilot."""

    seat: Seat
    why: WhyMissing


@dataclass(frozen=True, slots=True)
class Heat:
    """A heat by its round and its number in the round. `still_up`: pilots of it who have not landed yet.

    `again_for`: the voided heat that this one repeats.
    """

    heat_id: int
    round: int
    number: int
    seats: tuple[Seat, ...]
    state: HeatState = "planned"
    gaps: tuple[Gap, ...] = ()
    still_up: frozenset[int] = frozenset()
    again_for: int | None = None

    @property
    def pilots(self) -> frozenset[int]:
        """Who flies in it."""
        return frozenset(seat.pilot_id for seat in self.seats)

    def seat_of(self, pilot_id: int) -> Seat | None:
        """The seat of a pilot."""
        return next((seat for seat in self.seats if seat.pilot_id == pilot_id), None)


@dataclass(frozen=True, slots=True)
class HeatRefusal:
    """Why a step isn't taken: one of the words below, with the heat that stands in the way.

    Reasons: heat_unknown, heat_not_planned, heat_not_called, heat_not_flown, heat_empty, another_called,
    pilot_not_in_it, pilot_not_up, pilot_has_seats, pilot_fits_nowhere, not_of_one_round.
    """

    reason: str
    heat: Heat | None = None


HeatList = tuple[Heat, ...]
"""The heats of a meet in order of flying: those begun in the order in which they were called, then those to come."""


def call(heats: HeatList, heat_id: int) -> HeatList | HeatRefusal:
    """Hand out the tokens of a heat: it is called, and no other may be. Called out of turn, it moves up to now.

    >>> call((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),)),), 1)[0].state
    'called'
    """
    heat = _heat(heats, heat_id)
    other = next((each for each in heats if each.state == "called"), None)
    if heat is None or heat.state != "planned":
        return _no_such(heat, "heat_not_planned")
    if other is not None:
        return HeatRefusal("another_called", other)
    if not heat.seats:
        return HeatRefusal("heat_empty", heat)
    begun = tuple(each for each in heats if each.state != "planned")
    to_come = tuple(each for each in heats if each.state == "planned" and each is not heat)
    return (*begun, replace(heat, state="called"), *to_come)


def call_off(heats: HeatList, heat_id: int) -> HeatList | HeatRefusal:
    """Take the call back: the heat is planned again (nobody has flown).

    >>> call_off((Heat(1, 1, 1, (), "called"),), 1)[0].state
    'planned'
    """
    heat = _heat(heats, heat_id)
    if heat is None or heat.state != "called":
        return _no_such(heat, "heat_not_called")
    return _with(heats, replace(heat, state="planned"))


def land(heats: HeatList, heat_id: int, still_up: Collection[int] = ()) -> HeatList | HeatRefusal:
    """A called heat is flown. `still_up`: those who have not landed (and stay on air until they have).

    >>> land((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "called"),), 1, {7})[0].still_up
    frozenset({7})
    """
    heat = _heat(heats, heat_id)
    if heat is None or heat.state != "called":
        return _no_such(heat, "heat_not_called")
    if not heat.pilots.issuperset(still_up):
        return HeatRefusal("pilot_not_in_it", heat)
    return _with(heats, replace(heat, state="flown", still_up=frozenset(still_up)))


def land_late(heats: HeatList, pilot_id: int) -> HeatList | HeatRefusal:
    """Somebody who was still up has landed.

    >>> land_late((Heat(1, 1, 1, (), "flown", still_up=frozenset({7})),), 7)[0].still_up
    frozenset()
    """
    heat = next((each for each in heats if pilot_id in each.still_up), None)
    if heat is None:
        return HeatRefusal("pilot_not_up")
    return _with(heats, replace(heat, still_up=heat.still_up - {pilot_id}))


def on_air(heats: HeatList) -> tuple[Seat, ...]:
    """Who of the heats is on air: the called one, and whoever is still up from those before.

    >>> up, down = Seat(7, "R1", 5658, 1), Seat(8, "R8", 5917, 2)
    >>> [seat.label for seat in on_air((Heat(1, 1, 1, (up, down), "flown", still_up=frozenset({7})),))]
    ['R1']
    """
    return tuple(
        seat
        for heat in heats
        for seat in heat.seats
        if heat.state == "called" or seat.pilot_id in heat.still_up
    )


def miss(heats: HeatList, heat_id: int, pilot_id: int, why: WhyMissing) -> HeatList | HeatRefusal:
    """A pilot doesn't come, or the quad is broken: the heat flies with a gap, and nobody else's seat changes.

    >>> heats = miss((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1), Seat(8, "R8", 5917, 2))),), 1, 7, "no_show")
    >>> heats[0].seats, heats[0].gaps[0].why
    ((Seat(pilot_id=8, label='R8', mhz=5917, pad=2),), 'no_show')
    """
    heat = _heat(heats, heat_id)
    if heat is None or heat.state not in ("planned", "called"):
        return _no_such(heat, "heat_not_planned")
    if heat.seat_of(pilot_id) is None:
        return HeatRefusal("pilot_not_in_it", heat)
    return _with(heats, _without(heat, pilot_id, why))


def leave(heats: HeatList, pilot_id: int) -> HeatList | HeatRefusal:
    """A pilot goes home: a gap in every heat not flown yet; a heat with nobody left in it is dropped.

    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "flown"), Heat(2, 2, 1, (Seat(7, "R1", 5658, 1),)))
    >>> [heat.heat_id for heat in leave(heats, 7)]
    [1]
    """
    to_fly = [heat for heat in heats if heat.state in ("planned", "called") and heat.seat_of(pilot_id)]
    if not to_fly:
        return HeatRefusal("pilot_not_in_it")
    for heat in to_fly:
        heats = _with(heats, _without(heat, pilot_id, "left"))
    return tuple(heat for heat in heats if heat.seats or heat.state != "planned")


def void(
    heats: HeatList, heat_id: int, new_id: int, still_up: Collection[int] = (), absent: Collection[int] = ()
) -> HeatList | HeatRefusal:
    """A heat doesn't count and is flown again by the same pilots with the same seats, as a further heat of its round.

    What was flown stays as it was, marked as voided. `still_up`: who has not landed yet. `absent`: who has left the
    meet. Who was missing is fitted in like anybody who comes late: their seat may be taken by now. The repeat comes
    where the fewest pilots fly twice running, and of such places as late in the round as can be, so that the others'
    turn is put off least; there is none where nobody is left to fly it.

    >>> one, other = (Seat(7, "R1", 5658, 1),), (Seat(8, "R1", 5658, 1),)
    >>> heats = void((Heat(1, 1, 1, one, "flown"), Heat(2, 1, 2, other)), 1, 9)
    >>> [(heat.heat_id, heat.number, heat.state, heat.again_for) for heat in heats]
    [(1, 1, 'voided', None), (2, 2, 'planned', None), (9, 3, 'planned', 1)]
    """
    heat = _heat(heats, heat_id)
    if heat is None or heat.state not in ("called", "flown"):
        return _no_such(heat, "heat_not_flown")
    if not heat.pilots.issuperset(still_up):
        return HeatRefusal("pilot_not_in_it", heat)
    voided = _with(heats, replace(heat, state="voided", still_up=heat.still_up | frozenset(still_up)))
    busy = pilots_in(voided, heat.round).union(absent)
    seats = tuple(seat for seat in heat.seats if seat.pilot_id not in busy)
    if not seats:
        return voided
    return inserted(voided, Heat(new_id, heat.round, next_number(heats, heat.round), seats, again_for=heat_id))


def next_heat_of(heats: HeatList, pilot_id: int) -> tuple[Heat, int] | None:
    """The next heat of a pilot and how many are flown before it, the called one counted; None where there is none.

    A heat to come that has nobody left in it is not flown, so it doesn't count.

    >>> heat, before = next_heat_of((Heat(1, 1, 1, (), "called"), Heat(2, 1, 2, (Seat(7, "R1", 5658, 1),))), 7)
    >>> heat.number, before
    (2, 1)
    """
    before = 0
    for heat in heats:
        if heat.state == "called" or (heat.state == "planned" and heat.seats):
            if pilot_id in heat.pilots:
                return heat, before
            before += 1
    return None


def pilots_in(heats: HeatList, round_: int) -> frozenset[int]:
    """Who flies or has flown in a round; a voided heat doesn't count.

    >>> sorted(pilots_in((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),)), Heat(2, 1, 2, (), "voided")), 1))
    [7]
    """
    counting = (heat.pilots for heat in heats if heat.round == round_ and heat.state != "voided")
    return frozenset[int]().union(*counting)


def next_number(heats: HeatList, round_: int) -> int:
    """The number of a further heat in a round: numbers are never given twice.

    >>> next_number((Heat(1, 1, 1, ()), Heat(2, 1, 2, ())), 1), next_number((), 1)
    (3, 1)
    """
    return max((heat.number for heat in heats if heat.round == round_), default=0) + 1


def inserted(heats: HeatList, heat: Heat) -> HeatList:
    """The list with a further heat: where the fewest pilots fly twice running, then as late in its round as can be.

    >>> one = (Seat(7, "R1", 5658, 1),)
    >>> [heat.heat_id for heat in inserted((Heat(1, 1, 1, ()), Heat(2, 2, 1, one)), Heat(3, 1, 2, one))]
    [3, 1, 2]
    """
    before = [place for place, each in enumerate(heats) if each.state != "planned" or each.round < heat.round]
    earliest = before[-1] + 1 if before else 0
    of_round = [place for place, each in enumerate(heats) if each.round <= heat.round]
    places = range(earliest, max(earliest, of_round[-1] + 1 if of_round else 0) + 1)
    ways = {place: (*heats[:place], heat, *heats[place:]) for place in places}
    return ways[min(places, key=lambda place: (twice_running(ways[place], place), -place))]


def twice_running(heats: Sequence[Heat], place: int) -> int:
    """How many pilots of one heat also fly in the heat before it or after it (a voided one was flown all the same).

    >>> one = (Seat(7, "R1", 5658, 1),)
    >>> twice_running((Heat(1, 1, 1, one), Heat(2, 2, 1, one)), 0)
    1
    """
    beside = [*heats[max(0, place - 1) : place], *heats[place + 1 : place + 2]]
    return sum(len(heats[place].pilots & other.pilots) for other in beside)


def _heat(heats: HeatList, heat_id: int) -> Heat | None:
    return next((heat for heat in heats if heat.heat_id == heat_id), None)


def _no_such(heat: Heat | None, reason: str) -> HeatRefusal:
    return HeatRefusal("heat_unknown") if heat is None else HeatRefusal(reason, heat)


def _with(heats: HeatList, changed: Heat) -> HeatList:
    return tuple(changed if heat.heat_id == changed.heat_id else heat for heat in heats)


def _without(heat: Heat, pilot_id: int, why: WhyMissing) -> Heat:
    gone = tuple(seat for seat in heat.seats if seat.pilot_id == pilot_id)
    rest = tuple(seat for seat in heat.seats if seat.pilot_id != pilot_id)
    return replace(heat, seats=rest, gaps=(*heat.gaps, *(Gap(seat, why) for seat in gone)))
