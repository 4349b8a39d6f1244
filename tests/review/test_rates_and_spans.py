"""What a plain, slow reckoning gives beside the explainer's quick one, and that no rate is taken as known."""

from dataclasses import replace
from math import exp, log, prod
from random import Random

import pytest

from meetapp.review.hidden import silence
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import FAR_MHZ, away, carrier_chance
from meetapp.review.silent import stretch_chance
from meetapp.review.unknown_rates import PRIORS, mean_rates, silence_at
from meetapp.review.wrong_channels import wrong_chance
from tests.review.scenes import flight, quiet_day, record_of, report
from tests.review.test_odds_by_hand import a_usual_day, explain, odds


@pytest.mark.parametrize("seed", range(5))
def test_spans_cover_each_moment_once(seed: int) -> None:
    random = Random(seed)
    times = sorted(random.uniform(0, 7200) for _ in range(8))
    whens = [float("-inf"), *times, float("inf")]
    always = stretch_chance(float("-inf"), 0, 0, float("inf"))
    for moment in range(1, 9):
        covering = sum(
            stretch_chance(whens[first - 1], whens[first], whens[last], whens[last + 1])
            for first in range(1, moment + 1)
            for last in range(moment, 9)
        )
        assert covering == pytest.approx(always)


def test_the_silence_of_many_is_that_of_each_multiplied() -> None:
    random = Random(1)
    channels = [(random.randint(5700, 5800), random.choice([20.0, 27.0])) for _ in range(6)]
    quiet = {channel: [random.random() for _ in range(5)] for channel in channels}
    for mhz in range(5690, 5810, 7):
        apart = {channel: away(mhz, 20, *channel) for channel in quiet}
        plain = prod(
            1 - REPORT_SHARE * carrier_chance(apart[channel]) * share
            for channel, shares in quiet.items()
            for share in shares
            if apart[channel] <= FAR_MHZ
        )
        assert silence(quiet, mhz) == pytest.approx(plain, abs=1e-12)


@pytest.mark.parametrize(("reports", "flights"), [(1, 50), (5, 200), (12, 200), (3, 600)])
def test_how_often_a_picture_breaks_by_itself_is_a_mean_over_all_that_it_may_be(reports: int, flights: int) -> None:
    told = {number: {"own_receiver": 1.0} for number in range(reports)}
    before = {number: {"own_receiver": 0.02} for number in range(reports)}
    found = mean_rates(told, before, silence_at({"own_receiver": [flights]}))[0]["own_receiver"]  # type: ignore[arg-type]

    prior, trust = PRIORS["own_receiver"], 0.6
    total = whole = 0.0
    for step in range(-400, 401):
        rate = prior.median * exp(prior.spread * step / 100)
        likely = exp(-((step / 100) ** 2) / 2 + trust * ((reports - 1) * log(rate) - flights * rate))
        total, whole = total + rate * likely, whole + likely
    assert found == pytest.approx(total / whole, rel=0.15)


def test_a_meet_with_several_transmitters_without_a_token_expects_more_of_them() -> None:
    def last(others: int) -> float:
        # two on one channel, one after the other within minutes, some times that day
        began = [400 + 40 * turn + 3 * second for turn in range(4) for second in range(2)]
        airings = [flight(n + 1, 5765, since, since + 2.8) for n, since in enumerate(began[:7])]
        told = [report(n + 1, n + 1, each.since_s / 60 + 1, "other_picture") for n, each in enumerate(airings)]
        return odds(explain(a_usual_day(*airings, *told[6 - 2 * others :])), "no_token", 2 * others)

    assert last(3) > last(0)


def test_a_product_that_was_there_all_day_is_blamed_less_than_one_that_is_new() -> None:
    def product(*, all_day: bool) -> float:
        # 2 x 5805 - 5865 = 5745, in its reach 5747; with 5945 for 5865 nothing falls there
        airings = [
            flight(10 * turn + n, mhz, 10 * turn, 10 * turn + 6)
            for turn in range(40)
            for n, mhz in ((1, 5747), (2, 5805), (3, 5865 if all_day or turn == 39 else 5945))
        ]
        return odds(explain(record_of(airings, [report(1, 391, 392)])), "product")

    assert product(all_day=False) > 1.25 * product(all_day=True)


def test_who_comes_back_much_sooner_than_usual_may_have_been_on_another_channel() -> None:
    usual = flight(1, 5765, 0, 6)
    short = replace(usual, until_s=60)
    assert wrong_chance(short, 300) > 2 * wrong_chance(usual, 300)


def test_goggles_show_nobodys_picture_where_nobody_was_on_air() -> None:
    def own(*beside: int) -> float:
        airings = [flight(1, 5645, 400, 406), *(flight(n + 2, mhz, 400, 406) for n, mhz in enumerate(beside))]
        told = replace(report(1, 1, 402, "other_picture"), place="line")
        return odds(explain(a_usual_day(*airings, told)), "own_receiver")

    assert own() < own(5945)


def test_among_many_other_reports_a_loan_left_on_its_wake_channel_still_stands_out() -> None:
    # twenty others told of something in the same 150 flights: their own, for all that is known
    random = Random(5)
    airings = quiet_day(random)
    wrong = replace(flight(901, 5645, 200, 206), wake_before_mhz=5804)
    beside = [flight(902, 5805, 198, 205), flight(903, 5945, 199, 206)]
    others = [
        replace(report(n + 10, each.loan, each.since_s / 60 + 2, random.choice(["lines", "gone"])), pilot=each.pilot)
        for n, each in enumerate(random.sample(airings[:100], 20))
    ]
    told = [replace(report(1, 901, 200.9, "gone"), place="line"), report(2, 902, 201.5), *others]
    explained = explain(record_of([*airings, wrong, *beside], told))
    assert odds(explained, "wrong_channel", 0) > 0.5
    assert odds(explained, "wrong_channel", 1) > 0.4
