"""The world by rule: its record is a good meet file, its truth refers to it, its observer's odds are odds."""

from dataclasses import replace
from datetime import timedelta

import pytest

from meetapp.flows.files.meet_file import meet_file_text
from meetapp.flows.files.meet_file_reading import read_meet_file
from meetapp.simulate.by_rule.making import make_by_rule
from meetapp.simulate.by_rule.observing import RuleTellings, ideal_weights_by_rule
from meetapp.simulate.by_rule.tables import LOOKS, RulePlan
from meetapp.simulate.day import minutes
from meetapp.simulate.observer.gathering import Strike
from meetapp.simulate.people import Told
from meetapp.simulate.simulating import SimulatedMeet


@pytest.fixture(scope="module")
def meet() -> SimulatedMeet:
    return make_by_rule(RulePlan(seed=2))


def test_the_file_passes_the_checks_of_the_importer_and_comes_out_the_same_again(meet: SimulatedMeet) -> None:
    assert read_meet_file(meet_file_text(meet.file)) == meet.file
    assert make_by_rule(RulePlan(seed=2)) == meet


def test_sets_of_all_sorts_fly_and_what_disturbs_is_in_the_record_or_in_the_truth(meet: SimulatedMeet) -> None:
    assert {kind.is_digital for kind in meet.file.kinds} == {True, False}
    assert any(kind.moves_by_itself for kind in meet.file.kinds)
    kinds = {row["kind"] for row in meet.truth["reports"]}
    assert {"own_receiver", "wrong_channel", "product", "neighbour"} <= kinds
    loans = {loan.ref for loan in meet.file.loans}
    assert all(set(row["sources"]) <= loans for row in meet.truth["reports"])


def test_an_orderly_meet_has_everyday_reports_only() -> None:
    orderly = make_by_rule(RulePlan(seed=3, is_orderly=True))
    assert orderly.truth["reports"]
    assert {row["kind"] for row in orderly.truth["reports"]} <= {"own_receiver", "unknown"}


def test_its_observer_gives_each_report_odds_that_sum_to_one(meet: SimulatedMeet) -> None:
    weights = ideal_weights_by_rule(meet.record, draws=2_000)
    assert [sum(row.values()) for row in weights] == pytest.approx([1] * len(weights))
    right = sum(row[each["kind"]] for row, each in zip(weights, meet.truth["reports"], strict=True))
    assert right > len(weights) / 3


def test_the_odds_of_all_minutes_that_may_be_told_sum_to_one(meet: SimulatedMeet) -> None:
    loan = max(meet.record.loans.values(), key=lambda each: each.out_at)
    strike = Strike(loan.loan_id, 0.5, minutes(loan.out_at), minutes(loan.in_at), LOOKS["product"])
    total = 0.0
    for away in range(-30, 30):
        when = loan.in_at.replace(second=0) + timedelta(minutes=away)
        for look in ("lines", "other_picture", "gone", "colour", "unsure"):
            told = Told(loan.pilot_id, None, when, when + timedelta(hours=1), 150, look, "flight", None)
            total += RuleTellings(replace(meet.record, told=(told,))).told(0, strike)
    assert total == pytest.approx(1, abs=0.01)
