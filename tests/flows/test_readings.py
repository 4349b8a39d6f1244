"""What an organiser types is read once; the examples in the docstrings hold."""

import doctest

import pytest

from meetapp.data.catalog import published_plans
from meetapp.flows import csv_cells, readings
from meetapp.flows.club import token_codes
from meetapp.flows.errors import Refused
from meetapp.flows.readings import read_channel


@pytest.mark.parametrize("module", [csv_cells, readings, token_codes], ids=lambda module: module.__name__)
def test_the_examples_in_the_docstrings_hold(module: object) -> None:
    result = doctest.testmod(module)  # type: ignore[arg-type]
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    ("typed", "mhz"), [("R3", 5732), (" r3 ", 5732), ("5732", 5732), ("5671 MHz", 5671), ("5671mhz", 5671)]
)
def test_one_channel_is_a_label_or_mhz(typed: str, mhz: int) -> None:
    assert read_channel(typed, published_plans(), "wake") == mhz


@pytest.mark.parametrize("typed", ["", "R", "R1 R2", "5650-5660", "MHz", "57321"])
def test_what_is_not_one_channel_is_refused(typed: str) -> None:
    with pytest.raises(Refused) as refused:
        read_channel(typed, published_plans(), "wake")
    assert refused.value.field == "wake"
