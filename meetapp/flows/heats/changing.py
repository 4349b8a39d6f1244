"""Heats changed by hand: looked at first, then done as it was looked at; below a floor only with a written reason."""

from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.changes import change_of, heat_of, places_of
from meetapp.flows.heats.ground import read_ground
from meetapp.flows.heats.heat_rows import current_plan, save_heats
from meetapp.flows.heats.heat_views import HeatView, SeatView, channel_words, heat_views, people_of
from meetapp.flows.heats.heat_words import heat_name
from meetapp.flows.heats.making import read_meet
from meetapp.flows.heats.wishes import Change, Wish
from meetapp.flows.loans.air_plan import check_objections
from meetapp.flows.planning.meet_rows import lock_unclosed
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class ChangeLook:
    """A change as it would be done: the heats that it touches as they would stand, nothing written."""

    meet_id: int
    meet_name: str
    change: Change
    heats: tuple[HeatView, ...]


@dataclass(frozen=True, slots=True)
class SeatPage:
    """A seat of a heat to come and what may be changed about it.

    `channels`: (MHz, text) pairs; `others`: ("heat id-pilot id", text) of the round's other heats to come; `heats`:
    (heat id, text) of those with room.
    """

    meet_id: int
    meet_name: str
    heat: HeatView
    seat: SeatView
    may_change: bool
    channels: tuple[tuple[int, str], ...]
    pads: int
    others: tuple[tuple[str, str], ...]
    heats: tuple[tuple[int, str], ...]


def seat_page(store: Store, meet_id: int, heat_id: int, pilot_id: int, now: datetime) -> SeatPage:
    """Read what can be changed about a seat.

    Raises: NotFound where there is no such heat; Refused where the pilot has no seat in it.
    """
    ground = read_meet(store, meet_id, now)
    heat = heat_of(ground, heat_id)
    views = heat_views(ground.heats, people_of(ground, ground.heats, ground.pads))
    view = next(each for each in views if each.heat_id == heat_id)
    seat = next((each for each in view.seats if each.pilot_id == pilot_id), None)
    if seat is None:
        raise Refused("This pilot has no seat there any more.", "Look at the heats again.")
    size = ground.plan.size if ground.plan else 0
    around = [
        each
        for each in ground.heats
        if each.state == "planned" and each.round == heat.round and each.heat_id != heat_id
    ]
    flyer = ground.flyers.get(pilot_id)
    return SeatPage(
        meet_id=meet_id,
        meet_name=ground.snapshot.meet_name,
        heat=view,
        seat=seat,
        may_change=heat.state == "planned" and ground.snapshot.state != "closed",
        channels=tuple((each.mhz, channel_words(each.label, each.mhz)) for each in flyer.settings) if flyer else (),
        pads=places_of(ground, heat),
        others=tuple(
            (f"{each.heat_id}-{other.pilot_id}", f"{ground.names[other.pilot_id]} (heat {each.number})")
            for each in around
            for other in each.seats
        ),
        heats=tuple(
            (each.heat_id, f"{heat_name(each)} ({len(each.seats)} of {size})")
            for each in around
            if len(each.seats) < size
        ),
    )


def look_at_change(store: Store, meet_id: int, wish: Wish, now: datetime) -> ChangeLook:
    """Work out a change and write nothing.

    Raises: Refused or NotFound where it can't be done at all.
    """
    ground = read_meet(store, meet_id, now)
    change = change_of(ground, wish)
    touched = {heat.heat_id for heat in change.changed}
    views = heat_views(change.heats, people_of(ground, change.heats, ground.pads))
    return ChangeLook(
        meet_id, ground.snapshot.meet_name, change, tuple(view for view in views if view.heat_id in touched)
    )


def change_heats(
    store: Store, deed: Deed, meet_id: int, wish: Wish, basis: str, override_reason: str = "", *, home: str = ""
) -> Answer:
    """Do a change as it was looked at. `home`: where to go on, if not to the organiser's heats.

    Raises:
        Conflict: it would come to something else by now (`basis` was another).
        Refused: it can't be done, or it breaks a floor and no reason is given.
    """

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        ground = read_ground(work.session, meet, work.now)
        change = change_of(ground, wish)
        if change.basis != basis:
            raise Conflict("The heats have changed since you looked.", "Look at what it comes to now, then do it.")
        reason = check_objections(work.actor, change.words.rstrip("."), change.broken, override_reason)
        plan = current_plan(work.session, meet_id)
        assert plan is not None  # a change is worked out only where there is one
        save_heats(work.session, plan, change.heats, ground.kit_of, work.now)
        is_undoable = meet.state == "open"
        line_id = work.note(change.kind, dict(change.facts), meet_id=meet_id, is_undoable=is_undoable)
        if reason:
            told = {"reason": reason, "shortfalls": list(change.broken), "pilot": change.facts["pilot"]}
            work.note("override", told, meet_id=meet_id)
        undo_id = line_id if is_undoable else None
        return Answer(home or f"/organiser/meets/{meet_id}/heats", _notice(change), undo_id=undo_id)

    return do_once(store, deed, work)


def _notice(change: Change) -> str:
    names = dict.fromkeys(each.name for each in change.told)
    return f"{change.words} Tell {', '.join(names)}." if names else change.words
