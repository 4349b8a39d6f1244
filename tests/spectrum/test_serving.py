"""Sets for the pilots who come: against brute force, and the ways in for those who are left out."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, count, islice, permutations, product
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum import lookahead, space
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import OrderKey, PickProblem, order_key
from meetapp.spectrum.products import measure
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.serving import (
    ExpectedPilot,
    ServingProblem,
    ServingSet,
    expected_pilot,
    improving_serving_set,
    next_best_serving,
    serving_set,
)
from meetapp.spectrum.tuning import parse_tuning
from meetapp.spectrum.ways_in import WayIn, ways_in

PLANS = published_plans()
FIVE_PLANS = pool_mhz(PLANS, "ABEFR")

Mhz = tuple[int, ...]


# Brute force, written for this test: every list, and for each every way to seat the pilots.


def brute_served(problem: ServingProblem, tokens: Sequence[Carrier]) -> int:
    """The most pilots with a token, no token with more than there are heats: by Hall's rule over all sets of tokens.

    However pilots are seated, those who can only use tokens of some set have no more places than it has; so the most
    is the least, over all sets of tokens, of its places and of all the pilots who can use some other token.
    """
    fewest = len(problem.pilots)
    for chosen in product((False, True), repeat=len(tokens)):
        full = [each for each, is_in in zip(tokens, chosen, strict=True) if is_in]
        others = [each for each, is_in in zip(tokens, chosen, strict=True) if not is_in]
        elsewhere = sum(any(can_take(problem, pilot, each) for each in others) for pilot in problem.pilots)
        fewest = min(fewest, len(full) * brute_heats(problem) + elsewhere)
    return fewest


def can_take(problem: ServingProblem, pilot: ExpectedPilot, token: Carrier) -> bool:
    is_wide_enough = not problem.pick.widths_mhz or pilot.width_mhz <= token.width_mhz
    return is_wide_enough and any(abs(mhz - token.mhz) <= problem.pull_mhz for mhz in pilot.mhz)


def brute_heats(problem: ServingProblem) -> int:
    at_once = min(problem.heat_size, problem.pick.count)
    return next(heats for heats in count(1) if heats * at_once >= len(problem.pilots))


def brute_ranking(problem: ServingProblem) -> list[tuple[int, OrderKey]]:
    """Minus the pilots served, and the order's key, of every set, the best first."""
    keys = []
    pick = problem.pick
    for mhz in combinations(pick.pool_mhz, pick.count):
        for widths in set(permutations(pick.widths_mhz or (pick.width_mhz,) * pick.count)):
            tokens = tuple(map(Carrier, mhz, widths))
            measures = measure(tokens)
            keeps_spacing = measures.spacing_mhz is None or measures.spacing_mhz >= pick.spacing_mhz
            if keeps_spacing and all(each.mhz in pick.room_for(each.width_mhz) for each in tokens):
                key = order_key(measures, mhz, pick, widths if pick.widths_mhz else ())
                keys.append((-brute_served(problem, tokens), key))
    return sorted(keys)


def brute_best(problem: ServingProblem) -> tuple[int, OrderKey] | None:
    return next(iter(brute_ranking(problem)), None)


def ranked_like(problem: ServingProblem, answer: ServingSet) -> tuple[int, OrderKey]:
    """An answer in the terms of the brute force."""
    found = answer.found
    return -len(answer.seats), order_key(found.measures, found.mhz, problem.pick, found.widths_mhz)


