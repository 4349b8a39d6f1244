"""Explanations of a few simulated meets of two worlds, against floors that an explainer without sense doesn't reach.

The full size is `python -m tests.bench.explaining`.
"""

import pytest

from meetapp.flows.files.meet_file_shape import MeetFile
from tests.bench.explaining.figures import calibration_error, of_all
from tests.bench.explaining.judging import Answer, Judged, explainer, judged, nearest_to_blame, of_weights
from tests.bench.explaining.measuring import Measured, measure
from tests.bench.explaining.worlds import WORLDS

LEARN = range(1001, 1005)


@pytest.fixture(scope="module")
def found() -> Measured:
    together = Measured()
    for name in ("the default", "by rule"):
        together.add(measure(WORLDS[name], range(1, 3), None, explainer, LEARN))
    return together


def first(reports: list[Judged]) -> float:
    return sum(each.is_among(1) for each in reports) / len(reports)


def faults(reports: list[Judged], nearest: list[Judged]) -> list[str]:
    """What a broken explainer gives away; loose, for these are few reports."""
    found = []
    if first(reports) < first(nearest) + 0.1:
        found.append("no better than to blame the nearest")
    if sum(each.is_among(3) for each in reports) / len(reports) < 0.6:
        found.append("the true kind is seldom among the first three")
    if calibration_error(of_all(reports)) > 0.1:
        found.append("says what doesn't come true")
    return found


class Answerer:
    """An explainer that is nearly sure of the same kind each time."""

    def __init__(self, kind: str) -> None:
        self._kind = kind

    def __call__(self, file: MeetFile) -> Answer:
        return of_weights(file, [{self._kind: 0.9, "unknown": 0.1} for _ in file.reports])


def test_the_explainer_keeps_the_floors(found: Measured) -> None:
    assert faults(found.ours, found.nearest) == []


def test_an_explainer_without_sense_does_not_keep_them(found: Measured) -> None:
    meet = WORLDS["the default"].make(1)
    nearest = judged(meet, nearest_to_blame(meet.file))
    assert faults(nearest, nearest)
    for kind in ("no_token", "own_receiver", "too_close"):
        assert faults(judged(meet, Answerer(kind)(meet.file)), nearest)


def test_where_nothing_is_planted_hardly_anybody_is_accused(found: Measured) -> None:
    assert sum(bool(each) for each in found.quiet) <= 2


def test_the_interval_of_a_silent_transmitter_mostly_holds_it(found: Measured) -> None:
    assert found.silent
    assert sum(each.holds for each in found.silent) >= len(found.silent) / 2
