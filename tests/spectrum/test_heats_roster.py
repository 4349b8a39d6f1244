"""The roster as a table: what it reads, and what it refuses with the row named."""

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.heats.problem import HeatPilot
from meetapp.spectrum.heats.roster import parse_roster
from meetapp.spectrum.tuning import Setting

PLANS = published_plans()


def read(*rows: str) -> tuple[HeatPilot, ...]:
    return parse_roster("\n".join(rows), PLANS)


@pytest.mark.parametrize(
    "rows",
    [
        pytest.param(["pilot,channels", "Ada,R1 R2"], id="commas"),
        pytest.param(["pilot;channels", "Ada;R1,R2"], id="semicolons, commas inside"),
        pytest.param(["pilot\tchannels", "Ada\tr1 r2"], id="tabs, small letters"),
        pytest.param(["pilot,channels", 'Ada,"R1, R2"'], id="quoted"),
        pytest.param(["Channels , Club, Pilot", "R1 R2,ours,  Ada "], id="another order, another column"),
        pytest.param(["\ufeffpilot,channels", "", "Ada,R1 R2", ",", ""], id="a byte order mark, empty rows"),
        pytest.param(["pilot,channels\r", "Ada,R1 R2\r", ""], id="line ends of another system"),
    ],
)
def test_tables_as_people_save_them_are_read(rows: list[str]) -> None:
    assert read(*rows) == (HeatPilot("Ada", (Setting("R1", 5658), Setting("R2", 5695))),)


def test_channels_may_be_plans_labels_frequencies_and_ranges() -> None:
    ada, bo = read("pilot,channels", "Ada,F R8 5740 5671", "Bo,5650-5652/1")
    assert [setting.label for setting in ada.settings] == [
        "5671 MHz", "F1", "F2", "F3", "F4", "F5", "F6", "F7", "F8", "R8",
    ]  # fmt: skip
    assert [setting.mhz for setting in bo.settings] == [5650, 5651, 5652]


def test_wake_channel_and_width_may_be_told() -> None:
    ada, bo, cy = read("pilot,channels,wake,width", "Ada,R,R3,40", "Bo,R,5658,17.5", "Cy,R")
    assert (ada.wake_mhz, ada.width_mhz) == (5732, 40)
    assert (bo.wake_mhz, bo.width_mhz) == (5658, 17.5)
    assert (cy.wake_mhz, cy.width_mhz) == (None, 20)


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        pytest.param(["pilot,channels", "Ada,R1", "Bo,R9"], "Row 3 (Bo): 'R9' is no plan", id="no such channel"),
        pytest.param(["pilot,channels", "Ada,"], "Row 2 (Ada): Say what it can make", id="no channels"),
        pytest.param(["pilot,channels", "Ada"], "Row 2 (Ada): Say what it can make", id="a row cut short"),
        pytest.param(["pilot,channels", " ,R1"], "Row 2: the pilot has no name.", id="no name"),
        pytest.param(
            ["pilot,channels", "Ada,R1", "", "Ada,R2"], "Row 4: 'Ada' stands in row 2 already", id="a name twice"
        ),
        pytest.param(["pilot,channels", "Ada,R1,R2"], "Row 2: it has more cells than the header", id="commas unquoted"),
        pytest.param(["pilot,channels", "Ada,5850-5650/1"], "Row 2 (Ada): 5850-5650/1 runs backwards", id="backwards"),
        pytest.param(["pilot,channels", "Ada,580"], "Row 2 (Ada): 580 MHz is not near 5.8 GHz", id="far off"),
        pytest.param(["pilot,channels", "Ada,5650-5925/0"], "has no step", id="no step"),
        pytest.param(["pilot,channels,wake", "Ada,R,R1 R2"], "more than one channel to wake on", id="two to wake on"),
        pytest.param(["pilot,channels,width", "Ada,R,wide"], "Row 2 (Ada): A width must be a number", id="no width"),
        pytest.param(["pilot,channels,width", "Ada,R,0"], "Row 2 (Ada): A width of 0 MHz can't be", id="zero width"),
        pytest.param(["pilot,channels", '"Ada,R1'], "Row 2: it can't be read as a table", id="a quote left open"),
        pytest.param(["Ada,R1"], "no column 'pilot' and 'channels'", id="no header"),
        pytest.param(["pilot,channel", "Ada,R1"], "no column 'channels'", id="another header"),
        pytest.param(["pilot,channels,pilot", "Ada,R1,Bo"], "the column 'pilot' twice", id="a column twice"),
        pytest.param(["pilot,channels"], "The roster has no pilots", id="nobody"),
        pytest.param([""], "The roster has no pilots", id="nothing at all"),
        pytest.param(["pilot,channels", f"{'A' * 81},R1"], "at most 80 letters", id="an endless name"),
        pytest.param(
            ["pilot,channels", *(f"{number},R1" for number in range(501))], "more than 500 pilots", id="too many"
        ),
    ],
)
def test_a_bad_row_is_refused_by_its_number(rows: list[str], sentence: str) -> None:
    with pytest.raises(BadProblem) as refused:
        read(*rows)
    assert sentence in refused.value.reason
    assert refused.value.reason.endswith(".")
