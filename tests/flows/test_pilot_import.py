"""Pilots from a list: every bad row is named, all or none are taken, and an export reads back to the same."""

from difflib import get_close_matches

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlmodel import select

from meetapp.flows.club import pilot_import, pilots
from meetapp.flows.club.pilot_export import pilots_csv
from meetapp.flows.club.pilot_import import import_pilots, preview
from meetapp.flows.club.pilot_sheet import ROWS_MAX, read_sheet, text_from
from meetapp.flows.club.pilots import PilotDraft
from meetapp.flows.csv_cells import csv_text, plain_cell, safe_cell
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Refused
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import World, make_club

ORGANISER = Actor("organiser", "Organiser", session_id=1)


@pytest.fixture
def club(store: Store) -> World:
    """A club without pilots."""
    world = World()
    with store.write() as session:
        make_club(session, world)
        session.commit()
    return world


def owned(store: Store) -> dict[str, list[tuple[str, str, int | None]]]:
    """Each pilot's transmitters as (kind, nickname, wake MHz), by the pilot's name."""
    with store.read() as session:
        kinds = {row.id: row.name for row in session.exec(select(t.TransmitterKind))}
        found: dict[str, list[tuple[str, str, int | None]]] = {
            row.name: [] for row in session.exec(select(t.Pilot))
        }
        names = {row.id: row.name for row in session.exec(select(t.Pilot))}
        for own in session.exec(select(t.PilotTransmitter).order_by(t.PilotTransmitter.id)):  # type: ignore[arg-type]
            found[names[own.pilot_id]].append((kinds[own.kind_id], own.nickname, own.wake_mhz))
    return found


def reasons(store: Store, text: str) -> dict[int, str]:
    return {bad.row: bad.reason for bad in preview(store, text).bad}


@pytest.mark.parametrize(
    "text",
    [
        "name,transmitter,wake channel\nGus,analogue R,R3\nHal,,\n",
        "Pilot;Kind;Wakes on\r\nGus;analogue R;5732\r\nHal;;\r\n",
        "Transmitter\tWake\tPilot name\nanalogue R\tR3\tGus\n\t\tHal",
        "\ufeffName,Club number,VTX,wake\nGus,17,Analogue  r,r3 \n\n Hal ,18,,",
        "Gus;analogue R;R3\nHal",
        '"Gus", "analogue R", "R3"\n"Hal",,',
        "First name,Last name,vtx,channel\nGus,,analogue R,R3\n,Hal,,",
    ],
    ids=["commas", "semicolons", "tabs", "other columns", "no heading", "quoted", "two names"],
)
def test_a_list_is_read_however_it_is_written(store: Store, club: World, text: str) -> None:
    assert preview(store, text).bad == ()
    import_pilots(store, deed(ORGANISER), text)
    assert owned(store) == {"Gus": [("analogue R", "", 5732)], "Hal": []}
    assert journal_kinds(store) == ["pilots_imported"]


