"""Simulated meets: the same seed makes the same bytes, the record is in order, the truth refers to what is there."""

import json
from collections import Counter
from pathlib import Path
from random import Random

import pytest

from meetapp.cli import main
from meetapp.flows.files.meet_file import meet_file_text
from meetapp.flows.files.meet_file_reading import read_meet_file
from meetapp.simulate.day import Day, make_day
from meetapp.simulate.plan import KINDS, MeetPlan, parse_causes
from meetapp.simulate.simulating import SimulatedMeet, simulate
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.floors import set_keeps_floors
from meetapp.spectrum.queueing import MeanTimes, finite_source_queue

CAUSES = "no_token=2,wrong_channel=2,product=1,neighbour=1,too_close=2,own_receiver=2,unknown=1"


@pytest.fixture(scope="module")
def meet() -> SimulatedMeet:
    return simulate(MeetPlan(causes=parse_causes(CAUSES), seed=7, pilots=18, hours=3))


def test_the_file_passes_the_checks_of_the_importer(meet: SimulatedMeet) -> None:
    assert read_meet_file(meet_file_text(meet.file)) == meet.file


def test_a_simulated_meet_is_imported(meet: SimulatedMeet, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made, club = tmp_path / "meet.json", tmp_path / "club.db"
    made.write_text(meet_file_text(meet.file), encoding="utf-8")
    from meetapp.serving import prepare_database
    from meetapp.steady_clock import utc_now

    prepare_database(f"sqlite:///{club}", utc_now())
    assert main(["import-meet", str(made), "--database", str(club)]) == 0, capsys.readouterr().err


def test_the_planted_counts_come_out_and_each_breaks_a_picture(meet: SimulatedMeet) -> None:
    planted = {row["cause"]: row["kind"] for row in meet.truth["reports"] if row["is_planted"]}
    assert Counter(planted.values()) == parse_causes(CAUSES)


def test_the_truth_refers_to_what_is_in_the_file(meet: SimulatedMeet) -> None:
    loans = {loan.ref for loan in meet.file.loans}
    refs = [report.ref for report in meet.file.reports]
    assert [row["ref"] for row in meet.truth["reports"]] == refs
    for row in meet.truth["reports"]:
        assert set(row["sources"]) <= loans
        assert row["kind"] in KINDS
    for silent in meet.truth["silent_transmitters"]:
        assert set(silent["reports"]) <= set(refs)
        assert all(spell["from"] < spell["to"] for spell in silent["spells"])


def test_a_silent_transmitter_is_on_air_when_the_picture_breaks(meet: SimulatedMeet) -> None:
    happened = {row["ref"]: row["happened_at"] for row in meet.truth["reports"]}
    for silent in meet.truth["silent_transmitters"]:
        for ref in silent["reports"]:
            assert any(spell["from"] <= happened[ref] <= spell["to"] for spell in silent["spells"])


def test_each_journal_line_of_a_loan_agrees_with_the_loan(meet: SimulatedMeet) -> None:
    out = {line.facts["loan"]: line for line in meet.file.journal if line.kind == "handed_out"}
    back = {line.facts["loan"]: line for line in meet.file.journal if line.kind == "taken_back"}
    for loan in meet.file.loans:
        assert (out[loan.ref].happened_at, back[loan.ref].happened_at) == (loan.out_at, loan.in_at)
        assert (out[loan.ref].facts["token"], out[loan.ref].facts["mhz"]) == (loan.token, loan.settings[0].mhz)


@pytest.fixture(scope="module")
def day() -> Day:
    return make_day(MeetPlan(pilots=16, hours=24, tokens=3, kit=("R F",), ground_min=20), Random(3))


def test_all_that_is_on_air_at_once_keeps_the_floors(day: Day) -> None:
    for loan in day.loans:
        now = [Carrier(each.setting.mhz) for each in day.loans if each.out_at <= loan.out_at < each.in_at]
        assert set_keeps_floors(now, day.floors)


def test_waits_agree_roughly_with_the_queue_of_the_textbooks(day: Day) -> None:
    waits = [(stay.left_at - stay.joined_at).total_seconds() / 60 for stay in day.stays if stay.was_served]
    expected = finite_source_queue(16, 3, MeanTimes(6, 20)).wait_min
    assert 0.75 * expected < sum(waits) / len(waits) < 1.25 * expected


def test_the_same_seed_writes_the_same_bytes_and_another_one_others(tmp_path: Path) -> None:
    texts = []
    for number, seed in enumerate(("4", "4", "5")):
        out, truth = tmp_path / f"{number}.json", tmp_path / f"{number}.truth.json"
        words = ["--pilots", "10", "--hours", "2", "--causes", "no_token=1", "--seed", seed]
        assert main(["simulate", *words, "--out", str(out), "--truth", str(truth)]) == 0
        texts.append(out.read_bytes() + truth.read_bytes())
    assert texts[0] == texts[1] != texts[2]
    assert json.loads((tmp_path / "0.truth.json").read_text())["planted"]["no_token"] == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--causes", "gremlins=2"], "'gremlins=2' is no cause"),
        (["--causes", "no_token=2,no_token=1"], "'no_token=1' is no cause"),
        (["--pilots", "0"], "Give 1 to 200 pilots."),
        (["--tells-share", "2"], "a number from 0 to 1"),
        (["--pilots", "1", "--hours", "1", "--causes", "product=1"], "no room for another product"),
    ],
)
def test_bad_input_is_one_sentence(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["simulate", *words, "--out", str(tmp_path / "x.json")]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert not (tmp_path / "x.json").exists()


def test_causes_of_a_bad_word_name_it() -> None:
    with pytest.raises(BadProblem, match="'x' is no cause"):
        parse_causes("x")
