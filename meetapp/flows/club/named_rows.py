"""What sites, band profiles and kinds have in common: found by id, named once, retired and brought back.

A retired one stays where it is used and is offered no more.
"""

from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.readings import one_line, same_name
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class Listed:
    """A table whose rows have a name and can be retired, the word for one of them, and the address of their list."""

    table: type[t.Site] | type[t.BandProfile] | type[t.TransmitterKind]
    noun: str
    address: str


SITES = Listed(t.Site, "site", "/organiser/sites")
BAND_PROFILES = Listed(t.BandProfile, "band profile", "/organiser/bands")
KINDS = Listed(t.TransmitterKind, "kind", "/organiser/kinds")


def row_of(session: Session, what: Listed, row_id: int) -> Any:
    """The row with this id.

    Raises:
        NotFound: there is none.
    """
    row = session.get(what.table, row_id)
    if row is None:
        raise NotFound(f"This {what.noun} isn't there.", "Go back to the list and look again.")
    return row


def give_name(session: Session, what: Listed, row: Any, typed: str) -> None:
    """Name the row as typed, on one line.

    Raises:
        Refused: another one has this name, capitals and spaces aside.
    """
    with session.no_autoflush:
        others: list[Any] = [other for other in session.exec(select(what.table)) if other is not row]
    taken = next((other for other in others if same_name(other.name) == same_name(typed)), None)
    if taken is not None:
        state = ", which is retired" if taken.retired_at else ""
        raise Refused(f"There is a {what.noun} named '{taken.name}' already{state}.", "Choose another name.", "name")
    row.name = one_line(typed)


def retire(store: Store, deed: Deed, what: Listed, row_id: int) -> Answer:
    """Offer it no more; what uses it keeps it. Retiring it twice changes nothing."""

    def work(work: Work) -> Answer:
        row = row_of(work.session, what, row_id)
        if row.retired_at is None:
            row.retired_at = work.now
            work.session.add(row)
            work.note("retired", _facts(what, row))
        return Answer(what.address, f"'{row.name}' is retired: it is not offered any more. What uses it keeps it.")

    return do_once(store, deed, work)


def bring_back(store: Store, deed: Deed, what: Listed, row_id: int) -> Answer:
    """Offer it again. Doing it twice changes nothing."""

    def work(work: Work) -> Answer:
        row = row_of(work.session, what, row_id)
        if row.retired_at is not None:
            row.retired_at = None
            work.session.add(row)
            work.note("brought_back", _facts(what, row))
        return Answer(f"{what.address}/{row_id}", f"'{row.name}' is offered again.")

    return do_once(store, deed, work)


def _facts(what: Listed, row: Any) -> dict[str, Any]:
    return {"noun": what.noun, "row": row.id, "name": row.name}
