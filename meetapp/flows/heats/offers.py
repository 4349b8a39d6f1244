"""How one more pilot gets a seat in a heat of this meet: the smallest change that the sums allow."""

from dataclasses import replace

from meetapp.flows.heats.ground import Ground
from meetapp.rules.heat_joining import Offer
from meetapp.rules.heat_rounds import channels_flown, pilots_to_come
from meetapp.rules.heats import Heat, HeatList, Seat
from meetapp.spectrum.heats import HeatPlace, HeatProblem, joined


def offer_in(ground: Ground, heats: HeatList, pilot_id: int) -> Offer:
    """The offer for a pilot once these heats stand.

    Others keep their places, and their channels wherever that keeps the floors; then the pilot keeps the channel of
    their other heats.
    """

    def offer(heat: Heat) -> tuple[Seat, ...] | None:
        names = {ground.flyers[each].name: each for each in (*heat.pilots, pilot_id) if each in ground.flyers}
        if len(names) <= len(heat.seats):
            return None  # somebody of this heat is not coming any more: they have to leave it first
        places = [HeatPlace(ground.flyers[seat.pilot_id].name, seat.label, seat.mhz, seat.pad) for seat in heat.seats]
        known = own_channels(heats)
        day = _day(ground, heat, pilot_id, known.get(pilot_id))
        found = joined(day, places, ground.flyers[pilot_id].name)
        if found is None:
            return None
        return tuple(Seat(names[place.pilot], place.label, place.mhz, place.pad) for place in found.places)

    return offer


def own_channels(heats: HeatList) -> dict[int, int]:
    """The frequency in MHz that each pilot knows as theirs: what they have flown on, else their first seat to come."""
    to_come = {seat.pilot_id: seat.mhz for heat in reversed(heats) for seat in heat.seats}
    return to_come | channels_flown(heats)


def _day(ground: Ground, heat: Heat, pilot_id: int, mhz: int | None) -> HeatProblem:
    plan = ground.plan
    assert plan is not None  # there are heats, so a plan stands behind them
    members = [ground.flyers[each].as_pilot(None) for each in sorted(heat.pilots)]
    # As if they woke on it: whoever is moved is told something new in any case, so the others' channels come first.
    newcomer = ground.flyers[pilot_id].as_pilot(None)
    newcomer = newcomer if mhz is None else replace(newcomer, wake_mhz=mhz)
    day = HeatProblem(
        (*members, newcomer),
        plan.size,
        1,
        ground.snapshot.floors,
        ground.beside(pilots_to_come(ground.heats) | {pilot_id}),
        ground.snapshot.neighbours,
    )
    return replace(day, pads=plan.pads) if plan.pads else day