@st.composite
def serving_problems(draw: st.DrawFn) -> ServingProblem:
    """Small pools, with pilots who make a few frequencies of them, a MHz or two beside some, or none."""
    has_wide = draw(st.booleans())
    span = draw(st.sampled_from([40, 60 if has_wide else 300]))
    tokens = draw(st.integers(1, 3 if has_wide else 4))
    most = 5 if has_wide else 8  # with widths there are many more lists for the brute force
    pool = draw(st.lists(st.integers(5645, 5645 + span), min_size=tokens, max_size=most, unique=True))
    beside = st.tuples(st.sampled_from(pool), st.integers(-2, 2)).map(sum)
    makes = st.one_of(st.frozensets(beside, max_size=3), st.just(frozenset(pool)))
    kits = draw(st.lists(makes, min_size=1, max_size=4))
    pilots = draw(st.lists(st.sampled_from(kits), max_size=8))
    width = st.sampled_from([20, 20, 40, 27.5] if has_wide else [20])
    widths = draw(st.lists(width, min_size=tokens, max_size=tokens)) if has_wide else []
    wide_room = draw(st.lists(st.sampled_from(pool), max_size=8))
    return ServingProblem(
        PickProblem(
            tuple(pool),
            tokens,
            draw(st.integers(0, span // tokens)),
            draw(st.sampled_from(["both", "two"])),
            draw(st.sampled_from([0, 3, 35])),
            widths_mhz=tuple(widths),
            room_mhz=((40, tuple(wide_room)),) if 40 in widths and draw(st.booleans()) else (),
        ),
        tuple(ExpectedPilot(number, makes, draw(width)) for number, makes in enumerate(pilots)),
        heat_size=draw(st.integers(1, 5)),
        pull_mhz=draw(st.integers(0, 2)),
    )


def tokens_of(problem: ServingProblem, answer: ServingSet) -> list[Carrier]:
    widths = answer.found.widths_mhz or (problem.pick.width_mhz,) * problem.pick.count
    return list(map(Carrier, answer.found.mhz, widths))


def wrong_with_seats(problem: ServingProblem, answer: ServingSet) -> list[str]:
    """Seats that can't be, or pilots who are neither seated nor left out."""
    pilots = {pilot.pilot_id: pilot for pilot in problem.pilots}
    on_token = [mhz for _, mhz in answer.seats]
    token_at = {token.mhz: token for token in tokens_of(problem, answer)}
    wrong = [
        f"{pilot_id} on {mhz}"
        for pilot_id, mhz in answer.seats
        if not can_take(problem, pilots[pilot_id], token_at[mhz])
    ]
    wrong += [f"too many on {mhz}" for mhz in set(on_token) if on_token.count(mhz) > brute_heats(problem)]
    if sorted([*(pilot_id for pilot_id, _ in answer.seats), *answer.left_out]) != sorted(pilots):
        wrong.append("somebody is missing")
    return wrong


@settings(max_examples=150, deadline=None)
@given(serving_problems())
def test_the_set_serves_as_many_as_any_and_is_the_best_of_those(problem: ServingProblem) -> None:
    answer = serving_set(problem)
    best = brute_best(problem)
    if best is None:
        assert isinstance(answer, Impossible)
        return
    assert isinstance(answer, ServingSet)
    assert isinstance(answer.found, Optimal)
    assert ranked_like(problem, answer) == best
    assert answer.is_most_proven
    assert wrong_with_seats(problem, answer) == []


@settings(max_examples=60, deadline=None)
@given(serving_problems(), st.integers(1, 6))
def test_the_next_best_sets_for_the_pilots_come_in_order(problem: ServingProblem, how_many: int) -> None:
    listed = next_best_serving(problem, how_many, node_budget=10**9)
    assert [ranked_like(problem, answer) for answer in listed] == brute_ranking(problem)[:how_many]
    assert [problem_with for answer in listed if (problem_with := wrong_with_seats(problem, answer))] == []
    early = next_best_serving(problem, how_many, node_budget=0)
    assert early == listed[: len(early)]


@settings(max_examples=100, deadline=None)
@given(serving_problems())
def test_on_the_way_neither_the_set_nor_the_bounds_are_ever_wrong(problem: ServingProblem) -> None:
    with patch.object(space, "CARRIERS_BETWEEN_PAUSES", 1):
        answers = list(improving_serving_set(problem))
    best = brute_best(problem)
    for answer in answers:
        if isinstance(answer, ServingSet):
            assert best is not None
            assert wrong_with_seats(problem, answer) == []
            assert len(answer.seats) <= -best[0] <= answer.most_served
            bound = answer.found.bound_mhz if isinstance(answer.found, BestFound) else None
            assert bound is None or bound >= -best[1][0][0]
    assert isinstance(answers[-1], ServingSet | Impossible)


@settings(max_examples=60, deadline=None)
@given(serving_problems(), st.integers(0, 3))
def test_however_far_is_looked_ahead_the_answer_is_the_same(problem: ServingProblem, steps: int) -> None:
    with patch.object(lookahead, "STEPS_FOR_A_QUESTION", steps):
        answer = serving_set(problem)
    expected = serving_set(problem)
    assert type(answer) is type(expected)
    if isinstance(answer, ServingSet) and isinstance(expected, ServingSet):
        assert (answer.found.mhz, answer.seats, answer.most_served) == (
            expected.found.mhz,
            expected.seats,
            expected.most_served,
        )


@settings(max_examples=100, deadline=None)
@given(serving_problems())
def test_dealt_out_token_by_token_the_heats_come_out_even(problem: ServingProblem) -> None:
    answer = serving_set(problem)
    if not isinstance(answer, ServingSet):
        return
    in_a_row = sorted(mhz for _, mhz in answer.seats)
    heats = [in_a_row[first :: problem.heats] for first in range(problem.heats)]
    assert all(len(set(heat)) == len(heat) <= problem.heat_size for heat in heats)
    sizes = [len(heat) for heat in heats]
    assert max(sizes) - min(sizes) <= 1


@settings(max_examples=60, deadline=None)
@given(serving_problems())
def test_pilots_who_come_earlier_are_left_out_last(problem: ServingProblem) -> None:
    answer = serving_set(problem)
    if not isinstance(answer, ServingSet):
        return
    for number in range(len(problem.pilots)):
        first_ones = problem.pilots[: number + 1]
        seated = sum(pilot.pilot_id not in answer.left_out for pilot in first_ones)
        assert seated == max(brute_seated(first_ones, tokens_of(problem, answer), problem))


def brute_seated(pilots: Sequence[ExpectedPilot], tokens: Sequence[Carrier], problem: ServingProblem) -> list[int]:
    """How many of these pilots are seated in each way to give them tokens or none, with the places of the problem."""
    ways: list[dict[Carrier, int]] = [{}]
    for pilot in pilots:
        ways += [
            {**way, token: way.get(token, 0) + 1}
            for way in ways
            for token in tokens
            if can_take(problem, pilot, token) and way.get(token, 0) < problem.heats
        ]
        ways = [dict(way) for way in {frozenset(way.items()) for way in ways}]
    return [sum(way.values()) for way in ways]


def brute_serves_everybody(problem: ServingProblem) -> bool:
    best = brute_best(problem)
    return best is not None and -best[0] == len(problem.pilots)


@settings(max_examples=40, deadline=None)
@given(serving_problems())
def test_each_way_in_is_the_least_of_its_kind(problem: ServingProblem) -> None:
    answer = serving_set(problem)
    if not isinstance(answer, ServingSet):
        return
    ways = {way.kind: way for way in ways_in(problem, answer)}
    if not answer.left_out:
        assert ways == {}
        return
    pick = problem.pick
    spacings = [replace(problem, pick=replace(pick, spacing_mhz=mhz)) for mhz in range(pick.spacing_mhz - 1, -1, -1)]
    more_tokens = range(pick.count + 1, len(pick.pool_mhz) + 1)
    counts = [replace(problem, pick=with_more_tokens(pick, tokens)) for tokens in more_tokens]
    pulls = [replace(problem, pull_mhz=mhz) for mhz in range(problem.pull_mhz + 1, 11)]
    assert ways["spacing"].to == next((p.pick.spacing_mhz for p in spacings if brute_serves_everybody(p)), None)
    assert ways["count"].to == next((p.pick.count for p in counts if brute_serves_everybody(p)), None)
    assert ways["pull"].to == next((p.pull_mhz for p in pulls if brute_serves_everybody(p)), None)
    assert ways["transmitters"].to == fewest_other_transmitters(problem)
    for way in ways.values():
        assert way.is_least
        assert (way.answer is None) == (way.to is None)
        assert way.answer is None or way.answer.left_out == ()


def with_more_tokens(pick: PickProblem, count: int) -> PickProblem:
    """More tokens, those that are added as narrow as the narrowest."""
    narrow = sorted(pick.widths_mhz)[:1] * (count - pick.count)
    return replace(pick, count=count, widths_mhz=(*pick.widths_mhz, *narrow))


def fewest_other_transmitters(problem: ServingProblem) -> int:
    """Any pilots, ever more of them, get one that makes the whole pool: until everybody is served."""
    everything = frozenset(problem.pick.pool_mhz)
    for how_many in count(1):
        for lucky in combinations(problem.pilots, how_many):
            pilots = [
                ExpectedPilot(each.pilot_id, everything, 20) if each in lucky else each for each in problem.pilots
            ]
            if brute_serves_everybody(replace(problem, pilots=tuple(pilots))):
                return how_many
    raise AssertionError


# A few pilots and the published plans.


def club(*kits: str) -> tuple[ExpectedPilot, ...]:
    return tuple(expected_pilot(number, parse_tuning(kit, PLANS)) for number, kit in enumerate(kits))


def test_a_pilot_with_few_channels_changes_the_set() -> None:
    pick = PickProblem(FIVE_PLANS, 6, 37)
    anybody = serving_set(ServingProblem(pick, club(*["A B E F R"] * 6), 6))
    assert isinstance(anybody, ServingSet)
    assert anybody.found.mhz == (5645, 5695, 5765, 5805, 5865, 5945)
    one_old_set = serving_set(ServingProblem(pick, club(*["A B E F R"] * 5, "F1 F2"), 6))
    assert isinstance(one_old_set, ServingSet)
    assert one_old_set.left_out == ()
    assert {5740, 5760} & set(one_old_set.found.mhz)
    assert isinstance(one_old_set.found, Optimal)


def test_who_is_left_out_is_named_with_what_would_let_them_in() -> None:
    pick = PickProblem(FIVE_PLANS, 2, 37)
    pilots = club("R", "F4", "F4", "E1 R8")
    problem = ServingProblem(pick, pilots, heat_size=2)
    answer = serving_set(problem)
    assert isinstance(answer, ServingSet)
    # Two heats of two: F4 twice, and E1 or R8 for the others. E1 is no channel of plan R (R2 is 10 MHz off), R8 is.
    assert answer.left_out == ()
    assert set(answer.found.mhz) == {5800, 5917}
    alone = ServingProblem(pick, club("F4", "F5"), heat_size=2)
    answer = serving_set(alone)
    assert isinstance(answer, ServingSet)
    assert len(answer.left_out) == 1
    ways = {way.kind: way for way in ways_in(alone, answer)}
    # F4 and F5, 5800 and 5820 MHz, are 20 apart. Tokens at 5790 (B4) and 5828 (B6) are 38 apart and within 10 of them;
    # within 9 there is nothing below 5791 and nothing above 5829, and no two channels from there on are 37 apart.
    assert (ways["spacing"].to, ways["pull"].to) == (20, 10)
    assert ways["transmitters"].pilots == answer.left_out


def test_a_band_profile_and_goggles_narrow_what_a_pilot_can_take() -> None:
    goggles = parse_tuning("R F", PLANS)
    pilot = expected_pilot(7, parse_tuning("R A", PLANS), goggles, [Segment(5725, 5850)])
    assert pilot == ExpectedPilot(7, frozenset({5769, 5806}))
    assert expected_pilot(7, parse_tuning("R", PLANS), None, [], 20).mhz == frozenset()


def test_who_asks_early_gets_the_best_so_far_with_its_bounds() -> None:
    raster = tuple(range(5650, 5926))
    kits = ["5650-5700", "R", "F", "E", "5650-5925", "A", "B", "R1 R2 R3"]
    problem = ServingProblem(PickProblem(raster, 8, 20), club(*kits), 8)
    answers = improving_serving_set(problem)
    assert isinstance(next(answers), Undecided)
    early = list(islice(answers, 3))[-1]
    assert isinstance(early, ServingSet)
    assert isinstance(early.found, BestFound)
    assert len(early.seats) <= early.most_served
    assert wrong_with_seats(problem, early) == []
    assert isinstance(serving_set(problem, is_over=lambda: True), Undecided)


def test_a_way_in_that_could_not_be_decided_in_time_is_not_called_impossible() -> None:
    pilots = club("F4", "F5")
    problem = ServingProblem(PickProblem(tuple(range(5650, 5926)), 2, 37), pilots, heat_size=2, pull_mhz=0)
    answer = serving_set(problem)
    assert isinstance(answer, ServingSet)
    # Without a look ahead, which would decide this at once.
    with patch.object(space, "CARRIERS_BETWEEN_PAUSES", 1), patch.object(lookahead, "STEPS_FOR_A_QUESTION", 0):
        unknown = [way for way in ways_in(problem, answer, is_over=lambda: True) if way.to is None]
    assert unknown == [WayIn(way.kind, None, None, False) for way in unknown]
    assert unknown


BAD = {
    "nobody in a heat": ({"heat_size": 0}, "heat_size"),
    "a pull below nothing": ({"pull_mhz": -1}, "pull_mhz"),
}


@pytest.mark.parametrize(("change", "field"), BAD.values(), ids=BAD)
def test_a_question_that_can_not_be_meant_is_refused(change: dict[str, object], field: str) -> None:
    good = ServingProblem(PickProblem((5658, 5695), 2, 37), (), 2)
    with pytest.raises(BadProblem) as refused:
        replace(good, **change)  # type: ignore[arg-type]
    assert refused.value.field == field
