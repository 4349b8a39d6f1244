"""The sentences beside the estimated levels."""

import pytest

from meetapp.flows.planning.level_words import made_by, metres, nearest_sentences, power_sentences
from meetapp.spectrum.levels import Assumptions, Layout, compare_powers


@pytest.mark.parametrize(
    ("distance", "words"), [(0.2, "1 m"), (1, "1 m"), (3.41, "3.5 m"), (9.99, "10 m"), (12.01, "13 m"), (300, "300 m")]
)
def test_a_least_distance_is_never_rounded_down(distance: float, words: str) -> None:
    assert metres(distance) == words


@pytest.mark.parametrize(
    ("kind", "sources", "words"),
    [
        ("noise", (), "the receiver's noise"),
        ("carrier", (5740,), "the carrier on 5740 MHz"),
        ("two-signal", (5740, 5800), "2 x 5740 - 5800, made in the receiver"),
        ("three-signal", (5740, 5800, 5820), "5740 + 5800 - 5820, made in the receiver"),
        ("transmitter", (5740, 5800), "2 x 5740 - 5800, made in the transmitter on 5740 MHz"),
    ],
)
def test_what_disturbs_is_written_out(kind, sources: tuple[int, ...], words: str) -> None:  # type: ignore[no-untyped-def]
    assert made_by(kind, sources) == words


@pytest.mark.parametrize(
    ("layout", "verdict"),
    [
        pytest.param(
            Layout(wanted_m=20, nearest_m=40),
            "By this estimate neither power makes a picture fall below the protection ratio of 15 dB.",
            id="far from the others",
        ),
        pytest.param(
            Layout(wanted_m=60, nearest_m=5),
            "By this estimate it matters here: a picture is below the protection ratio of 15 dB with everybody at "
            "200 mW, and with one at 200 mW among 25 mW.",
            id="near the others",
        ),
        pytest.param(
            Layout(wanted_m=300, nearest_m=2),
            "By this estimate some picture is below the protection ratio of 15 dB with either power.",
            id="among the others",
        ),
    ],
)
def test_the_verdict_goes_by_the_protection_ratio(layout: Layout, verdict: str) -> None:
    six = (5645, 5695, 5765, 5805, 5865, 5945)
    *_, last = power_sentences(compare_powers(six, 25, 200, layout, Assumptions()), 25, 200, 15)
    assert last == verdict


def test_nobody_else_needs_no_distance() -> None:
    assert list(nearest_sentences([(25, None), (200, None)])) == []
