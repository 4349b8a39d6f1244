"""Fitting one more pilot into heats that people know already, with the smallest change for the others.

Whether pilots can be up together is not decided here: whoever asks hands in an `Offer`, which seats one more pilot in
a heat (see `meetapp.spectrum.heats.refit`).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from meetapp.rules.heats import (
    Heat,
    HeatList,
    HeatRefusal,
    Seat,
    inserted,
    next_number,
    pilots_in,
    twice_running,
)

Offer = Callable[[Heat], tuple[Seat, ...] | None]
"""The seats of a heat with one more pilot in it, as many as can be unchanged; None where that keeps no floor.

For a heat without seats: the newcomer's alone.
"""

OfferIn = Callable[[HeatList], Offer]
"""The offer once these heats stand: what a pilot flies on in one round is what they keep in the next."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to seat a pilot in a round: the heats then, who else is told something new, whether a heat was added."""

    heats: HeatList
    told_anew: frozenset[int]
    is_new_heat: bool


def ways_into_round(heats: HeatList, round_: int, size: int, offer: Offer, new_id: int) -> tuple[Way, ...]:
    """The ways to seat one more pilot in a round, the one with the smallest change first.

    Only heats not called yet, with fewer pilots than `size`. Order: the fewest others told a new channel or place, then
    the fewest flights twice running, then the smallest heat, then the first. A further heat at the end of the round
    comes last: it changes nobody's channel or place, but makes the day longer for all.

    >>> one = Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),))
    >>> way, alone = ways_into_round((one,), 1, 4, lambda heat: (*heat.seats, Seat(9, "R8", 5917, 2)), 5)
    >>> way.heats[0].pilots == {7, 9}, way.told_anew, alone.is_new_heat
    (True, frozenset(), True)
    """
    found = []
    for place, heat in enumerate(heats):
        if heat.round == round_ and heat.state == "planned" and len(heat.seats) < size:
            seats = offer(heat)
            if seats is not None:
                joined = (*heats[:place], seated(heat, seats), *heats[place + 1 :])
                told = frozenset(seat.pilot_id for seat in heat.seats if seat not in seats)
                order = len(told), twice_running(joined, place), len(seats), place
                found.append((order, Way(joined, told, is_new_heat=False)))
    found.sort(key=lambda each: each[0])
    alone = offer(Heat(new_id, round_, 0, ()))
    further = []
    if alone is not None:
        added = inserted(heats, Heat(new_id, round_, next_number(heats, round_), alone))
        further = [Way(added, frozenset(), is_new_heat=True)]
    return (*(way for _, way in found), *further)


def join(
    heats: HeatList, pilot_id: int, size: int, offer_in: OfferIn, new_ids: Iterator[int]
) -> tuple[HeatList, frozenset[int]] | HeatRefusal:
    """Fit a pilot who came late (or came back) into every round that is not over and that they are not in.

    Of each round the way with the smallest change is taken; `offer_in` gets the heats with the rounds before it done.
    Also says who else has to be told something new.

    >>> heats = (Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),), "flown"), Heat(2, 2, 1, (Seat(7, "R1", 5658, 1),)))
    >>> joined, told = join(heats, 9, 4, lambda _: lambda heat: (*heat.seats, Seat(9, "R8", 5917, 2)), iter([5]))
    >>> [sorted(heat.pilots) for heat in joined], sorted(told)
    ([[7], [7, 9]], [])
    """
    told: frozenset[int] = frozenset()
    missing = rounds_without(heats, pilot_id)
    if not missing:
        return HeatRefusal("pilot_has_seats")
    for round_ in missing:
        way = next(iter(ways_into_round(heats, round_, size, offer_in(heats), next(new_ids))), None)
        if way is None:
            return HeatRefusal("pilot_fits_nowhere")
        heats, told = way.heats, told | way.told_anew
    return heats, told - {pilot_id}


def rounds_without(heats: HeatList, pilot_id: int) -> tuple[int, ...]:
    """The rounds with a heat still to be called in which a pilot neither flies nor has flown.

    >>> rounds_without((Heat(1, 1, 1, (Seat(7, "R1", 5658, 1),)), Heat(2, 2, 1, ())), 7)
    (2,)
    """
    to_come = {heat.round for heat in heats if heat.state == "planned"}
    return tuple(sorted(round_ for round_ in to_come if pilot_id not in pilots_in(heats, round_)))


def seated(heat: Heat, seats: tuple[Seat, ...]) -> Heat:
    """The heat with these seats; whoever was missing and now flies is no gap any more.

    >>> from meetapp.rules.heats import Gap
    >>> seat = Seat(7, "R1", 5658, 1)
    >>> seated(Heat(1, 1, 1, (), gaps=(Gap(seat, "no_show"),)), (seat,)).gaps
    ()
    """
    flying = {seat.pilot_id for seat in seats}
    return replace(heat, seats=seats, gaps=tuple(gap for gap in heat.gaps if gap.seat.pilot_id not in flying))
