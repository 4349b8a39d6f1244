"""Changes of heats by hand, worked out and not written: what it comes to, who is told something new, what it breaks."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import count
from typing import Any

from meetapp.flows.errors import MeetError, NotFound, Refused
from meetapp.flows.heats.ground import Ground, check_can_be_planned
from meetapp.flows.heats.heat_views import channel_words
from meetapp.flows.heats.heat_words import heat_name, taken
from meetapp.flows.heats.offers import offer_in, own_channels
from meetapp.flows.heats.wishes import Change, FitIn, Move, Reseat, Swap, TakeOut, Told, Wish
from meetapp.rules import heat_changes, heat_joining
from meetapp.rules import heats as rules
from meetapp.rules.heat_rounds import pilots_to_come
from meetapp.rules.heats import Heat, HeatList, HeatRefusal, Seat
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import shortfalls


def change_of(ground: Ground, wish: Wish) -> Change:
    """Work out a change of the heats to come.

    Raises: Refused or NotFound where it can't be done at all (a floor alone is no reason: see `broken`).
    """
    if ground.snapshot.state == "closed":
        raise Refused(f"The meet '{ground.snapshot.meet_name}' is closed: nothing in it changes any more.")
    if ground.plan is None:
        raise Refused("This meet has no heats yet.", "Make them first.")
    match wish:
        case Swap():
            return _swapped(ground, wish)
        case Move():
            return _moved(ground, wish)
        case Reseat():
            return _reseated(ground, wish)
        case FitIn():
            return _fitted_in(ground, wish)
        case TakeOut():
            return _taken_out(ground, wish)


def _swapped(ground: Ground, wish: Swap) -> Change:
    check_can_be_planned(ground, _flying(ground, wish.pilot_id, wish.other_pilot_id))

    def offer_for(pilot_id: int) -> heat_joining.Offer:
        return _offer_or_own(ground, pilot_id)

    after = heat_changes.swap(
        ground.heats, wish.heat_id, wish.pilot_id, wish.other_heat_id, wish.other_pilot_id, offer_for
    )
    heat = heat_of(ground, wish.heat_id)
    facts = {"pilot": wish.pilot_id, "other_pilot": wish.other_pilot_id, "round": heat.round}
    words = f"{ground.names[wish.pilot_id]} and {ground.names[wish.other_pilot_id]} swap heats in round {heat.round}."
    return _change(ground, "heat_pilots_swapped", facts, words, taken(after))


def _moved(ground: Ground, wish: Move) -> Change:
    check_can_be_planned(ground, _flying(ground, wish.pilot_id))
    after = heat_changes.move(
        ground.heats, wish.heat_id, wish.pilot_id, wish.to_heat_id, _offer_or_own(ground, wish.pilot_id)
    )
    heats = taken(after)
    heat = heat_of(ground, wish.to_heat_id)
    facts = {"pilot": wish.pilot_id, "round": heat.round, "number": heat.number}
    words = f"{ground.names[wish.pilot_id]} flies in {heat_name(heat).lower()}."
    return _change(ground, "heat_pilot_moved", facts, words, heats)


def _offer_or_own(ground: Ground, pilot_id: int) -> heat_joining.Offer:
    """The smallest change that keeps the floors; where none does, the pilot's own channel at a free place.

    What that breaks is said, and takes a written reason.
    """
    offer = offer_in(ground, ground.heats, pilot_id)

    def offer_or_own(heat: Heat) -> tuple[Seat, ...] | None:
        return offer(heat) or _beside(ground, heat, pilot_id)

    return offer_or_own


def _beside(ground: Ground, heat: Heat, pilot_id: int) -> tuple[Seat, ...] | None:
    plan, flyer = ground.plan, ground.flyers[pilot_id]
    own = own_channels(ground.heats).get(pilot_id)
    setting = next((each for each in flyer.settings if each.mhz == own), None)
    if plan is None or setting is None or len(heat.seats) >= plan.size:
        return None
    used = {seat.pad for seat in heat.seats}
    pad = next(pad for pad in count(1) if pad not in used)
    return (*heat.seats, Seat(pilot_id, setting.label, setting.mhz, pad)) if pad <= (plan.pads or pad) else None


def _reseated(ground: Ground, wish: Reseat) -> Change:
    flyer = ground.flyers[_flying(ground, wish.pilot_id)[0]]
    setting = next((each for each in flyer.settings if each.mhz == wish.mhz), None)
    if setting is None:
        raise Refused(f"{flyer.name} can't set {wish.mhz} MHz with any token of this meet.", field="mhz")
    heat = heat_of(ground, wish.heat_id)
    _check_pad(ground, heat, wish.pad)
    seat = Seat(wish.pilot_id, setting.label, wish.mhz, wish.pad)
    heats = taken(heat_changes.reseat(ground.heats, heat.heat_id, seat))
    if wish.is_everywhere:
        for other in heats:
            known = other.seat_of(wish.pilot_id)
            if other.state == "planned" and known is not None:
                heats = taken(heat_changes.reseat(heats, other.heat_id, replace(seat, pad=known.pad)))
    facts = {
        "pilot": wish.pilot_id,
        "round": heat.round,
        "number": heat.number,
        "label": setting.label,
        "mhz": wish.mhz,
        "pad": wish.pad,
    }
    where = heat_name(heat).lower()
    words = f"{flyer.name} sets {channel_words(setting.label, wish.mhz)} on pad {wish.pad} in {where}."
    return _change(ground, "heat_seat_changed", facts, words, heats)


def _check_pad(ground: Ground, heat: Heat, pad: int) -> None:
    last = places_of(ground, heat)
    if not 1 <= pad <= last:
        raise Refused(f"The start line has places from 1 to {last}.", field="pad")


def places_of(ground: Ground, heat: Heat) -> int:
    """How many places a heat's start line has: those of the line, else as many as can fly at once."""
    assert ground.plan is not None
    return ground.plan.pads or max(ground.plan.size, *(seat.pad for seat in heat.seats), 1)


