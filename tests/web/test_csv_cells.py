"""No cell of any CSV file that the club takes away runs in a spreadsheet, whoever typed what."""

import csv
import io

import pytest
from sqlalchemy import inspect
from sqlmodel import select

from meetapp.flows.csv_cells import csv_text, plain_cell
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import Desk
from tests.meet_day import fly_a_day
from tests.surfer import Surfer
from tests.walk import addresses
from tests.world import Clock, World

# OWASP, 'CSV Injection': = + - @ tab, carriage return, and their full-width forms.
BEGINNINGS = ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", " =", "'=", "\N{MINUS SIGN}"]

# What people type and a table shows. What reads as something else (letters of plans, tunings, states) stays.
TYPED = {
    t.Pilot: ("name", "board_name"),
    t.PilotTransmitter: ("nickname",),
    t.TransmitterKind: ("name",),
    t.BandProfile: ("name",),
    t.Token: ("label", "code"),
    t.LoanSetting: ("label",),
    t.Loan: ("holder_name", "override_reason"),
    t.ClashReport: ("note",),
    t.Meet: ("name",),
    t.JournalLine: ("actor_name",),
}


def type_before(desk: Desk, beginning: str, typed: dict[tuple[str, str, int], str]) -> None:
    """Put these signs in front of everything that people typed. `typed`: what stood there at first."""
    with desk.store.write() as session:
        for table, names in TYPED.items():
            for row in session.exec(select(table)):
                for name in names:
                    key = table.__name__, name, inspect(row).identity[0]
                    setattr(row, name, beginning + typed.setdefault(key, getattr(row, name)))
        session.commit()


def cells_of(text: str) -> list[str]:
    return [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]


def runs(cell: str) -> bool:
    """Whether a spreadsheet may take the cell for a formula, judged without the program's own rule."""
    return cell[:1] in tuple("\t\r\n") or cell.lstrip()[:1] in tuple("=+-@＝＋－＠\N{MINUS SIGN}")


def test_no_cell_of_any_table_runs_in_a_spreadsheet(
    organiser: Surfer, store: Store, world: World, clock: Clock
) -> None:
    desk = Desk(store, world, clock)
    fly_a_day(desk)
    tables = [path.replace("{meet_id}", str(world.meet)) for path in addresses("GET") if path.endswith(".csv")]
    assert len(tables) >= 4
    typed: dict[tuple[str, str, int], str] = {}
    for beginning in BEGINNINGS:
        type_before(desk, beginning, typed)
        cells: list[str] = []
        for path in tables:
            answer = organiser.client.get(path)
            assert answer.status_code == 200, path
            cells += cells_of(answer.content.decode("utf-8-sig"))
        assert [cell for cell in cells if runs(cell)] == []
        assert {f"{beginning}Ana", f"{beginning}=by the second gate"} <= {plain_cell(cell) for cell in cells}


@pytest.mark.parametrize("beginning", BEGINNINGS, ids=repr)
def test_a_cell_reads_back_as_it_was_written(beginning: str) -> None:
    rows = [[beginning, f"{beginning}1+1", f"''{beginning}x"], [f"x{beginning}", 'a "b", c', ""], ["'", "'tis", "-3"]]
    read = [[plain_cell(cell) for cell in row] for row in csv.reader(io.StringIO(csv_text(rows), newline=""))]
    assert read == rows
