"""Taking a meet away as a file and reading it back, on the command line."""

import json
from pathlib import Path

import pytest
from sqlmodel import select

from meetapp.cli import main
from meetapp.store import tables as t
from meetapp.store.backup import only_one
from meetapp.store.engine import Store, sqlite_url


@pytest.fixture
def club_file(club_file: Path) -> Path:
    """Its meet is closed."""
    store = Store(sqlite_url(club_file))
    with store.write() as session:
        meet = session.exec(select(t.Meet)).one()
        meet.state, meet.closed_at = "closed", meet.opened_at
        session.commit()
    store.close()
    return club_file


def test_a_meet_goes_out_as_a_file_and_comes_back(
    club_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "meet.json"
    assert main(["export", "1", "--database", str(club_file), "--out", str(out)]) == 0
    assert main(["import-meet", str(out), "--database", str(club_file), "--again", "--json"]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1]) == {"meet": 2}
    assert main(["export", "--json", "--database", str(club_file)]) == 0
    assert [meet["state"] for meet in json.loads(capsys.readouterr().out)["meets"]] == ["closed", "closed"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        pytest.param(["export", "99"], "There is no meet 99. 'meetapp export' without a number", id="no such meet"),
        pytest.param(["export", "first"], "is no whole number", id="no number"),
        pytest.param(["import-meet", "nowhere.json"], "There is no file nowhere.json.", id="no such file"),
        pytest.param(["export", "1", "--out", "/nowhere/x"], "There is no folder /nowhere to write", id="no folder"),
        pytest.param(["export", "1", "--out", "/"], "/ is a folder. Give the name of a file", id="a folder"),
        pytest.param(["export", "1", "--out", "/dev/full", "--overwrite"], "There is no room on the disk", id="full"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(
    words: list[str], sentence: str, club_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*words, "--database", str(club_file)]) == 2
    told = capsys.readouterr().err
    assert sentence in told
    assert len(told.strip().splitlines()) == 1


def test_a_database_that_is_not_there_is_not_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "typo.db"
    for words in (["export"], ["export", "1"], ["import-meet", "meet.json"]):
        assert main([*words, "--database", str(path)]) == 1
        assert f"There is no file {path}." in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []


def test_beside_a_server_a_meet_goes_out_but_none_is_read_in(
    club_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "meet.json"
    with only_one(club_file):
        assert main(["export", "1", "--database", str(club_file), "--out", str(out)]) == 0
        assert main(["import-meet", str(out), "--database", str(club_file)]) == 1
    assert "A server runs on" in capsys.readouterr().err
    assert main(["import-meet", str(out), "--database", str(club_file)]) == 2
    assert "a meet 'June meet' of 2026-06-14 already" in capsys.readouterr().err
    assert main(["import-meet", str(out), "--database", str(club_file), "--again"]) == 0


def test_a_meet_that_was_read_into_an_unnamed_club_goes_out_again(
    club_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, back, fresh = tmp_path / "meet.json", tmp_path / "back.json", tmp_path / "fresh.db"
    assert main(["export", "1", "--database", str(club_file), "--out", str(out)]) == 0
    assert main(["migrate", "--database", str(fresh)]) == 0
    assert main(["import-meet", str(out), "--database", str(fresh)]) == 0
    assert "Its number is 1." in capsys.readouterr().out
    assert main(["export", "1", "--database", str(fresh), "--out", str(back)]) == 0
    assert json.loads(back.read_text())["club_name"] == ""
    assert main(["import-meet", str(back), "--database", str(club_file), "--again"]) == 0


def test_a_file_that_is_there_is_replaced_only_when_told(
    club_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "meet.json"
    out.write_text("kept")
    words = ["export", "1", "--database", str(club_file), "--out", str(out)]
    assert main(words) == 2
    assert "is there already. Give another name, or replace it with --overwrite." in capsys.readouterr().err
    assert out.read_text() == "kept"
    assert main([*words, "--overwrite"]) == 0
    assert json.loads(out.read_text())["meet"]["name"] == "June meet"


def test_a_file_that_is_none_changes_nothing(
    club_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.json"
    bad.write_bytes(b"\xff\xfe{}")
    assert main(["import-meet", str(bad), "--database", str(club_file)]) == 2
    bad.write_text('{"loans": [')
    assert main(["import-meet", str(bad), "--database", str(club_file)]) == 2
    capsys.readouterr()
    assert main(["export", "--json", "--database", str(club_file)]) == 0
    assert len(json.loads(capsys.readouterr().out)["meets"]) == 1
