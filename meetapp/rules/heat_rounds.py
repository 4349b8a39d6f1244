"""What is left to fly of a day of heats: which rounds, and by whom."""

from collections.abc import Collection
from dataclasses import dataclass

from meetapp.rules.heats import HeatList, pilots_in

BEGUN = ("called", "flown", "voided")


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rounds that follow one another and are still to be flown by the same pilots."""

    rounds: tuple[int, ...]
    pilots: frozenset[int]


def begun(heats: HeatList) -> HeatList:
    """The heats that stay as they are whatever is planned: called, flown or voided.

    >>> from meetapp.rules.heats import Heat
    >>> [heat.heat_id for heat in begun((Heat(1, 1, 1, (), "flown"), Heat(2, 1, 2, ())))]
    [1]
    """
    return tuple(heat for heat in heats if heat.state in BEGUN)


def left_to_fly(heats: HeatList, rounds: int, pilots: Collection[int]) -> tuple[Stretch, ...]:
    """Who of these pilots has which of so many rounds still to fly, the rounds in order.

    A round is over once all its heats have begun. In a round under way, those have to fly who have not yet; a voided
    heat doesn't count as flown.

    >>> from meetapp.rules.heats import Heat, Seat
    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "flown"), Heat(2, 1, 2, (Seat(8, "R1", 5658, 1),)))
    >>> [(stretch.rounds, sorted(stretch.pilots)) for stretch in left_to_fly(heats, 3, {7, 8})]
    [((1,), [8]), ((2, 3), [7, 8])]
    """
    flown = begun(heats)
    to_come = {heat.round for heat in heats if heat.state == "planned"}
    over = {heat.round for heat in flown} - to_come
    found: list[Stretch] = []
    for round_ in range(1, rounds + 1):
        waiting = frozenset(pilots) - pilots_in(flown, round_)
        if round_ in over or not waiting:
            continue
        if found and found[-1].pilots == waiting and found[-1].rounds[-1] == round_ - 1:
            found[-1] = Stretch((*found[-1].rounds, round_), waiting)
        else:
            found.append(Stretch((round_,), waiting))
    return tuple(found)


def channels_flown(heats: HeatList) -> dict[int, int]:
    """The frequency in MHz that each pilot has flown on last in these heats.

    >>> from meetapp.rules.heats import Heat, Seat
    >>> channels_flown((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "flown"), Heat(2, 2, 1, (Seat(7, "R8", 5917, 1),))))
    {7: 5658}
    """
    return {seat.pilot_id: seat.mhz for heat in begun(heats) for seat in heat.seats}


def pilots_to_come(heats: HeatList) -> frozenset[int]:
    """Everybody with a seat in a heat to come.

    >>> from meetapp.rules.heats import Heat, Seat
    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "flown"), Heat(2, 2, 1, (Seat(8, "R8", 5917, 1),)))
    >>> sorted(pilots_to_come(heats))
    [8]
    """
    return frozenset(seat.pilot_id for heat in heats if heat.state == "planned" for seat in heat.seats)
