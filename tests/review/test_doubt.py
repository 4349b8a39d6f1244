"""How far odds are believed: worked out by hand, from experience, no source."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.review.causes import NO_TOKEN, CauseKind
from meetapp.review.doubt import borne_out, trust
from meetapp.review.hidden import Hidden
from tests.review.scenes import record_of, report

ONE, OTHER, SAME_PILOT = report(1, 1, 60), report(2, 2, 62), report(3, 1, 63)


def said(shares: dict[CauseKind, float], others_too: float) -> dict[CauseKind, float]:
    power = trust(shares, others_too)
    whole = sum(share**power for share in shares.values())
    return {kind: share**power / whole for kind, share in shares.items()}


def test_a_lone_report_accuses_nobody_where_two_pilots_reports_do() -> None:
    # 0.6^0.52 = 0.77 beside 2 * 0.2^0.52 = 0.87; 0.6^0.75 = 0.68 beside 2 * 0.2^0.75 = 0.60
    shares: dict[CauseKind, float] = {"wrong_channel": 0.6, "own_receiver": 0.2, "unknown": 0.2}
    assert said(shares, 0)["wrong_channel"] == pytest.approx(0.77 / 1.64, abs=0.01)
    assert said(shares, 1)["wrong_channel"] == pytest.approx(0.68 / 1.28, abs=0.01)


def test_what_the_journal_shows_isnt_borne_out_by_something_hidden() -> None:
    shares: dict[CauseKind, float] = {"too_close": 0.7, "no_token": 0.3}
    assert trust(shares, 1) == trust(shares, 0)


@pytest.mark.parametrize(("second", "share"), [(OTHER, 0.7), (SAME_PILOT, 0.0)])
def test_only_somebody_elses_report_bears_another_out(second: object, share: float) -> None:
    both = Hidden(NO_TOKEN, 5800, 0, 7200, 0.1, ((0, 0.2), (1, 0.2)), ("span", 0))
    lone = Hidden(NO_TOKEN, 5700, 0, 7200, 0.1, ((0, 0.2),), ("span", 0))
    found = borne_out(record_of([], [ONE, second]), [(both, {0: 0.7, 1: 0.6}), (lone, {0: 0.2})])
    assert found.get(0, 0.0) == share


@settings(max_examples=60)
@given(st.lists(st.floats(0.01, 1), min_size=2, max_size=6), st.floats(0, 1))
def test_doubt_takes_from_the_likeliest_and_changes_no_order(weights: list[float], others_too: float) -> None:
    kinds: list[CauseKind] = ["own_receiver", "no_token", "wrong_channel", "too_close", "product", "neighbour"]
    shares = {kind: weight / sum(weights) for kind, weight in zip(kinds, weights, strict=False)}
    told = said(shares, others_too)
    assert sorted(told, key=lambda kind: (told[kind], shares[kind])) == sorted(shares, key=lambda kind: shares[kind])
    assert max(told.values()) <= max(shares.values()) + 1e-9