def _fitted_in(ground: Ground, wish: FitIn) -> Change:
    assert ground.plan is not None
    check_can_be_planned(ground, _flying(ground, wish.pilot_id))
    outcome = heat_joining.join(
        ground.heats,
        wish.pilot_id,
        ground.plan.size,
        lambda heats: offer_in(ground, heats, wish.pilot_id),
        count(-1, -1),
    )
    name = ground.names[wish.pilot_id]
    if isinstance(outcome, HeatRefusal):
        raise _fit_refused(outcome, name)
    heats, _told = outcome
    rounds = sorted({heat.round for heat in heats if heat not in ground.heats and wish.pilot_id in heat.pilots})
    facts = {"pilot": wish.pilot_id, "rounds": rounds}
    return _change(ground, "heat_pilot_fitted_in", facts, f"{name} flies in the rounds to come.", heats)


def _fit_refused(refusal: HeatRefusal, name: str) -> MeetError:
    if refusal.reason == "pilot_has_seats":
        return Refused(f"{name} has a seat in every round that is not over.", "Look at the heats.")
    return Refused(
        f"{name} fits in no heat to come, and can't fly alone, above the floors of this meet.",
        "Give them another transmitter for today, or plan the heats again.",
    )


def _taken_out(ground: Ground, wish: TakeOut) -> Change:
    called = next((heat for heat in ground.heats if heat.state == "called" and wish.pilot_id in heat.pilots), None)
    if called is not None:
        name = heat_name(called)
        raise Refused(f"{name} is called with them in it.", "Settle that on the desk's page of heats first.")
    heats = taken(rules.leave(ground.heats, wish.pilot_id))
    seats = sum(wish.pilot_id in heat.pilots for heat in ground.heats if heat.state == "planned")
    words = f"{ground.names[wish.pilot_id]} flies in no more heats; their places stay empty."
    return _change(ground, "heat_left", {"pilot": wish.pilot_id, "count": seats}, words, heats)


