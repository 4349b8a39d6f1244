"""What the explainer says of small days: whom it blames, whom it doesn't, and what never changes its answer."""

from dataclasses import replace
from itertools import combinations
from math import exp, isclose, log
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.review.causes import OWN_RECEIVER, Cause, CauseKind
from meetapp.review.explaining import MeetExplained, ReportExplained, explain
from meetapp.review.hidden import Hidden
from meetapp.review.joint import read_together
from meetapp.spectrum.carriers import Neighbour
from tests.review.scenes import KIND, Scene, flight, quiet_day, record_of, report, scene


def of_kind(explained: ReportExplained, kind: CauseKind) -> float:
    return sum(each.probability for each in explained.causes if each.cause.kind == kind)


def odds_of(explained: MeetExplained) -> dict[int, dict[Cause, float]]:
    return {
        explained.record.reports[each.number].ref: {one.cause: one.probability for one in each.causes}
        for each in explained.reports
    }


@given(st.integers(0, 400), st.integers(0, 2), st.integers(0, 2), st.integers(1, 3))
@settings(max_examples=8, deadline=None)
def test_the_odds_of_a_report_sum_to_one(seed: int, silent: int, wrong: int, own: int) -> None:
    explained = explain(scene(seed, silent=silent, wrong=wrong, own=own).record)
    for each in explained.reports:
        assert isclose(sum(one.probability for one in each.causes), 1, abs_tol=1e-9)
        assert all(0 <= one.probability <= 1 for one in each.causes)
        ordered = [one.probability for one in each.causes]
        assert ordered == sorted(ordered, reverse=True)
        kinds = [one.cause.kind for one in each.causes]
        assert len(kinds) == len(set(kinds))
        assert all(one.named > one.probability / 2 for one in each.causes)


@given(st.integers(0, 400))
@settings(max_examples=3, deadline=None)
def test_the_order_of_reports_and_the_hour_of_the_day_change_nothing(seed: int) -> None:
    made = scene(seed).record
    turned = replace(made, reports=tuple(reversed(made.reports)))
    later = replace(
        made,
        airings=tuple(replace(each, since_s=each.since_s + 7200, until_s=each.until_s + 7200) for each in made.airings),
        reports=tuple(replace(each, at_s=each.at_s + 7200, entered_s=each.entered_s + 7200) for each in made.reports),
    )
    usual = odds_of(explain(made))
    for other in (odds_of(explain(turned)), odds_of(explain(later))):
        for ref, causes in usual.items():
            for cause, odds in causes.items():
                assert isclose(odds, other[ref].get(cause, 0), abs_tol=0.02)


def test_a_report_alone_on_an_empty_band_is_blamed_on_nobody() -> None:
    explained = explain(record_of([flight(1, 5765, 0, 6)], [report(1, 1, 3)]))
    assert explained.reports[0].causes[0].cause.kind in ("own_receiver", "unknown")
    assert of_kind(explained.reports[0], "own_receiver") + of_kind(explained.reports[0], "unknown") > 0.65


def test_a_meet_without_reports_is_explained_by_nothing() -> None:
    explained = explain(record_of([flight(1, 5765, 0, 6)], []))
    assert explained.reports == ()
    assert explained.silent == ()


def test_a_report_that_fits_no_loan_stays_unexplained() -> None:
    nobody = replace(report(1, 1, 3), loan=None, pilot=99)
    explained = explain(record_of([flight(1, 5765, 0, 6)], [nobody]))
    assert explained.reports[0].case is None
    assert {each.cause.kind for each in explained.reports[0].causes} == {"own_receiver", "unknown"}


def test_a_loan_far_off_changes_little() -> None:
    airings = [flight(1, 5765, 0, 6), flight(2, 5772, 1, 5)]
    told = [report(1, 1, 2, "other_picture")]
    before = explain(record_of(airings, told)).expected
    after = explain(record_of([*airings, flight(3, 5945, 0, 6)], told)).expected
    for kind, odds in before.items():
        assert abs(odds - after[kind]) < 0.05


def test_two_loans_on_nearly_the_same_channel_disturb_each_other() -> None:
    airings = [flight(1, 5765, 0, 6), flight(2, 5768, 2, 7), flight(3, 5865, 0, 6)]
    first = explain(record_of(airings, [report(1, 1, 2.5, "other_picture")])).reports[0].causes[0]
    assert (first.cause.kind, first.cause.sources, first.cause.mhz) == ("too_close", (2,), 5768)
    assert first.probability > 0.7


