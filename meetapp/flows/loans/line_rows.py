"""Writes the waiting line: the rules say how it stands now, the rows follow."""

from collections.abc import Sequence

from meetapp.flows.deeds import Work
from meetapp.flows.snapshot import Snapshot
from meetapp.rules.waiting_line import Stand, after_service, place_of, with_head, without
from meetapp.store import field_queries as queries


def stands_in(work: Work, meet_id: int) -> tuple[Stand, ...]:
    """The line as it stands in the database, in order."""
    return tuple(
        Stand(row.id, row.pilot_id, row.joined_at, row.head_since, row.is_skipped)
        for row in queries.standing_in_line(work.session, meet_id)
    )


def keep_line(work: Work, meet_id: int, line: Sequence[Stand], served_id: int | None = None) -> None:
    """Make the rows agree with this line. Who isn't in it any more has left it (served, if it is that pilot)."""
    stands = {stand.entry_id: stand for stand in with_head(line, work.now)}
    for row in queries.standing_in_line(work.session, meet_id):
        stand = stands.get(row.id)
        if stand is None:
            row.left_at = work.now
            row.was_served = row.pilot_id == served_id
        else:
            row.head_since, row.is_skipped = stand.head_since, stand.is_skipped
    work.session.flush()


def serve(work: Work, snapshot: Snapshot, pilot_id: int) -> None:
    """This pilot got a token: they leave the line, and those who were passed once are asked again."""
    if not snapshot.line:
        return
    keep_line(work, snapshot.meet_id, after_service(snapshot.line, pilot_id), pilot_id)


def leave(work: Work, snapshot: Snapshot, pilot_id: int) -> bool:
    """This pilot leaves the line without a token; whether they stood in it."""
    if place_of(snapshot.line, pilot_id) is None:
        return False
    keep_line(work, snapshot.meet_id, without(snapshot.line, pilot_id))
    return True
