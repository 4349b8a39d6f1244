"""The club's pilots as a CSV file that the import reads back to the same."""

from sqlmodel import Session, col, select

from meetapp.flows.csv_cells import csv_text
from meetapp.flows.kits import plans_of
from meetapp.spectrum.channels import name_of
from meetapp.store import tables as t
from meetapp.store.engine import Store

_ABOUT_PILOT = ["name", "board name", "band profile"]


def pilots_csv(store: Store) -> str:
    """Every pilot who isn't retired, with the transmitters that aren't, by name; one row each."""
    with store.read() as session:
        pilots = session.exec(
            select(t.Pilot).where(col(t.Pilot.retired_at).is_(None)).order_by(col(t.Pilot.name), col(t.Pilot.id))
        ).all()
        profiles = {row.id: row.name for row in session.exec(select(t.BandProfile))}
        cells = _transmitter_cells(session)
    most = max((len(cells.get(pilot.id, ())) for pilot in pilots), default=1) or 1
    rows = [
        [
            pilot.name,
            pilot.board_name,
            profiles.get(pilot.band_profile_id or 0, ""),
            *(cell for each in cells.get(pilot.id, ()) for cell in each),
        ]
        for pilot in pilots
    ]
    heading = [*_ABOUT_PILOT, *(words for number in range(1, most + 1) for words in _headings(number))]
    return csv_text([heading, *(row + [""] * (len(heading) - len(row)) for row in rows)])


def _headings(number: int) -> tuple[str, str, str]:
    behind = "" if number == 1 else f" {number}"
    return f"transmitter{behind}", f"transmitter nickname{behind}", f"wake channel{behind}"


def _transmitter_cells(session: Session) -> dict[int, list[tuple[str, str, str]]]:
    plans = plans_of(session)
    cells: dict[int, list[tuple[str, str, str]]] = {}
    rows = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(col(t.PilotTransmitter.retired_at).is_(None))
        .order_by(col(t.PilotTransmitter.id))
    )
    for own, kind in rows:
        wake = "" if own.wake_mhz is None else name_of(own.wake_mhz, plans)
        cells.setdefault(own.pilot_id, []).append((kind.name, own.nickname, wake))
    return cells
