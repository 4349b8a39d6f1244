"""`meetapp heats`: what it prints, its exit codes, and what it refuses."""

import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from meetapp.cli import main
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import measure

MIXED = """pilot,channels
Ada,A B E F R
Bo,R
Cy,R1 R3 R6 R8
Dee,F R
Eli,5650-5925/5
Flo,R
Gus,R2 R5
Hal,E
"""
FLOORS = ["--spacing", "37", "--clearance", "10"]


@pytest.fixture
def roster(tmp_path: Path) -> Path:
    path = tmp_path / "roster.csv"
    path.write_text(MIXED, encoding="utf-8")
    return path


def answer(capsys: pytest.CaptureFixture[str], *words: object, code: int = 0) -> dict[str, Any]:
    assert main(["heats", *map(str, words), "--json"]) == code
    parsed = json.loads(capsys.readouterr().out)
    assert isinstance(parsed, dict)
    return parsed


def test_everybody_flies_once_in_each_round_above_both_floors(
    roster: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = answer(capsys, roster, "--size", 4, "--rounds", 3, *FLOORS)
    names = sorted(line.split(",")[0] for line in MIXED.splitlines()[1:])
    assert len(found["rounds"]) == 3
    for heats in (each["heats"] for each in found["rounds"]):
        assert sorted(place["pilot"] for heat in heats for place in heat["places"]) == names
        for heat in heats:
            measures = measure([Carrier(place["mhz"]) for place in heat["places"]])
            assert heat["spacing_mhz"] == measures.spacing_mhz
            assert heat["two_signal_clearance_mhz"] == measures.two_signal_clearance_mhz
            assert heat["three_signal_clearance_mhz"] == measures.three_signal_clearance_mhz
            assert measures.spacing_mhz is not None
            assert measures.spacing_mhz >= 37
            assert measures.clearance_mhz is None or measures.clearance_mhz >= 10
            assert [place["pad"] for place in heat["places"]] == list(range(1, len(heat["places"]) + 1))


def test_claims_come_with_their_bounds(roster: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, roster, "--size", 4, "--rounds", 2, *FLOORS)
    assert (found["heats_per_round"], found["heats_bound"], found["heats_proven_minimum"]) == (2, 2, True)
    assert (found["channel_changes"], found["channel_changes_bound"], found["changes_proven_minimum"]) == (0, 0, True)
    opponents = found["distinct_opponents"]
    assert sum(opponents["by_pilot"].values()) == opponents["reached"] <= opponents["upper_bound"]
    assert found["sizes_even"]
    assert found["not_met"] == []


def test_what_can_not_be_met_names_pilots_and_ways_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "roster.csv"
    path.write_text("pilot,channels\nAda,R3\nBo,R3\nCy,R3\nDee,A B E F R\n", encoding="utf-8")
    found = answer(capsys, path, "--size", 4, "--seconds", 60, *FLOORS)
    assert (found["heats_per_round"], found["heats_proven_minimum"]) == (3, True)
    (unmet,) = found["not_met"]
    assert unmet["demand"] == "fewest_heats"
    assert unmet["pilots"] == ["Ada", "Bo", "Cy"]
    assert unmet["why"] == (
        "Of these 3 pilots no more than 1 can be up at once, so they take 3 heats; 1 would hold everybody."
    )
    assert unmet["ways_out"] == ["If Ada flies a transmitter with the channels A B E F R, it takes 2 heats."]


def test_the_table_says_the_same_in_words(roster: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["heats", str(roster), "--size", "4", "--rounds", "2", *FLOORS]) == 0
    printed = capsys.readouterr().out
    assert "Round 2\n  Heat 1: spacing " in printed
    assert "Heats in a round: 2 (proven the fewest)." in printed
    assert "Channel changes over the day: 0 (proven the fewest)." in printed
    assert "no promise of a clear picture" in printed
    assert "with 2 heats in a round, their sizes differing by at most one, if nobody changes channel between" in printed
    assert printed.count("Hal") == 2


def test_a_longer_start_line_leaves_gaps(roster: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, roster, "--size", 4, "--pads", 7, *FLOORS)
    for heat in found["rounds"][0]["heats"]:
        assert [place["pad"] for place in heat["places"]] == [1, 3, 5, 7]


def test_without_a_clearance_floor_only_the_spacing_counts(
    roster: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert answer(capsys, roster, "--size", 8, "--spacing", 37)["heats_per_round"] == 1
    assert answer(capsys, roster, "--size", 8, *FLOORS)["heats_per_round"] > 1


def test_no_time_at_all_still_gives_a_plan(roster: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(capsys, roster, "--size", 4, "--seconds", 0, *FLOORS)["heats_per_round"] >= 2


def test_the_roster_may_come_from_the_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(MIXED.encode())))
    assert answer(capsys, "-", "--size", 4, *FLOORS)["heats_per_round"] == 2


def test_python_dash_m_is_the_same_command(roster: Path) -> None:
    words = ["heats", str(roster), "--size", "4", *FLOORS, "--json"]
    run = subprocess.run([sys.executable, "-m", "meetapp", *words], capture_output=True, text=True, check=False)
    assert run.returncode == 0
    assert len(json.loads(run.stdout)["rounds"]) == 1


GOOD = {"--size": "4", "--spacing": "37"}
BAD_INPUT: dict[str, tuple[dict[str, str | None], str]] = {
    "a word for a size": ({"--size": "four"}, "--size must be a whole number, not 'four'."),
    "no size": ({"--size": None}, "Missing: --size"),
    "nobody at once": ({"--size": "0"}, "The size must be from 1 to 16 pilots, not 0."),
    "no spacing": ({"--spacing": None}, "Missing: --spacing"),
    "a spacing below zero": ({"--spacing": "-1"}, "The spacing must be 0 MHz or more, not -1."),
    "half a clearance": ({"--clearance": "9.5"}, "--clearance must be a whole number, not '9.5'."),
    "a clearance below zero": ({"--clearance": "-1"}, "The clearance must be 0 MHz or more, not -1."),
    "no rounds": ({"--rounds": "0"}, "The rounds must be from 1 to 50, not 0."),
    "a start line too short": ({"--pads": "3"}, "A start line of 3 places is too short for heats of 4."),
    "a word for seconds": ({"--seconds": "soon"}, "--seconds must be a number of seconds, not 'soon'."),
    "an option that is none": ({"--heats": "4"}, "Not understood: --heats 4"),
}


@pytest.mark.parametrize(("change", "sentence"), BAD_INPUT.values(), ids=BAD_INPUT)
def test_bad_input_is_refused_with_a_sentence(
    roster: Path, capsys: pytest.CaptureFixture[str], change: dict[str, str | None], sentence: str
) -> None:
    given = {**GOOD, **change}
    words = [word for option, value in given.items() if value is not None for word in (option, value)]
    assert main(["heats", str(roster), *words]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert sentence in printed.err
    assert len(printed.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        pytest.param(b"pilot,channels\nAda,R1\nBo,R9\n", "Row 3 (Bo): 'R9' is no plan", id="a bad channel"),
        pytest.param(b"pilot,channels\nAda,R1\nAda,R1\n", "Row 3: 'Ada' stands in row 2", id="a name twice"),
        pytest.param(b"pilot,channels\nAda,R1\nZo\xeb,R1\n", "Row 3: the roster is not UTF-8", id="not UTF-8"),
        pytest.param(b"", "The roster has no pilots", id="an empty file"),
        pytest.param(b"x" * 1_000_001, "larger than 1 MB", id="a huge file"),
        pytest.param(None, "There is no file", id="no file"),
    ],
)
def test_a_bad_roster_is_refused_by_its_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes | None, sentence: str
) -> None:
    path = tmp_path / "roster.csv"
    if content is not None:
        path.write_bytes(content)
    assert main(["heats", str(path), "--size", "4", "--spacing", "37", "--json"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert sentence in printed.err
    assert printed.err.strip().endswith(".")
