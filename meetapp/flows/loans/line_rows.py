"""Writes the waiting line: the rules say how it stands now, the rows follow."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlmodel import col, select

from meetapp.flows.deeds import Work
from meetapp.flows.snapshot import Snapshot
from meetapp.rules.waiting_line import Stand, after_service, place_of, with_head, without
from meetapp.store import field_queries as queries
from meetapp.store import tables as t


def stands_in(work: Work, meet_id: int) -> tuple[Stand, ...]:
    """The line as it stands in the database, in order."""
    return tuple(
        Stand(row.id, row.pilot_id, row.joined_at, row.head_since, row.is_skipped)
        for row in queries.standing_in_line(work.session, meet_id)
    )


def keep_line(
    work: Work,
    meet_id: int,
    line: Sequence[Stand],
    served_id: int | None = None,
    *,
    before: Sequence[Stand] | None = None,
) -> None:
    """Make the rows agree with this line. Who isn't in it any more has left it (served, if it is that pilot).

    `before`: the line as the rows have it, where that is known: the same again needs no reading.
    """
    after = {stand.entry_id: stand for stand in with_head(line, work.now)}
    for stood in stands_in(work, meet_id) if before is None else before:
        stands = after.get(stood.entry_id)
        is_served = stands is None and stood.pilot_id == served_id
        now = stands or stood
        work.change(
            t.LineEntry,
            stood.entry_id,
            {"left_at": None, "was_served": False, "head_since": stood.head_since, "is_skipped": stood.is_skipped},
            {
                "left_at": None if stands else work.now,
                "was_served": is_served,
                "head_since": now.head_since,
                "is_skipped": now.is_skipped,
            },
        )


def serve(work: Work, snapshot: Snapshot, pilot_id: int) -> None:
    """This pilot got a token: they leave the line, and those who were passed once are asked again."""
    line = after_service(snapshot.line, pilot_id)
    keep_line(work, snapshot.meet_id, line, pilot_id, before=snapshot.line)


def back_in_line(work: Work, meet_id: int, served: Mapping[int, datetime]) -> tuple[int, ...]:
    """Who got a token at these moments (by pilot) didn't fly with it: whoever stood in the line has that place again.

    They aren't passed there. The answer names those who are back, in the order of their places.
    """
    standing = {stand.pilot_id for stand in stands_in(work, meet_id)}
    rows = work.session.exec(
        select(t.LineEntry)
        .where(
            t.LineEntry.meet_id == meet_id,
            col(t.LineEntry.pilot_id).in_(served.keys() - standing),
            col(t.LineEntry.was_served),
            col(t.LineEntry.voided_at).is_(None),
        )
        .order_by(col(t.LineEntry.joined_at), col(t.LineEntry.id))
    )
    back = [row for row in rows if row.left_at == served[row.pilot_id]]
    for row in back:
        row.left_at, row.was_served, row.is_skipped = None, False, False
    work.session.flush()
    keep_line(work, meet_id, stands_in(work, meet_id))
    return tuple(row.pilot_id for row in back)


def leave(work: Work, snapshot: Snapshot, pilot_id: int) -> bool:
    """This pilot leaves the line without a token; whether they stood in it."""
    if place_of(snapshot.line, pilot_id) is None:
        return False
    keep_line(work, snapshot.meet_id, without(snapshot.line, pilot_id))
    return True
