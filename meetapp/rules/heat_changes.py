"""Heats changed by hand before they are called: two pilots swapped, one moved, one seat set anew.

Whether pilots can be up together is not decided here: an `Offer` seats one more pilot in a heat.
"""

from collections.abc import Callable
from dataclasses import replace

from meetapp.rules.heat_joining import Offer, seated
from meetapp.rules.heats import Heat, HeatList, HeatRefusal, Seat

OfferFor = Callable[[int], Offer]
"""The offer for a pilot by id."""


def swap(
    heats: HeatList, heat_id: int, pilot_id: int, other_id: int, other_pilot_id: int, offer_for: OfferFor
) -> HeatList | HeatRefusal:
    """Two pilots of one round take each other's heat.

    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),)), Heat(2, 1, 2, (Seat(8, "R8", 5917, 1),)))
    >>> swapped = swap(heats, 1, 7, 2, 8, lambda pilot: lambda heat: (*heat.seats, Seat(pilot, "R3", 5732, 1)))
    >>> [sorted(heat.pilots) for heat in swapped]
    [[8], [7]]
    """
    pair = _both(heats, (heat_id, pilot_id), (other_id, other_pilot_id))
    if isinstance(pair, HeatRefusal):
        return pair
    one, other = pair
    return _joined(
        _joined(heats, _without(one, pilot_id), offer_for(other_pilot_id)),
        _without(other, other_pilot_id),
        offer_for(pilot_id),
    )


def move(heats: HeatList, heat_id: int, pilot_id: int, to_id: int, offer: Offer) -> HeatList | HeatRefusal:
    """A pilot flies in another heat of the round; nobody else does.

    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),)), Heat(2, 1, 2, (Seat(8, "R8", 5917, 1),)))
    >>> moved = move(heats, 1, 7, 2, lambda heat: (*heat.seats, Seat(7, "R1", 5658, 2)))
    >>> [sorted(heat.pilots) for heat in moved]
    [[], [7, 8]]
    """
    pair = _both(heats, (heat_id, pilot_id), (to_id, None))
    if isinstance(pair, HeatRefusal):
        return pair
    one, other = pair
    left = tuple(_without(one, pilot_id) if heat is one else heat for heat in heats)
    return _joined(left, other, offer)


def reseat(heats: HeatList, heat_id: int, seat: Seat) -> HeatList | HeatRefusal:
    """A pilot sets another channel or stands at another place; whoever stands there takes the place left free.

    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1), Seat(8, "R8", 5917, 2))),)
    >>> [(seat.pilot_id, seat.label, seat.pad) for seat in reseat(heats, 1, Seat(7, "R2", 5695, 2))[0].seats]
    [(8, 'R8', 1), (7, 'R2', 2)]
    """
    heat = _planned(heats, heat_id, seat.pilot_id)
    if isinstance(heat, HeatRefusal):
        return heat
    before = next(each for each in heat.seats if each.pilot_id == seat.pilot_id)
    others = (each for each in heat.seats if each.pilot_id != seat.pilot_id)
    moved = [replace(each, pad=before.pad) if each.pad == seat.pad else each for each in others]
    return _with(heats, replace(heat, seats=tuple(sorted([*moved, seat], key=lambda each: each.pad))))


def _both(
    heats: HeatList, one: tuple[int, int], other: tuple[int, int | None]
) -> tuple[Heat, Heat] | HeatRefusal:
    first, second = _planned(heats, *one), _planned(heats, *other)
    if isinstance(first, HeatRefusal):
        return first
    if isinstance(second, HeatRefusal):
        return second
    if first is second or first.round != second.round:
        return HeatRefusal("not_of_one_round", second)
    return first, second


def _planned(heats: HeatList, heat_id: int, pilot_id: int | None) -> Heat | HeatRefusal:
    heat = next((each for each in heats if each.heat_id == heat_id), None)
    if heat is None:
        return HeatRefusal("heat_unknown")
    if heat.state != "planned":
        return HeatRefusal("heat_not_planned", heat)
    if pilot_id is not None and heat.seat_of(pilot_id) is None:
        return HeatRefusal("pilot_not_in_it", heat)
    return heat


def _joined(heats: HeatList | HeatRefusal, heat: Heat, offer: Offer) -> HeatList | HeatRefusal:
    """The heats with this one in its place, and one more pilot in it."""
    if isinstance(heats, HeatRefusal):
        return heats
    seats = offer(heat)
    return HeatRefusal("pilot_fits_nowhere", heat) if seats is None else _with(heats, seated(heat, seats))


def _with(heats: HeatList, changed: Heat) -> HeatList:
    return tuple(changed if heat.heat_id == changed.heat_id else heat for heat in heats)


def _without(heat: Heat, pilot_id: int) -> Heat:
    return replace(heat, seats=tuple(seat for seat in heat.seats if seat.pilot_id != pilot_id))