def heat_of(ground: Ground, heat_id: int) -> Heat:
    """A heat by its id. Raises NotFound."""
    heat = next((heat for heat in ground.heats if heat.heat_id == heat_id), None)
    if heat is None:
        raise NotFound("This heat isn't there.", "Look at the heats again: they may have been made anew.")
    return heat


def _flying(ground: Ground, *pilot_ids: int) -> tuple[int, ...]:
    if any(pilot_id not in ground.flyers for pilot_id in pilot_ids):
        raise Refused("This pilot is not coming any more, or has no transmitter.", "Take them out of the heats.")
    return pilot_ids


def _change(ground: Ground, kind: str, facts: Mapping[str, Any], words: str, heats: HeatList) -> Change:
    before = {heat.heat_id: heat for heat in ground.heats}
    changed = tuple(heat for heat in heats if before.get(heat.heat_id) != heat)
    if not changed:
        raise Refused("That is how it is already.", "Choose something else.")
    for heat in changed:
        _check_tokens(ground, heat)
    named = [facts.get("pilot"), facts.get("other_pilot")]
    told = sorted(_told(ground, heats), key=lambda each: (each[0] not in named, each[1].name, each[1].round))
    broken = tuple(line for heat in changed for line in _broken(ground, before.get(heat.heat_id), heat))
    rows = tuple(row for _pilot_id, row in told)
    basis = hashlib.sha256(repr((kind, sorted(facts.items()), changed, broken)).encode()).hexdigest()
    return Change(kind, facts, words, heats, changed, rows, broken, basis)


def _check_tokens(ground: Ground, heat: Heat) -> None:
    """Raise Refused where two pilots of a heat would need one token."""
    holder: dict[int, int] = {}
    for seat in heat.seats:
        token_id = ground.kit_at(heat, seat).token_id
        if token_id in holder:
            both = f"{ground.names[holder[token_id]]} and {ground.names[seat.pilot_id]}"
            where = heat_name(heat).lower()
            raise Refused(f"{both} would need the same token in {where}.", "Choose another channel for one of them.")
        holder[token_id] = seat.pilot_id


def _told(ground: Ground, heats: HeatList) -> Iterator[tuple[int, Told]]:
    """Who knows something else than what stands from now on, by round."""
    before, after = _seats_by_round(ground.heats), _seats_by_round(heats)
    for key in before.keys() | after.keys():
        if before.get(key) != after.get(key):
            pilot_id, round_ = key
            yield pilot_id, Told(ground.names[pilot_id], round_, before.get(key, ""), after.get(key, ""))


def _seats_by_round(heats: HeatList) -> dict[tuple[int, int], str]:
    return {
        (seat.pilot_id, heat.round): f"heat {heat.number}, pad {seat.pad}, {channel_words(seat.label, seat.mhz)}"
        for heat in heats
        if heat.state == "planned"
        for seat in heat.seats
    }


def _broken(ground: Ground, before: Heat | None, heat: Heat) -> Iterator[str]:
    """What is below a floor in a heat now and was not before, in words."""
    known = set(_shortfalls(ground, before)) if before else set()
    where = heat_name(heat)
    for sentence in _shortfalls(ground, heat):
        if sentence not in known:
            yield f"{where}: {sentence}"


def _shortfalls(ground: Ground, heat: Heat) -> Iterator[str]:
    on_air = list(ground.beside(pilots_to_come(ground.heats) | heat.pilots))
    # From the lowest up, so that a set that only stands differently on the line breaks nothing new.
    for seat in sorted(heat.seats, key=lambda seat: (seat.mhz, seat.pilot_id)):
        carrier = Carrier(seat.mhz, ground.kit_at(heat, seat).width_mhz)
        for each in shortfalls(on_air, carrier, ground.snapshot.floors, ground.snapshot.neighbours):
            yield each.sentence
        on_air.append(carrier)