def test_a_preview_changes_nothing_and_says_what_would_happen(store: Store, club: World) -> None:
    found = preview(store, "name,board name,transmitter,wake,shoe size\nGus Grey,Gus,analogue R,R3,44\nHal,,,,45")
    assert [(row.row, row.name, row.board_name, row.transmitters) for row in found.good] == [
        (2, "Gus Grey", "Gus", ("analogue R, wakes on R3",)),
        (3, "Hal", "Hal", ()),
    ]
    assert (found.unused, found.has_heading, found.transmitter_count) == (("shoe size",), True, 1)
    assert owned(store) == {}
    assert journal_kinds(store) == []


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (";analogue R", "It has no name."),
        ("Hal;hovercraft", "There is no kind 'hovercraft'; nearest: '"),
        ("Hal;analogue", "nearest: 'analogue"),
        ("Hal;analogue R;F1", "can't wake on F1"),
        ("Hal;analogue R;R9", "'R9' is no plan, channel"),
        ("Hal;;R3", "'R3' stands there without a kind"),
        ("gus", "The name stands in row 1 already."),
        ("Ana", "Ana is in the club already."),
        ("Old Ed", "Old Ed is in the club, retired: bring them back instead."),
        ("x" * 81, "The name is longer than 80 characters."),
        ("Hal;analogue R;R3;and;more", "It has more cells than the 3 columns: 'and' is left over."),
    ],
    ids=lambda value: value[:30],
)
def test_a_bad_row_is_named_with_its_reason_and_nobody_is_taken(
    store: Store, club: World, row: str, words: str
) -> None:
    pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Ana", "", None), None)
    old = pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Old Ed", "", None), None).made_id
    assert old is not None
    pilots.retire_pilot(store, deed(ORGANISER), old)
    before = owned(store)
    text = f"Gus;analogue R\n{row}"
    found = reasons(store, text)
    assert list(found) == [2]
    assert words in found[2]
    with pytest.raises(Refused, match="Nobody was taken: 1 row can't be"):
        import_pilots(store, deed(ORGANISER), text)
    assert owned(store) == before


@pytest.mark.parametrize(
    ("heading", "row", "words"),
    [
        ("name,board name", "Hal,Ace", "The board name stands in row 2 already."),
        ("name,board name", "Hal,Ana", "The board calls somebody in the club 'Ana' already."),
        ("name,band profile", "Hal,nowhere", "There is no band profile 'nowhere'; nearest: 'Test band'."),
        ("name,transmitter,called", f"Hal,analogue R,{'x' * 81}", "nickname is longer than 80"),
    ],
)
def test_a_bad_row_below_a_heading_is_named_too(
    store: Store, club: World, heading: str, row: str, words: str
) -> None:
    pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Ana", "", None), None)
    first = "Gus,Ace" if "board" in heading else "Gus,"
    assert words in reasons(store, f"{heading}\n{first}\n{row}")[3]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "There is nobody in this list"),
        (" \n , \n", "There is nobody in this list"),
        ("name,transmitter\n", "a heading, and nobody below it"),
        ("transmitter,wake\nanalogue R,R3", "no column for the name"),
        ("name,name\nGus,Hal", "Two columns are headed 'name'"),
        ('name,kind\n"Gus,analogue R\nHal,', "Row 2 can't be read: a quotation mark"),
        ('"Gus"x,analogue R', "Row 1 can't be read: a quotation mark"),
        ("Gus\n" * (ROWS_MAX + 1), "5001 rows; 5000 at most"),
        ("x" * 1_000_001, "longer than 1 MB"),
    ],
    ids=["empty", "blank", "heading only", "no names", "twice", "open quote", "text behind quote", "rows", "size"],
)
def test_a_list_that_can_not_be_read_at_all_is_refused(store: Store, club: World, text: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        preview(store, text)
    with pytest.raises(Refused, match=words):
        import_pilots(store, deed(ORGANISER), text)
    assert owned(store) == {}


def test_a_kind_is_found_by_words_that_only_its_name_has(store: Store, club: World) -> None:
    import_pilots(store, deed(ORGANISER), "Gus;tunable\nHal;Digital")
    assert owned(store) == {"Gus": [("analogue tunable", "", None)], "Hal": [("digital wide", "", None)]}


def test_the_row_number_is_the_line_in_the_file(store: Store, club: World) -> None:
    text = 'name,kind\n\n"Gus\nGrey",analogue R\n\nHal,hovercraft\n'
    assert list(reasons(store, text)) == [6]
    assert [row.name for row in preview(store, text).good] == ["Gus Grey"]


def test_a_resent_import_is_done_once(store: Store, club: World) -> None:
    for _ in range(2):
        answer = import_pilots(store, deed(ORGANISER, key="a-key-of-a-form"), "Gus\nHal;analogue R")
        assert answer.notice == "2 pilots are on the list now with 1 transmitter."
    assert len(owned(store)) == 2


def test_the_largest_list_is_taken_whole(store: Store, club: World) -> None:
    text = "name;kind;wake\n" + "".join(f"Pilot {place};analogue R;R3\n" for place in range(ROWS_MAX))
    import_pilots(store, deed(ORGANISER), text)
    assert pilots.list_pilots(store).flying_count == ROWS_MAX


@pytest.mark.parametrize(
    ("content", "text", "remark"),
    [
        ("Jörg".encode(), "Jörg", False),
        ("Jörg".encode("utf-8-sig"), "Jörg", False),
        ("Jörg".encode("cp1252"), "Jörg", True),
    ],
    ids=["utf-8", "with its mark", "Windows"],
)
def test_a_file_is_read_as_what_it_is(content: bytes, text: str, remark: bool) -> None:
    found, told = text_from(content)
    assert (found, bool(told)) == (text, remark)


@pytest.mark.parametrize(
    "content", [b"PK\x03\x04\x14\x00", "Jörg".encode("utf-16"), b"Gus\x00Hal"], ids=["workbook", "utf-16", "binary"]
)
def test_a_file_that_is_no_text_is_refused(content: bytes) -> None:
    with pytest.raises(Refused, match="not a text file") as refused:
        text_from(content)
    assert refused.value.field == "file"


# What a board shows has to be told apart, so names differ by more than capitals; one line each.
NAMES = st.lists(
    st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=20).map(
        lambda text: " ".join(text.split())
    ).filter(bool),
    min_size=1,
    max_size=6,
    unique_by=str.casefold,
)


