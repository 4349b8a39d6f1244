"""What the poster of a day shows beside its codes to scan: the day, and the club's rules in its own words."""

from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.printing.day import Day, day_of
from meetapp.store.engine import Store


def poster_day(store: Store, meet_id: int) -> Day:
    """The day that a poster is for."""
    with store.read() as session:
        return day_of(session, find_meet(session, meet_id))
