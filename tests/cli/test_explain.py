"""What broke the pictures, on the command line: from a stored meet's file to causes with odds."""

import json
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from meetapp.cli import main
from meetapp.flows.files.meet_file import export_meet, meet_file_text
from meetapp.flows.files.meet_file_reading import read_meet_file
from meetapp.flows.review import again
from meetapp.flows.review.again import explained_files
from meetapp.flows.review.look_back import look_back
from meetapp.flows.review.several_meets import several_meets
from meetapp.review.causes import WORDS
from meetapp.review.turning_up import turning_up
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day
from tests.world import make_world


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    store = Store(sqlite_url(tmp_path_factory.mktemp("explained") / "club.db"))
    t.metadata.create_all(store.engine)
    desk = Desk(store, make_world(store))
    fly_a_day(desk)
    close_it(desk)
    yield desk
    store.close()


@pytest.fixture
def meet_file(day: Desk, tmp_path: Path) -> Path:
    path = tmp_path / "meet.json"
    path.write_text(meet_file_text(export_meet(day.store, day.world.meet, day.clock())), encoding="utf-8")
    return path


def test_json_has_every_report_with_its_causes(meet_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", str(meet_file), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert set(answer) == {"reports", "silent_transmitters", "advice"}
    file = json.loads(meet_file.read_text(encoding="utf-8"))
    assert [each["id"] for each in answer["reports"]] == [each["ref"] for each in file["reports"]]
    loans = {loan["ref"] for loan in file["loans"]}
    for report in answer["reports"]:
        assert sum(cause["probability"] for cause in report["causes"]) == pytest.approx(1)
        for cause in report["causes"]:
            assert set(cause) == {"kind", "mhz", "sources", "probability", "sentence"}
            assert cause["kind"] in WORDS
            assert loans.issuperset(cause["sources"])
            assert cause["sentence"].endswith(".")
    assert answer["advice"]


def test_the_text_says_possible_and_no_verdict(meet_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", str(meet_file)]) == 0
    told = capsys.readouterr().out
    assert "a probability is no verdict" in told
    assert "Possible: " in told
    assert "What to change" in told


def test_a_stored_meet_and_its_file_are_explained_alike(day: Desk, meet_file: Path) -> None:
    stored = look_back(day.store, day.world.meet, day.clock()).explained
    (told,) = explained_files([read_meet_file(meet_file.read_text(encoding="utf-8"))]).meets
    assert stored == told


@pytest.fixture
def earlier(meet_file: Path) -> Path:
    """The same day as another meet, a month before."""
    path = meet_file.with_name("earlier.json")
    path.write_text(meet_file.read_text(encoding="utf-8").replace("2026-06-", "2026-05-"), encoding="utf-8")
    return path


def test_several_files_are_explained_beside_one_another(
    meet_file: Path, earlier: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", str(meet_file), str(earlier), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [each["file"] for each in answer["meets"]] == [str(meet_file), str(earlier)]
    assert answer["meets"][0]["reports"] == answer["meets"][1]["reports"] != []
    assert "channel" in {each["what"] for each in answer["turning_up"]}
    for each in answer["turning_up"]:
        assert each["meets"] == 2
        assert each["cause"] in {*WORDS, None}
        assert each["sentence"].endswith(".")
    assert main(["explain", str(meet_file), str(earlier)]) == 0
    assert "What turns up again" in capsys.readouterr().out


def test_one_meet_given_twice_is_refused_as_everything_would_turn_up_again(
    meet_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["explain", str(meet_file), str(meet_file)]) == 2
    assert capsys.readouterr().err.startswith("Two of these files are the same meet (June meet, 2026-06-14)")


def test_numbered_pilots_of_files_without_names_are_nobody_who_turns_up_again(
    day: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(again, "turning_up", partial(turning_up, least_reports=0.1))
    for with_names in (True, False):
        text = meet_file_text(export_meet(day.store, day.world.meet, day.clock(), with_names=with_names))
        files = [read_meet_file(each) for each in (text, text.replace("2026-06-", "2026-05-"))]
        assert ("pilot" in {each.what for each in explained_files(files).again}) == with_names


def test_of_several_files_the_bad_one_is_named(
    meet_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{}")
    assert main(["explain", str(meet_file), str(bad)]) == 2
    assert capsys.readouterr().err.startswith(f"{bad}: This is no meet file")


def test_at_the_club_only_meets_with_reports_count_and_once_is_not_again(day: Desk) -> None:
    assert several_meets(day.store, day.world.meet, day.clock()).found == ()


def test_help_says_what_the_interval_and_the_ids_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "--help"]) == 0
    told = capsys.readouterr().out
    assert "90 % interval in MHz" in told
    assert "refs of loans" in told


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        pytest.param(None, "There is no file", id="no such file"),
        pytest.param(b"{", "This is no JSON", id="no JSON"),
        pytest.param(b"{}", "This is no meet file", id="another file"),
        pytest.param(b"\xff\xfe\x00", "is no text file", id="no text"),
        pytest.param(b'{"format": "meetapp meet file", "version": 9}', "is of version 9", id="a later version"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(
    content: bytes | None, sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "given.json"
    if content is not None:
        path.write_bytes(content)
    assert main(["explain", str(path)]) == 2
    told = capsys.readouterr().err
    assert sentence in told
    assert "Check the name" in told if content is None else "Give a meet file" in told
    assert len(told.strip().splitlines()) == 1
