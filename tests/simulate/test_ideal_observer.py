"""The ideal observer: its sampling against every way to share reports out, its odds against what is drawn."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

import pytest

from meetapp.simulate.day import make_day, minutes
from meetapp.simulate.mishaps import Broken, Cause
from meetapp.simulate.observer.blocks import Hidden, Odds, kind_weights
from meetapp.simulate.observer.told_odds import ToldOdds
from meetapp.simulate.people import tell
from meetapp.simulate.plan import KINDS, Kind, MeetPlan, parse_causes
from meetapp.simulate.simulating import add_ideal, ideal_weights, simulate

THREE = Odds(
    singles=[{"unknown": 0.2}, {"unknown": 0.3, "own_receiver": 0.1}, {"unknown": 0.1}],
    hidden=[
        Hidden("no_token", [0.02, 0.01], [{0: 3.0, 1: 2.0}, {0: 4.0}, {1: 9.0}], [{}, {}, {}]),
        Hidden("wrong_channel", [0.05], [{0: 1.0}, {}, {0: 2.0}], [{}, {0: 1.5}, {}]),
    ],
    overrides=[{("too_close", 0): 0.1, ("product", 1): 0.2}],
)


def partitions(members: Sequence[int]) -> Iterator[list[list[int]]]:
    if not members:
        yield []
        return
    first, *rest = members
    for smaller in partitions(rest):
        yield [[first], *smaller]
        for number, block in enumerate(smaller):
            yield [*smaller[:number], [first, *block], *smaller[number + 1 :]]


def ways_of(block: Sequence[int], odds: Odds) -> Iterator[tuple[Kind, float, bool]]:
    if len(block) == 1:
        yield from ((kind, rate, False) for kind, rate in odds.singles[block[0]].items())
        yield from ((kind, w, True) for (kind, report), w in odds.overrides[0].items() if report == block[0])
    for each in odds.hidden:
        rate = 0.0
        for number, start in enumerate(each.start):
            for report in block:
                start *= each.factors[report].get(number, 0) + each.beside[report].get(number, 0) * (len(block) > 1)
            rate += start
        yield each.kind, rate, False


def exactly(odds: Odds) -> list[dict[Kind, float]]:
    """Every partition with every kind for each block; at most one block has the override."""
    found: list[dict[Kind, float]] = [dict.fromkeys(KINDS, 0.0) for _ in odds.singles]

    def add(blocks: list[list[int]], weight: float, kinds: dict[int, Kind], has_override: bool) -> None:
        if not blocks:
            for report, kind in kinds.items():
                found[report][kind] += weight
            return
        for kind, rate, is_override in ways_of(blocks[0], odds):
            if rate and not (is_override and has_override):
                named = kinds | dict.fromkeys(blocks[0], kind)
                add(blocks[1:], weight * rate, named, has_override or is_override)

    for blocks in partitions(range(len(odds.singles))):
        add(blocks, 1.0, {}, has_override=False)
    return [{kind: share / sum(row.values()) for kind, share in row.items()} for row in found]


def test_sampling_comes_to_what_every_way_to_share_the_reports_out_gives() -> None:
    rows = [kind_weights(THREE, Random(seed)) for seed in range(20)]
    for report, exact in enumerate(exactly(THREE)):
        for kind in KINDS:
            mean = sum(row[report][kind] for row in rows) / len(rows)
            assert mean == pytest.approx(exact[kind], abs=0.03), (report, kind)


def test_the_odds_of_a_told_minute_are_how_often_people_tell_it() -> None:
    plan = MeetPlan(pilots=6, hours=1, tokens=3, clock_shift_min=2, round_share=0, harmless_overrides=0)
    day = make_day(plan, Random(1))
    loans = {loan.loan_id: loan for loan in day.loans}
    loan = loans[8]
    rng = Random(2)
    moments = [loan.out_at + rng.random() * (loan.in_at - loan.out_at) for _ in range(4000)]
    cause = Cause("unknown", None, (), tuple(Broken(8, at, "gone", "flight") for at in moments))
    told = [report.told for report in tell(plan, day, loans, [cause], rng)]
    meet = simulate(plan)
    for minute in sorted({each.happened_at for each in told if each.happened_at != each.entered_at}):
        one = next(each for each in told if each.happened_at == minute and each.happened_at != each.entered_at)
        odds = ToldOdds(plan, replace(meet.record, loans=loans, told=(one,), closed_at=day.closed_at))
        share = sum(each.happened_at == minute for each in told) / len(told)
        assert odds.time(0, minutes(loan.out_at), minutes(loan.in_at)) == pytest.approx(share, abs=0.03)


def test_a_channel_handed_out_too_close_is_told_by_the_observer() -> None:
    plan = MeetPlan(pilots=12, hours=2, tokens=4, seed=3, causes=parse_causes("too_close=2,own_receiver=2"))
    meet = simulate(plan)
    add_ideal(meet, ideal_weights(plan, meet.record))
    for row in meet.truth["reports"]:
        assert sum(row["ideal"].values()) == pytest.approx(1, abs=0.001)
        assert row["can_be_told"] == (row["ideal"][row["kind"]] >= 0.8)
        assert row["kind"] != "too_close" or row["can_be_told"]