@given(NAMES)
def test_cells_that_a_spreadsheet_would_run_read_back_exactly(names: list[str]) -> None:
    for name in [*names, *(sign + name for sign in "=+-@'" for name in names)]:
        assert plain_cell(safe_cell(name)) == name
        assert safe_cell(name)[0] not in "=+-@"
    sheet = read_sheet(csv_text([["name", "shoe size"], *([name, ""] for name in names)]))
    assert [row.name for row in sheet.rows] == names


def test_an_export_reads_back_to_the_same_club(store: Store, club: World) -> None:
    import_pilots(
        store,
        deed(ORGANISER),
        "name,board name,band profile,transmitter,transmitter nickname,wake channel,transmitter 2,wake channel 2\n"
        "'=cmd(),'+Ace,Test band,analogue R,'-blue,R3,analogue tunable,5671\n"
        '"Grey, Gus ""G""",,,,,,,\n'
        "'tis me,,,digital wide,,5695,,\n"
        "Jörg Ärger,@home,,,,,,\n",
    )
    gone = pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Gone", "", None), None).made_id
    assert gone is not None
    pilots.retire_pilot(store, deed(ORGANISER), gone)
    text = pilots_csv(store)
    before = owned(store)
    del before["Gone"]
    assert before["=cmd()"] == [("analogue R", "-blue", 5732), ("analogue tunable", "", 5671)]
    assert not any(cell.startswith(("=", "+", "-", "@")) for line in text.splitlines() for cell in line.split(","))
    with store.write() as session:
        for table in (t.PilotTransmitter, t.Pilot):
            for row in session.exec(select(table)):
                session.delete(row)
            session.flush()
        session.commit()
    import_pilots(store, deed(ORGANISER), text)
    assert owned(store) == before
    assert pilots_csv(store) == text


def test_an_export_without_pilots_still_has_its_heading(store: Store, club: World) -> None:
    assert pilots_csv(store) == "name,board name,band profile,transmitter,transmitter nickname,wake channel\r\n"


def test_an_unknown_kind_is_looked_up_once_however_often_it_stands_there(
    store: Store, club: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked_up: list[str] = []

    def counted(word: str, names: list[str], **more: float) -> list[str]:
        looked_up.append(word)
        return get_close_matches(word, names, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(pilot_import, "get_close_matches", counted)
    assert len(preview(store, "\n".join(f"Pilot {place};hovercraft" for place in range(50))).bad) == 50
    assert looked_up == ["hovercraft"]
