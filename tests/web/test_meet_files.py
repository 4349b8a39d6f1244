"""A meet file through the browser: taken away, looked into, read back, refused by its place."""

import json
from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import Clock, World


@pytest.fixture
def day(store: Store, world: World, clock: Clock) -> Desk:
    """A closed meet."""
    desk = Desk(store, world, clock)
    fly_a_day(desk)
    close_it(desk)
    return desk


def upload(organiser: Surfer, content: bytes) -> None:
    organiser.open("/organiser/meet-files/import")
    organiser.press("Look into the file", files={"file": ("meet.json", content, "application/json")})


def meets(store: Store) -> int:
    with store.read() as session:
        return len(session.exec(select(t.Meet.id)).all())


def test_a_meet_is_taken_away_looked_into_and_read_back(organiser: Surfer, day: Desk, store: Store) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    before = organiser.text
    link = next(a for a in organiser.page.find_all("a") if a.get_text() == "Meet file (JSON)")
    response = organiser.client.get(str(link["href"]))
    assert response.headers["content-disposition"] == 'attachment; filename="meet-2026-06-14.json"'
    upload(organiser, response.content)
    assert "Nothing is changed yet." in organiser.text
    assert "A meet of this name and day is here already" in organiser.text
    assert meets(store) == 1
    press_twice(organiser, "Read it back as a closed meet")
    assert "'June meet' of 2026-06-14 is read back as a closed meet." in organiser.text
    assert meets(store) == 2
    assert journal_kinds(store).count("meet_imported") == 1
    start = before.index("In numbers")
    assert before[start : before.index("Take it away")] in organiser.text


def test_a_file_nearly_as_large_as_may_be_is_read_back_too(organiser: Surfer, day: Desk, store: Store) -> None:
    text = organiser.client.get(f"/organiser/meets/{day.world.meet}/export.json").content
    upload(organiser, text.rstrip() + b"\n" * (1_990_000 - len(text)))  # a line break grows in a form: to six signs
    organiser.press("Read it back as a closed meet")
    assert "'June meet' of 2026-06-14 is read back as a closed meet." in organiser.text
    assert meets(store) == 2


def test_without_names_nobody_is_named(organiser: Surfer, day: Desk) -> None:
    response = organiser.client.get(f"/organiser/meets/{day.world.meet}/export.json?names=no")
    assert response.headers["content-disposition"] == 'attachment; filename="meet-without-names-2026-06-14.json"'
    assert '"Ana"' not in response.text
    assert '"pilot 1"' in response.text
    upload(organiser, response.content)
    assert "numbered: the file has no names" in organiser.text


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        pytest.param(b"", "Choose a meet file first.", id="nothing"),
        pytest.param(b"\xff\xfe\x00", "This file is no text in UTF-8", id="no text"),
        pytest.param(b"a,b\n1,2\n", "This is no JSON", id="a table"),
        pytest.param(b'{"format": "meetapp meet file", "version": 3}', "this program reads up to 2", id="newer"),
        pytest.param(b"x" * 2_000_001, "larger than 2 MB", id="too large"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(
    organiser: Surfer, store: Store, content: bytes, sentence: str
) -> None:
    upload(organiser, content)
    assert organiser.status == 422
    assert sentence in organiser.text
    assert meets(store) == 1


def test_several_faults_are_listed_with_their_places(organiser: Surfer, day: Desk, store: Store) -> None:
    content = json.loads(organiser.client.get(f"/organiser/meets/{day.world.meet}/export.json").text)
    content["loans"][0]["token"] = 99
    content["loans"][1]["in_at"] = "2026-06-14T11:00:00Z"
    upload(organiser, json.dumps(content).encode())
    assert organiser.status == 422
    assert "loans[0].token points at number 99 of tokens, which isn't in the file." in organiser.text
    assert "loans[1].in_at lies before its out_at." in organiser.text
    assert meets(store) == 1


def test_what_was_changed_after_the_preview_is_checked_again(organiser: Surfer, day: Desk, store: Store) -> None:
    upload(organiser, organiser.client.get(f"/organiser/meets/{day.world.meet}/export.json").content)
    organiser.press("Read it back as a closed meet", text='{"format": "meetapp meet file", "version": 1}')
    assert organiser.status == 422
    assert "club_name is missing" in organiser.text
    assert meets(store) == 1


@pytest.mark.parametrize("path", ["/organiser/meet-files/import", "/organiser/meet-files/import/read"])
def test_only_the_organiser_reads_files(
    organiser: Surfer, marshal: Surfer, surfer: Callable[[], Surfer], store: Store, path: str
) -> None:
    post(marshal, path, text="{}")
    assert marshal.status == 403
    stranger = surfer()
    post(stranger, path, text="{}")
    assert stranger.status == 401
    assert organiser.client.get("/organiser/meet-files/import/read").status_code == 405
    assert meets(store) == 1


def test_a_large_meet_can_be_carried_through_the_preview(organiser: Surfer, day: Desk, store: Store) -> None:
    content = json.loads(organiser.client.get(f"/organiser/meets/{day.world.meet}/export.json").text)
    report = content["reports"][0]
    content["reports"] += [report | {"ref": ref, "note": "every loop I saw lines " * 10} for ref in range(100, 1500)]
    sent = json.dumps(content).encode()
    assert 500_000 < len(sent) < 1_000_000
    upload(organiser, sent)
    organiser.press("Read it back as a closed meet")
    assert organiser.status == 200
    assert meets(store) == 2
