"""`meetapp pick`: what it prints, its exit codes, and what it refuses."""

import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from typing import Any

import pytest

from meetapp import cli_spectrum
from meetapp.cli import main
from meetapp.data.catalog import published_plans
from meetapp.spectrum.picking import pick
from meetapp.spectrum.result import Optimal, Result

FIVE_PLANS = ["--plans", "A,B,E,F,R"]


def answer(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> dict[str, Any]:
    assert main(["pick", *words, "--json"]) == code
    parsed = json.loads(capsys.readouterr().out)
    assert isinstance(parsed, dict)
    return parsed


def test_the_best_six_of_the_five_plans(capsys: pytest.CaptureFixture[str]) -> None:
    # Found with another exact search, see tests/spectrum/test_outside_checks.py.
    assert answer(capsys, "--count", "6", *FIVE_PLANS, "--spacing", "37") == {
        "mhz": [5645, 5695, 5765, 5805, 5865, 5945],
        "labels": [["E4"], ["R2"], ["A6"], ["A4"], ["A1"], ["E8"]],
        "spacing_mhz": 40,
        "two_signal_clearance_mhz": 20,
        "three_signal_clearance_mhz": 10,
        "proven": True,
    }


def test_a_frequency_with_two_names_shows_both(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "--count", "1", "--mhz", "5880", "--spacing", "37")
    assert sorted(found["labels"][0]) == ["F8", "R7"]
    assert answer(capsys, "--count", "1", "--mhz", "5671", "--spacing", "37")["labels"] == [[]]


def test_labels_are_those_of_the_plans_chosen_from(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "--count", "8", "--plans", "R", "--spacing", "37")
    assert found["labels"] == [[f"R{number}"] for number in range(1, 9)]


@pytest.mark.parametrize("carriers", [1, 2, 3], ids=["one", "two", "three"])
def test_what_can_not_be_measured_is_null(capsys: pytest.CaptureFixture[str], carriers: int) -> None:
    found = answer(capsys, "--count", str(carriers), *FIVE_PLANS, "--spacing", "37")
    measures = (found["spacing_mhz"], found["two_signal_clearance_mhz"], found["three_signal_clearance_mhz"])
    assert [value is None for value in measures] == [carriers < 2, carriers < 3, carriers < 4]


def test_measures_are_not_cut_at_the_useful_clearance(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "--count", "4", "--mhz", "5658,5732,5843,5880", "--spacing", "37", "--useful", "10")
    assert found["two_signal_clearance_mhz"] == 37


def test_a_count_that_can_not_be_met_says_what_can(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "6", *FIVE_PLANS, "--spacing", "37", "--within", "5725-5875"]
    assert answer(capsys, *words, code=1) == {"largest_count": 4, "largest_spacing_mhz": 22}
    assert main(["pick", *words]) == 1
    printed = capsys.readouterr().out
    assert "largest count at this spacing is 4" in printed
    assert "largest spacing for this count is 22 MHz" in printed


def test_more_carriers_than_frequencies_have_no_spacing_at_all(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "3", "--mhz", "5658,5695", "--spacing", "0"]
    assert answer(capsys, *words, code=1) == {"largest_count": 2, "largest_spacing_mhz": None}
    assert main(["pick", *words]) == 1
    assert "No spacing helps" in capsys.readouterr().out


def test_a_band_that_holds_nothing_fits_no_carrier(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "1", "--plans", "R", "--spacing", "37", "--within", "5700-5710"]
    assert answer(capsys, *words, code=1) == {"largest_count": 0, "largest_spacing_mhz": None}


def test_without_a_band_it_says_so_on_the_error_stream(capsys: pytest.CaptureFixture[str]) -> None:
    for extra in ([], ["--json"]):
        assert main(["pick", "--count", "2", "--plans", "R", "--spacing", "37", *extra]) == 0
        assert "No band rule was applied" in capsys.readouterr().err
    assert main(["pick", "--count", "2", "--plans", "R", "--spacing", "37", "--within", "5650-5925"]) == 0
    assert capsys.readouterr().err == ""


def test_the_proof_always_stands_beside_no_promise(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pick", "--count", "2", "--plans", "R", "--spacing", "37"]) == 0
    printed = capsys.readouterr().out
    assert "Proven best by these sums; no promise of a clear picture" in printed
    assert "5658 MHz  R1" in printed
    assert "nothing to measure" in printed


def test_the_whole_width_lies_inside_one_of_the_segments(capsys: pytest.CaptureFixture[str]) -> None:
    band = ["--within", "5725-5745", "--within", "5745-5765"]
    some = ["--mhz", "5734,5735,5745,5755,5756", "--spacing", "0"]
    assert answer(capsys, "--count", "2", *some, *band)["mhz"] == [5735, 5755]
    assert answer(capsys, "--count", "3", *some, *band, code=1)["largest_count"] == 2
    assert answer(capsys, "--count", "4", *some, *band, "--width", "18")["mhz"] == [5734, 5735, 5755, 5756]


def test_neighbours_are_kept_at_half_of_both_widths(capsys: pytest.CaptureFixture[str]) -> None:
    some = ["--mhz", "5695,5696,5745,5794,5795,5885", "--spacing", "0", "--avoid", "5745/80"]
    assert answer(capsys, "--count", "3", *some)["mhz"] == [5695, 5795, 5885]
    assert answer(capsys, "--count", "4", *some, code=1)["largest_count"] == 3
    assert answer(capsys, "--count", "3", *some, "--avoid", "5885/5", code=1)["largest_count"] == 2
    assert answer(capsys, "--count", "5", *some, "--width", "17.5")["mhz"] == [5695, 5696, 5794, 5795, 5885]


def test_a_width_changes_neither_spacing_nor_clearance(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "3", "--mhz", "5658,5695,5760", "--spacing", "37", "--within", "5600-5800"]
    assert answer(capsys, *words, "--width", "40") == answer(capsys, *words)


def test_repeated_frequencies_count_once(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--plans", "R,r,R", "--mhz", "5658,5658", "--mhz", "5658", "--spacing", "0"]
    assert answer(capsys, "--count", "9", *words, code=1)["largest_count"] == 8


def test_two_signals_may_be_ranked_first(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "5", *FIVE_PLANS, "--spacing", "37"]
    both, two = answer(capsys, *words), answer(capsys, *words, "--signals", "two")
    assert two["two_signal_clearance_mhz"] > both["two_signal_clearance_mhz"]
    assert two["three_signal_clearance_mhz"] < both["three_signal_clearance_mhz"]


HARD = ["--count", "9", "--spacing", "10", "--mhz", "5650-5925"]


@pytest.fixture
def time_for_a_few_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """The time is over at the twentieth look at the clock: long before a proof of HARD, however quick the machine."""

    @contextmanager
    def a_few_looks(_seconds: float) -> Iterator[Callable[[], bool]]:
        asked = count(1)
        yield lambda: next(asked) >= 20

    monkeypatch.setattr(cli_spectrum, "time_for_search", a_few_looks)


@pytest.mark.usefixtures("time_for_a_few_looks")
def test_without_a_proof_in_time_it_says_so_and_gives_the_bound(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, *HARD)
    assert list(found)[-2:] == ["proven", "clearance_bound_mhz"]
    assert found["proven"] is False
    clearance = min(found["two_signal_clearance_mhz"], found["three_signal_clearance_mhz"])
    assert len(found["mhz"]) == 9
    assert clearance <= found["clearance_bound_mhz"] < 35


@pytest.mark.usefixtures("time_for_a_few_looks")
@pytest.mark.parametrize(
    ("signals", "bound"),
    [("both", "MHz of clearance, counted up to 35 MHz"), ("two", "MHz of two-signal clearance, counted up to 35 MHz")],
)
def test_in_words_too_nothing_is_called_proven_that_is_not(
    capsys: pytest.CaptureFixture[str], signals: str, bound: str
) -> None:
    assert main(["pick", *HARD, "--signals", signals]) == 0
    printed = capsys.readouterr().out
    assert "not proven, and no promise of a clear picture" in printed
    assert "No set here has more than" in printed
    assert bound in printed
    assert "Proven" not in printed


def test_ctrl_c_prints_the_best_so_far(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def pick_with_ctrl_c(*words: Any, is_over: Callable[[], bool], **options: Any) -> Result:
        asked = count(1)

        def pressed_at_the_fifth_look() -> bool:
            if next(asked) == 5:
                signal.raise_signal(signal.SIGINT)
            return is_over()

        return pick(*words, is_over=pressed_at_the_fifth_look, **options)

    monkeypatch.setattr(cli_spectrum, "pick", pick_with_ctrl_c)
    usual = signal.getsignal(signal.SIGINT)
    assert answer(capsys, *HARD, "--seconds", "600")["proven"] is False
    assert signal.getsignal(signal.SIGINT) is usual


def test_a_range_of_frequencies_is_a_pool_as_well(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--count", "3", "--spacing", "37"]
    listed = ",".join(map(str, range(5650, 5926, 5)))
    assert answer(capsys, *words, "--mhz", "5650-5925/5") == answer(capsys, *words, "--mhz", listed)
    assert answer(capsys, *words, "--mhz", "5650-5925")["mhz"] == [5650, 5770, 5925]


def test_each_carrier_may_have_a_width_of_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--widths", "40,20,20", "--spacing", "37", *FIVE_PLANS, "--within", "5650-5925"]
    found = answer(capsys, *words)
    assert sorted(found["widths_mhz"]) == [20, 20, 40]
    assert [high - low for low, high in found["edges_mhz"]] == found["widths_mhz"]
    assert all(low >= 5650 and high <= 5925 for low, high in found["edges_mhz"])
    assert found["proven"] is True
    # The same set, measured: spacing and clearances go by the widths.
    inspected = [f"{mhz}/{width}" for mhz, width in zip(found["mhz"], found["widths_mhz"], strict=True)]
    assert main(["inspect", *inspected, "--json"]) == 0
    measured = json.loads(capsys.readouterr().out)
    assert {key: measured[key] for key in found if key != "proven"} == {
        key: value for key, value in found.items() if key != "proven"
    }
    assert main(["pick", *words]) == 0
    assert "40 MHz wide, " in capsys.readouterr().out


def test_widths_that_are_all_alike_count_as_well(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "--widths", "40,40", "--spacing", "37", "--plans", "R")
    assert (found["mhz"], found["spacing_mhz"], found["widths_mhz"]) == ([5658, 5917], 239, [40, 40])


def test_wide_carriers_that_do_not_fit_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    # Wide ones fit the band at R2 (5695) and R3 (5732) only, where 37 MHz less half of their extra widths leave 17.
    words = ["--widths", "20,40,40", "--spacing", "37", "--plans", "R", "--within", "5640-5780"]
    assert answer(capsys, *words, code=1) == {"largest_count": 2, "largest_spacing_mhz": 17}


def test_the_library_call_gives_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "--count", "5", "--plans", "A,R", "--spacing", "25", "--mhz", "5671", "--useful", "20")
    result = pick(5, 25, plans=published_plans(), letters="AR", extra_mhz=[5671], useful_mhz=20)
    assert isinstance(result, Optimal)
    assert found["mhz"] == list(result.mhz)
    assert found["three_signal_clearance_mhz"] == result.measures.three_signal_clearance_mhz


def test_python_dash_m_is_the_same_command() -> None:
    words = ["pick", "--count", "2", "--plans", "R", "--spacing", "37", "--json"]
    run = subprocess.run([sys.executable, "-m", "meetapp", *words], capture_output=True, text=True, check=False)
    assert run.returncode == 0
    assert json.loads(run.stdout)["mhz"] == [5658, 5917]


GOOD = {"--count": "2", "--plans": "R", "--spacing": "37"}
BAD_INPUT: dict[str, tuple[dict[str, str | None], str]] = {
    "a word for a count": ({"--count": "six"}, "--count must be a whole number, not 'six'."),
    "half a carrier": ({"--count": "2.5"}, "--count must be a whole number, not '2.5'."),
    "an endless count": ({"--count": "9" * 5000}, "--count must be a whole number"),
    "no carriers": ({"--count": "0"}, "The count must be 1 or more, not 0."),
    "fewer than none": ({"--count": "-3"}, "The count must be 1 or more, not -3."),
    "no count": ({"--count": None}, "Missing: --count"),
    "a count that the widths contradict": ({"--widths": "20,40,40"}, "Give one width for each carrier"),
    "one width and several": ({"--widths": "20,40", "--width": "18"}, "not both"),
    "widths in words": ({"--widths": "20,wide"}, "A width must be a number of MHz, not 'wide'."),
    "a width that can't be": ({"--widths": "20,0"}, "A width of 0 MHz can't be"),
    "no spacing": ({"--spacing": None}, "Missing: --spacing"),
    "a negative spacing": ({"--spacing": "-1"}, "The spacing must be 0 MHz or more, not -1."),
    "a spacing with a unit": ({"--spacing": "37MHz"}, "--spacing must be a whole number, not '37MHz'."),
    "nothing to choose from": ({"--plans": None}, "Say what to choose from"),
    "an empty list of plans": ({"--plans": " , "}, "Say what to choose from"),
    "an unknown plan": ({"--plans": "R,Q"}, "There is no channel plan 'Q'; there are A, B, E, F, R, L."),
    "plans run together": ({"--plans": "ABR"}, "There is no channel plan 'ABR'"),
    "a frequency in GHz": ({"--mhz": "5.8"}, "--mhz must be a whole number, not '5.8'."),
    "a frequency far off": ({"--mhz": "58"}, "58 MHz is not near 5.8 GHz"),
    "a label for a frequency": ({"--mhz": "R1"}, "--mhz must be a whole number, not 'R1'."),
    "a band turned round": ({"--within": "5875-5725"}, "runs backwards"),
    "a band without an end": ({"--within": "5725-"}, "'5725-' is no piece of band"),
    "an empty band": ({"--within": ""}, "Give at least one piece of band"),
    "a neighbour without a width": ({"--avoid": "5745"}, "--avoid must be a centre and a width"),
    "a neighbour of no width": ({"--avoid": "5745/0"}, "A width of 0 MHz can't be"),
    "a neighbour far off": ({"--avoid": "2437/20"}, "2437 MHz is not near 5.8 GHz"),
    "a word for a width": ({"--width": "wide"}, "A width must be a number of MHz, not 'wide'."),
    "a width of nothing": ({"--width": "0", "--within": "5650-5925"}, "A width of 0 MHz can't be"),
    "a width of nothing, no band": ({"--width": "0"}, "A width of 0 MHz can't be"),
    "other signals": ({"--signals": "three"}, 'The signals to rank by are "both" or "two", not "three".'),
    "a negative useful clearance": ({"--useful": "-1"}, "The useful clearance must be 0 MHz or more, not -1."),
    "no time": ({"--seconds": "0"}, "--seconds must be a number above 0, not '0'."),
    "time in words": ({"--seconds": "soon"}, "--seconds must be a number above 0, not 'soon'."),
    "a range turned round": ({"--mhz": "5925-5650"}, "5925-5650/1 runs backwards"),
    "a range far off": ({"--mhz": "2400-2480"}, "2400 MHz is not near 5.8 GHz"),
    "an option that is none": ({"--floor": "10"}, "Not understood: --floor 10"),
    "an option cut short": ({"--spac": "10"}, "Not understood: --spac 10"),
}


@pytest.mark.parametrize("as_json", [False, True], ids=["in words", "in JSON"])
@pytest.mark.parametrize(("change", "sentence"), BAD_INPUT.values(), ids=BAD_INPUT)
def test_bad_input_is_refused_with_a_sentence(
    capsys: pytest.CaptureFixture[str], change: dict[str, str | None], sentence: str, as_json: bool
) -> None:
    given = {**GOOD, **change}
    words = [word for option, value in given.items() if value is not None for word in (option, value)]
    assert main(["pick", *words, *(["--json"] if as_json else [])]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert sentence in printed.err
    assert printed.err.strip().endswith(".")
    assert len(printed.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        pytest.param(["pick", "--count"], "--count needs a value behind it", id="no value"),
        pytest.param([], "Missing: command", id="no command"),
        pytest.param(["chose"], "There is no 'chose'", id="no such command"),
    ],
)
def test_a_line_that_can_not_be_read_is_refused(
    capsys: pytest.CaptureFixture[str], words: list[str], sentence: str
) -> None:
    assert main(words) == 2
    assert sentence in capsys.readouterr().err


def test_help_is_no_mistake(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pick", "--help"]) == 0
    assert "--spacing" in capsys.readouterr().out