def test_a_wide_carrier_reaches_further() -> None:
    def odds(width: float) -> float:
        wide = replace(flight(2, 5797, 2, 7), width_mhz=width)
        return of_kind(explain(record_of([flight(1, 5765, 0, 6), wide], [report(1, 1, 3)])).reports[0], "too_close")

    assert odds(40) > odds(20) + 0.15


def test_a_product_on_the_channel_is_found_with_its_makers() -> None:
    airings = [flight(1, 5725, 0, 8), flight(2, 5765, 2, 8), flight(3, 5805, 2.5, 8)]
    causes = explain(record_of(airings, [report(1, 1, 3)])).reports[0].causes
    [product] = [each.cause for each in causes if each.cause.kind == "product"]
    assert (product.mhz, product.sources) == (5725, (2, 3))


def test_what_was_there_all_day_without_a_report_is_blamed_less() -> None:
    pair = [flight(1, 5765, 0, 6), flight(2, 5783, 0, 6)]
    told = [report(1, 1, 3)]
    alone = of_kind(explain(record_of(pair, told)).reports[0], "too_close")
    all_day = [
        each
        for number in range(1, 40)
        for each in (
            flight(10 + number, 5765, 10 * number, 10 * number + 6),
            flight(50 + number, 5783, 10 * number, 10 * number + 6),
        )
    ]
    assert of_kind(explain(record_of([*pair, *all_day], told)).reports[0], "too_close") < alone - 0.1


def test_a_neighbour_over_the_channel_is_a_cause() -> None:
    record = record_of([flight(1, 5785, 0, 6)], [report(1, 1, 3)], neighbours=(Neighbour("Wi-Fi", 5775, 80),))
    first = explain(record).reports[0].causes[0]
    assert (first.cause.kind, first.cause.mhz) == ("neighbour", 5785)


def test_agreeing_reports_raise_the_transmitter_without_a_token() -> None:
    def chance(count: int) -> float:
        # one after the other on one channel, so that they can't be what disturbs each other
        airings = [replace(flight(90, 5765, 0, 9), pilot=90)]
        airings += [flight(n + 1, 5765, 10 + n * 4, 13.5 + n * 4) for n in range(count)]
        told = [report(n + 1, n + 1, 11 + n * 4, "other_picture") for n in range(count)]
        explained = explain(record_of(airings, told))
        return max((each.probability for each in explained.silent), default=0.0)

    assert chance(1) < chance(2) < chance(3)
    assert chance(3) > 0.6


def test_a_transmitter_without_a_token_is_found_where_it_woke() -> None:
    airings = [replace(flight(90, 5765, 0, 9), pilot=90)]
    airings += [flight(n + 1, 5765, 10 + n * 4, 13.5 + n * 4) for n in range(3)]
    airings += [flight(20, 5805, 9, 22), flight(21, 5695, 9, 22)]
    told = [report(n + 1, n + 1, 11 + n * 4, "other_picture") for n in range(3)]
    found = explain(record_of(airings, told)).silent[0]
    assert found.from_mhz <= 5765 <= found.to_mhz
    assert found.reports == (0, 1, 2)
    assert (found.may_be[0].pilot, found.may_be[0].mhz) == (90, 5765)
    assert isclose(sum(share for _mhz, share in found.curve), 1)


def test_a_loan_left_on_its_wake_channel_is_found_from_its_victims() -> None:
    wrong = replace(flight(1, 5645, 10, 17), wake_before_mhz=5804)
    airings = [wrong, flight(2, 5805, 8, 13), flight(3, 5805, 13.2, 18), flight(4, 5945, 8, 18)]
    told = [
        report(1, 2, 10.3, "other_picture"),
        report(2, 3, 13.5, "other_picture"),
        report(3, 1, 10.2, "gone"),
    ]
    explained = explain(record_of(airings, told))
    for each in explained.reports:
        assert (each.causes[0].cause.kind, each.causes[0].cause.sources) == ("wrong_channel", (1,))
        assert each.causes[0].cause.mhz == 5804


