"""`meetapp inspect`: the measures of a given set and the products near its carriers."""

import json
import os
import subprocess
import sys
from itertools import permutations
from typing import Any

import pytest

from meetapp.cli import main


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main(["inspect", *words, "--json"]) == 0
    parsed = json.loads(capsys.readouterr().out)
    assert isinstance(parsed, dict)
    return parsed


def test_three_carriers_have_no_three_signal_clearance(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "5658", "5695", "5760")
    # 2 x 5695 - 5760 = 5630 lies 28 below 5658, and 2 x 5695 - 5658 = 5732 lies 28 below 5760.
    assert found == {
        "mhz": [5658, 5695, 5760],
        "labels": [["R1"], ["R2"], ["F2"]],
        "spacing_mhz": 37,
        "two_signal_clearance_mhz": 28,
        "three_signal_clearance_mhz": None,
        "widths_mhz": [20, 20, 20],
        "edges_mhz": [[5648, 5668], [5685, 5705], [5750, 5770]],
        "products": [
            {"order": 3, "kind": "2a-b", "sources": [5695, 5760], "mhz": 5630, "victim": 5658, "distance_mhz": 28},
            {"order": 3, "kind": "2a-b", "sources": [5695, 5658], "mhz": 5732, "victim": 5760, "distance_mhz": 28},
        ],
    }


def test_every_product_within_40_mhz_is_listed_nearest_first(capsys: pytest.CaptureFixture[str]) -> None:
    mhz = (5658, 5695, 5760, 5800, 5880, 5917)
    found = answer(capsys, *map(str, mhz))
    listed = {(each["mhz"], tuple(each["sources"]), each["victim"]): each["distance_mhz"] for each in found["products"]}
    expected: dict[tuple[int, tuple[int, ...], int], int] = {}
    for a, b, victim in permutations(mhz, 3):
        expected[2 * a - b, (a, b), victim] = abs(2 * a - b - victim)
    for a, b, c, victim in permutations(mhz, 4):
        if a < b:
            expected[a + b - c, (a, b, c), victim] = abs(a + b - c - victim)
    assert listed == {which: distance for which, distance in expected.items() if distance <= 40}
    assert len(listed) == len(found["products"])
    distances = [each["distance_mhz"] for each in found["products"]]
    assert distances == sorted(distances)
    # 5658 + 5917 - 5695 = 5880 is the exact hit of this set.
    assert found["products"][0]["distance_mhz"] == 0
    assert (found["two_signal_clearance_mhz"], found["three_signal_clearance_mhz"]) == (12, 0)


def test_edges_are_shown_beside_the_centres(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "R1", "5695/40", "5769/17.5")
    assert found["widths_mhz"] == [20, 40, 17.5]
    assert found["edges_mhz"] == [[5648, 5668], [5675, 5715], [5760.25, 5777.75]]
    assert main(["inspect", "R1", "5695/40"]) == 0
    printed = capsys.readouterr().out
    assert "5658 MHz  R1  20 MHz wide, 5648 to 5668" in printed
    assert "5695 MHz  R2  40 MHz wide, 5675 to 5715" in printed
    assert "Widths are taken off" in printed


def test_labels_stand_for_their_frequencies(capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(capsys, "R1", "r2", "F2") == answer(capsys, "5658", "5695", "5760")
    assert answer(capsys, "L1", "E8")["mhz"] == [5362, 5945]


def test_the_order_given_does_not_matter(capsys: pytest.CaptureFixture[str]) -> None:
    assert answer(capsys, "5760", "5658", "5695") == answer(capsys, "5658", "5695", "5760")


def test_widths_are_taken_off(capsys: pytest.CaptureFixture[str]) -> None:
    narrow, wide = answer(capsys, "5658", "5695", "5760"), answer(capsys, "5658", "5695/40", "5760")
    assert wide["widths_mhz"] == [20, 40, 20]
    assert wide["spacing_mhz"] == narrow["spacing_mhz"] - 10
    # 5695 enters its products twice: 2 x 20 MHz more width, half of it on the victim's side.
    assert wide["two_signal_clearance_mhz"] == narrow["two_signal_clearance_mhz"] - 20
    assert answer(capsys, "R1/17.5")["widths_mhz"] == [17.5]


def test_a_repeated_carrier_counts_once_and_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["inspect", "5880", "R7", "F8", "5658", "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["mhz"] == [5658, 5880]
    assert "counts once" in printed.err


def test_one_carrier_has_nothing_to_measure(capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "5658")
    assert found["spacing_mhz"] is None
    assert found["products"] == []
    assert main(["inspect", "5658"]) == 0
    printed = capsys.readouterr().out
    assert printed.count("nothing to measure") == 3
    assert "of a carrier: none" in printed


def test_in_words_a_product_is_written_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["inspect", "R1", "5695/18", "5760", "5800"]) == 0
    printed = capsys.readouterr().out
    assert "5695 MHz  R2  18 MHz wide" in printed
    assert "2 x 5760 - 5800 = 5720" in printed
    assert "MHz from 5695" in printed


@pytest.mark.parametrize("as_json", [False, True], ids=["in words", "in JSON"])
@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        pytest.param([], "Missing: carrier", id="no carrier"),
        pytest.param(["R9"], "'R9' is no channel and no frequency", id="no such channel"),
        pytest.param(["R"], "'R' is no channel and no frequency", id="a whole plan"),
        pytest.param(["5658", "5.8"], "'5.8' is no channel and no frequency", id="a frequency in GHz"),
        pytest.param(["5658,5695"], "'5658,5695' is no channel and no frequency", id="a comma"),
        pytest.param(["58"], "58 MHz is not near 5.8 GHz", id="a frequency far off"),
        pytest.param(["-5658"], "-5658 MHz is not near 5.8 GHz", id="a negative frequency"),
        pytest.param(["5658/"], "A width must be a number of MHz, not ''.", id="a slash and no width"),
        pytest.param(["5658/wide"], "A width must be a number of MHz, not 'wide'.", id="a word for a width"),
        pytest.param(["5658/0"], "A width of 0 MHz can't be", id="no width"),
        pytest.param(["5658/17.3"], "steps of half a MHz", id="a width between two steps"),
        pytest.param(["5658/-20"], "A width must be a number of MHz, not '-20'.", id="a negative width"),
        pytest.param(["5658/20/20"], "A width must be a number of MHz, not '20/20'.", id="two widths"),
        pytest.param(["5658", "--depth", "5"], "--depth 5; 'meetapp inspect --help'", id="an option that is none"),
    ],
)
def test_bad_input_is_refused_with_a_sentence(
    capsys: pytest.CaptureFixture[str], words: list[str], sentence: str, as_json: bool
) -> None:
    assert main(["inspect", *words, *(["--json"] if as_json else [])]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert sentence in printed.err
    assert len(printed.err.splitlines()) == 1


def test_a_reader_that_leaves_early_is_no_error() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        words = [sys.executable, "-m", "meetapp", "inspect", "R1", "R2", "R3"]
        ended = subprocess.run(words, stdout=writing, stderr=subprocess.PIPE, text=True, check=False)
    finally:
        os.close(writing)
    assert ended.stderr == ""
    assert ended.returncode == 141
