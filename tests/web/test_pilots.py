"""The pages of pilots and their transmitters, and the list they come from."""

import pytest

from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post
from tests.web.set_up import all_rows, refuses, works_once
from tests.world import World

NEW = {"name": "Gus Grey", "board_name": "Gus", "kind_id": "2", "nickname": "blue", "wake": "R3"}


def test_a_pilot_is_added_once_with_a_transmitter(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/pilots/new", "Save the pilot", NEW, "pilot_added", "Gus is on the list.")
    assert "blue" in organiser.text
    assert "analogue R, wakes on R3" in organiser.text


def test_a_name_is_enough(organiser: Surfer, store: Store) -> None:
    typed = {"name": "Hal"}
    works_once(organiser, store, "/organiser/pilots/new", "Save the pilot", typed, "pilot_added", "Hal is on the list.")
    assert "No transmitter is told yet." in organiser.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Fill in: the name."),
        ({"name": "x" * 81}, "The name is too long: 80 characters at most."),
        ({"name": "ana"}, "There is a pilot named Ana already. If this is somebody else, add something to the name."),
        ({"board_name": "ANA"}, "The board calls Ana 'Ana' already."),
        ({"wake": "R9"}, "'R9' is no plan, channel, frequency or range; there is R1 to R8."),
        ({"wake": "F1"}, "A transmitter of the kind 'analogue R' can't wake on F1."),
        ({"wake": "R1 R2"}, "'R1 R2' is not one channel: write a label such as R3, or MHz."),
        ({"nickname": "x" * 81}, "The nickname is too long"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_pilot_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/pilots/new", "Save the pilot", NEW | typed, sentence)


def test_a_kind_that_was_made_up_is_refused(organiser: Surfer, store: Store) -> None:
    before = all_rows(store)
    post(organiser, "/organiser/pilots/new", **(NEW | {"kind_id": "77"}))
    assert organiser.status == 422
    assert "This kind isn't offered any more." in organiser.text
    assert all_rows(store) == before


def test_a_pilot_is_changed_retired_and_brought_back(organiser: Surfer, store: Store) -> None:
    path = "/organiser/pilots/1"
    works_once(organiser, store, path, "Save the pilot", {"board_name": "Ace"}, "pilot_changed", "Ace is saved.")
    works_once(organiser, store, path, "Retire the pilot", {}, "pilot_retired", "Ace is retired")
    works_once(organiser, store, path, "Bring the pilot back", {}, "pilot_brought_back", "Ace is on the list again.")


def test_transmitters_are_added_changed_retired_and_brought_back(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/pilots/1")
    organiser.follow("Add a transmitter")
    typed = {"kind_id": "2", "nickname": "spare", "wake": "R3"}
    works_once(
        organiser, store, organiser.path, "Save the transmitter", typed, "transmitter_added", "another transmitter"
    )
    organiser.follow("spare")
    path = organiser.path
    refuses(organiser, store, path, "Save the transmitter", typed | {"wake": "A1"}, "can't wake on A1")
    refuses(organiser, store, path, "Save the transmitter", typed | {"kind_id": ""}, "The kind of transmitter must be")
    works_once(organiser, store, path, "Save the transmitter", typed | {"wake": ""}, "transmitter_changed", "is saved")
    works_once(organiser, store, path, "Retire the transmitter", {}, "transmitter_retired", "is retired")
    works_once(organiser, store, path, "Bring the transmitter back", {}, "transmitter_brought_back", "offered again")


def test_a_pilot_on_air_is_not_retired_and_the_page_says_why(organiser: Surfer, world: World, store: Store) -> None:
    post(organiser, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=str(world.tokens["R1"]))
    assert organiser.status == 200, organiser.text
    organiser.open(f"/organiser/pilots/{world.pilots['Ana']}")
    organiser.press("Retire the pilot")
    assert organiser.status == 422
    assert "Ana is on air on R1 since 14:00. Take the token back first." in organiser.text
    assert "pilot_retired" not in journal_kinds(store)


def test_pilots_are_found_by_name(organiser: Surfer) -> None:
    organiser.open("/organiser/pilots")
    organiser.press("Find", search="fa")
    assert [link.get_text() for link in organiser.page.select(".row-title a")] == ["Fay"]
    organiser.press("Find", search="nobody at all")
    assert "Nobody's name has 'nobody at all' in it." in organiser.text


def test_a_new_link_is_one_button_away(organiser: Surfer) -> None:
    organiser.open("/organiser/pilots/1")
    assert "No link was given out" in organiser.text
    organiser.follow("Give out a link")
    assert organiser.path == "/desk/pilots/1/new-link"


def test_a_list_is_looked_at_first_then_taken_once(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/pilots/import")
    before = all_rows(store)
    organiser.press("Look at it first", text="Gus; analogue R; R3\nHal")
    assert organiser.status == 200
    assert "Every row can be taken." in organiser.text
    assert "analogue R, wakes on R3" in organiser.text
    assert all_rows(store) == before
    lines = journal_kinds(store)
    organiser.press("Take 2 pilots", files={"none": ("", b"")})
    assert "2 pilots are on the list now with 1 transmitter." in organiser.text
    assert journal_kinds(store) == [*lines, "pilots_imported"]


def test_a_file_is_taken_too_and_bad_rows_are_named_with_the_list_kept(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/pilots/import")
    content = "name,transmitter\nGus,hovercraft\nAna,\nHal,analogue R\n"
    before = all_rows(store)
    organiser.press("Look at it first", files={"file": ("club.csv", content.encode("utf-8-sig"), "text/csv")})
    assert organiser.status == 422
    cells = [[cell.get_text() for cell in row.find_all("td")] for row in organiser.page.select("#bad tbody tr")]
    assert [row[:2] for row in cells] == [["2", "Gus"], ["3", "Ana"]]
    assert cells[0][2].startswith("There is no kind 'hovercraft'; nearest: ")
    assert cells[1][2] == "Ana is in the club already."
    assert organiser.page.find("textarea", {"name": "text"}).get_text().strip() == content.strip()
    assert "Take" not in [button.get_text().split()[0] for button in organiser.page.find_all("button")]
    assert all_rows(store) == before


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "There is nobody in this list."),
        ('"Gus', "Row 1 can't be read: a quotation mark is not closed"),
        ("kind;wake\nanalogue R;R3", "The heading has no column for the name."),
        ("name;pilot\nGus;Hal", "Two columns are headed 'name'."),
    ],
    ids=["empty", "open quote", "no name", "twice"],
)
def test_a_list_that_can_not_be_read_is_refused(organiser: Surfer, store: Store, text: str, sentence: str) -> None:
    refuses(organiser, store, "/organiser/pilots/import", "Look at it first", {"text": text}, sentence)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"PK\x03\x04 a workbook", "This file is not a text file: it looks like a spreadsheet."),
        (b"x" * 1_000_001, "This list is longer than 1 MB."),
    ],
    ids=["workbook", "too large"],
)
def test_a_file_that_can_not_be_read_is_refused(
    organiser: Surfer, store: Store, content: bytes, sentence: str
) -> None:
    before = all_rows(store)
    organiser.open("/organiser/pilots/import")
    organiser.press("Look at it first", files={"file": ("club.csv", content, "text/csv")})
    assert organiser.status == 422
    assert sentence in organiser.text
    assert all_rows(store) == before


def test_a_list_that_went_bad_since_it_was_looked_at_is_taken_not_at_all(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/pilots/import")
    organiser.press("Look at it first", text="Gus\nHal")
    post(organiser, "/organiser/pilots/new", name="Hal")
    before = all_rows(store)
    organiser.open("/organiser/pilots/import")
    organiser.press("Look at it first", text="Ida\nGus")
    post(organiser, "/organiser/pilots/import/accept", text="Ida\nHal")
    assert organiser.status == 422
    assert "Nobody was taken: 1 row can't be." in organiser.text
    assert "Ida" in organiser.page.find("textarea", {"name": "text"}).get_text()
    assert all_rows(store) == before


def test_the_export_is_a_file_that_spreadsheets_do_not_run(organiser: Surfer) -> None:
    post(organiser, "/organiser/pilots/new", name="=cmd()")
    answer = organiser.client.get("/organiser/pilots/export.csv")
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["content-disposition"] == 'attachment; filename="pilots-2026-06-14.csv"'
    assert answer.content.startswith(b"\xef\xbb\xbfname,board name")
    assert "\r\n'=cmd(),'=cmd()," in answer.text
    assert "Ana,Ana,,analogue 40,," in answer.text