def test_a_transmitter_that_sets_silently_is_likelier_wrong() -> None:
    def odds(*, silently: bool) -> float:
        kind = replace(KIND, sets_silently=silently)
        wrong = replace(flight(1, 5645, 10, 17), wake_before_mhz=5804, kind=kind)
        record = record_of([wrong, flight(2, 5805, 8, 16)], [report(1, 2, 10.3, "other_picture")])
        return of_kind(explain(record).reports[0], "wrong_channel")

    assert odds(silently=True) > odds(silently=False)


def _exactly(known: dict[int, dict[Cause, float]], hidden: list[Hidden]) -> dict[int, float]:
    """The odds of 'no token' by every set of candidates, however unlikely."""
    total, found = 0.0, dict.fromkeys(known, 0.0)
    for size in range(len(hidden) + 1):
        for chosen in combinations(hidden, size):
            log_weight = sum(log(each.prior / (1 - each.prior)) for each in chosen)
            wholes = {}
            for number, weights in known.items():
                added = sum(dict(each.adds).get(number, 0.0) for each in chosen)
                base = sum(weights.values())
                log_weight += log((base + added) / base)
                wholes[number] = added / (base + added)
            total += exp(log_weight)
            for number, share in wholes.items():
                found[number] += exp(log_weight) * share
    return {number: share / total for number, share in found.items()}


@given(st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_the_joint_step_agrees_with_every_set_enumerated(seed: int) -> None:
    random = Random(seed)
    known = {number: {OWN_RECEIVER: random.uniform(0.005, 0.05)} for number in range(random.randint(1, 4))}
    hidden = [
        Hidden(
            Cause("no_token"),
            5700 + place,
            0,
            60,
            random.uniform(0.001, 0.05),
            tuple((number, random.uniform(0.01, 0.4)) for number in known if random.random() < 0.7),
            ("x", place),
        )
        for place in range(random.randint(1, 5))
    ]
    found = read_together(known, [(each, each.prior) for each in hidden]).reports
    for number, share in _exactly(known, hidden).items():
        assert abs(found[number].get(Cause("no_token"), 0.0) - share) < 0.04


@pytest.fixture(scope="module")
def quiet_scenes() -> list[tuple[Scene, MeetExplained]]:
    made = [scene(seed, silent=0, wrong=0, own=5) for seed in range(8)]
    return [(each, explain(each.record)) for each in made]


def test_a_day_without_planted_causes_accuses_nobody(quiet_scenes: list[tuple[Scene, MeetExplained]]) -> None:
    accused = [
        any(
            each.causes[0].probability > 0.5 and each.causes[0].cause.kind not in ("own_receiver", "unknown")
            for each in explained.reports
        )
        for _scene, explained in quiet_scenes
    ]
    assert sum(accused) <= 1


def test_a_large_day_is_explained_with_all_its_reports() -> None:
    random = Random(3)
    airings = quiet_day(random, pilots=60, flights=600)
    told = [report(n + 1, each.loan, each.since_s / 60 + 2) for n, each in enumerate(random.sample(airings, 40))]
    explained = explain(record_of(airings, told))
    assert len(explained.reports) == 40


def _is_true(made: Scene, ref: int, cause: Cause) -> bool:
    truth = made.truth[ref]
    return cause.kind == truth.kind and (not truth.sources or cause.sources == truth.sources)


def _nearest_is_right(made: Scene, each: ReportExplained) -> bool:
    """Whether blaming the nearest carrier on air by the journal would have been right."""
    if each.case is None:
        return False
    victim = each.case.victim
    beside = [made.record.airings[place] for place in each.case.beside]
    nearest = min(beside, key=lambda airing: abs(airing.mhz - victim.mhz), default=None)
    return nearest is not None and (nearest.loan,) == made.truth[each.case.report.ref].sources


def test_it_does_clearly_better_than_blaming_the_nearest_and_knows_how_sure_it_may_be() -> None:
    made = [scene(seed, silent=1, wrong=1, own=4) for seed in range(100, 112)]
    explained = [(each, one) for each in made for one in explain(each.record).reports]
    right = [_is_true(one, one.record.reports[each.number].ref, each.causes[0].cause) for one, each in explained]
    nearest = [_nearest_is_right(one, each) for one, each in explained]
    sure = [each.causes[0].probability for _one, each in explained]
    assert sum(right) > sum(nearest) + 0.3 * len(right)
    claimed = sum(sure) / len(sure)
    assert claimed < sum(right) / len(right) + 0.1
