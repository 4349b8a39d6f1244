"""Estimated levels: each formula against published or independently worked values, then the sums over a layout."""

from cmath import exp
from dataclasses import replace
from itertools import combinations
from math import cos, log10, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.levels.assumptions import Assumptions
from meetapp.spectrum.levels.free_space import dbm_of, free_space_loss_db, noise_dbm
from meetapp.spectrum.levels.intercept import (
    three_signal_product_dbm,
    transmitter_product_dbm,
    two_signal_product_dbm,
)
from meetapp.spectrum.levels.layout import (
    Layout,
    checked_set,
    compare_powers,
    nearest_others,
    pilot_levels,
    pits_cases,
)
from meetapp.spectrum.levels.receiver import Signal, allowed_dbm, disturbances, reaches, received_dbm, same_channel

ASSUMED = Assumptions()
SIX = (5645, 5695, 5765, 5805, 5865, 5945)

distances = st.floats(0.5, 5000)
frequencies = st.integers(5300, 5950)
powers = st.floats(0.1, 2000)
levels = st.floats(-120, 20)
sets = st.lists(st.integers(5650, 5925), min_size=1, max_size=5, unique=True).map(tuple)


# ITU-R P.525 prints 32.4 + 20 log f(MHz) + 20 log d(km), its constant rounded down by up to 0.05 dB.
@given(distances, frequencies)
def test_the_loss_is_the_published_formula_with_its_constant_unrounded(distance: float, mhz: int) -> None:
    printed = 32.4 + 20 * log10(mhz) + 20 * log10(distance / 1000)
    assert 0 < free_space_loss_db(distance, mhz) - printed < 0.05


# Worked with the radio-astronomy library pycraf 2.1.0, conversions.free_space_loss, at 5800 MHz.
@pytest.mark.parametrize(("metres", "db"), [(10, 67.7163), (100, 87.7163), (500, 101.6957), (1000, 107.7163)])
def test_the_loss_is_what_a_general_purpose_library_says(metres: float, db: float) -> None:
    assert free_space_loss_db(metres, 5800) == pytest.approx(db, abs=5e-5)


# Ten times the distance is 20 dB, 100 m against 5 m is 26.0 dB; the band's edges differ by 0.44 dB. Plain logarithms.
def test_ratios_of_distances_and_frequencies() -> None:
    assert free_space_loss_db(100, 5800) - free_space_loss_db(10, 5800) == pytest.approx(20)
    assert free_space_loss_db(100, 5800) - free_space_loss_db(5, 5800) == pytest.approx(26.02, abs=0.005)
    assert free_space_loss_db(100, 5945) - free_space_loss_db(100, 5650) == pytest.approx(0.442, abs=0.001)


# kTB at 290 K; -113.98 dBm in 1 MHz is the usual -174 dBm in a hertz, unrounded.
@pytest.mark.parametrize(
    ("mhz", "dbm"),
    [(1, -113.98), (8, -104.94), (16, -101.93), (18, -101.42), (20, -100.96), (27, -99.66), (40, -97.95)],
)
def test_the_noise_of_a_bandwidth(mhz: float, dbm: float) -> None:
    assert noise_dbm(mhz, 0) == pytest.approx(dbm, abs=0.006)
    assert noise_dbm(mhz, 7) == pytest.approx(dbm + 7, abs=0.006)


# 0.75 mW is -1.25 dBm (47 CFR 15.249 as e.i.r.p.); 25 mW is stored as 13.97 in the open regulatory data set, cut off.
@pytest.mark.parametrize(("mw", "dbm"), [(1, 0), (0.75, -1.25), (25, 13.979), (200, 23.01), (1000, 30)])
def test_powers_in_dbm(mw: float, dbm: float) -> None:
    assert dbm_of(mw) == pytest.approx(dbm, abs=0.001)


# The first row by an application note on receiver intercept points: IM3 = 3 P - 2 IIP3. The others by the same cubic,
# with the amplitudes of the products read off a Fourier sum (as below).
@pytest.mark.parametrize(
    ("doubled", "single", "intercept", "product"),
    [(-30, -30, -10, -70), (-30, -40, -10, -80), (-40, -30, -10, -90), (-20, -20, 0, -60), (-60, -60, -10, -160)],
)
def test_two_signal_products(doubled: float, single: float, intercept: float, product: float) -> None:
    assert two_signal_product_dbm(doubled, single, intercept) == product


@pytest.mark.parametrize(("a", "b", "c", "product"), [(-30, -30, -30, -63.98), (-30, -35, -42, -80.98)])
def test_three_signal_products(a: float, b: float, c: float, product: float) -> None:
    assert three_signal_product_dbm(a, b, c, -10) == pytest.approx(product, abs=0.005)


@pytest.mark.parametrize("tones_dbm", [(-30, -30, -30), (-28, -37, -33)], ids=["alike", "unlike"])
def test_the_products_of_a_weak_cubic_curve_have_these_levels(tones_dbm: tuple[float, float, float]) -> None:
    """A signal of three tones through y = x - 4 x^3 / (3 A^2), A the amplitude at the intercept point of -10 dBm."""
    bins, samples, intercept = (31, 41, 58), 512, -10
    amplitudes = [10 ** (dbm / 20) for dbm in tones_dbm]
    cubic = -4 / (3 * 10 ** (2 * intercept / 20))
    phases = [2 * pi * n / samples for n in range(samples)]
    x = [sum(a * cos(k * phase) for a, k in zip(amplitudes, bins, strict=True)) for phase in phases]
    made = [cubic * each**3 for each in x]

    def level_at(place: int) -> float:
        total = sum(y * exp(-1j * place * phase) for y, phase in zip(made, phases, strict=True))
        return 20 * log10(2 * abs(total) / samples)

    one, two, three = tones_dbm
    assert level_at(2 * 31 - 41) == pytest.approx(two_signal_product_dbm(one, two, intercept), abs=1e-6)
    assert level_at(2 * 58 - 41) == pytest.approx(two_signal_product_dbm(three, two, intercept), abs=1e-6)
    assert level_at(31 + 41 - 58) == pytest.approx(three_signal_product_dbm(one, two, three, intercept), abs=1e-6)
    assert level_at(41 + 58 - 31) == pytest.approx(three_signal_product_dbm(two, three, one, intercept), abs=1e-6)


@given(levels, levels)
def test_three_equal_signals_are_6_db_above_two_and_3_db_follow_each_db(dbm: float, intercept: float) -> None:
    two, three = two_signal_product_dbm(dbm, dbm, intercept), three_signal_product_dbm(dbm, dbm, dbm, intercept)
    assert three - two == pytest.approx(6.0206, abs=1e-4)
    assert two_signal_product_dbm(dbm + 1, dbm + 1, intercept) - two == pytest.approx(3)
    assert two_signal_product_dbm(dbm, dbm, dbm) == pytest.approx(dbm)  # at the intercept point all are equally strong
    assert transmitter_product_dbm(dbm, 12) == dbm - 12


@given(distances, distances, powers, powers, frequencies)
def test_a_level_falls_with_distance_and_rises_with_power(
    one_m: float, other_m: float, one_mw: float, other_mw: float, mhz: int
) -> None:
    near, far = sorted((one_m, other_m))
    weak, strong = sorted((one_mw, other_mw))
    assert received_dbm(Signal(mhz, weak, far), ASSUMED) <= received_dbm(Signal(mhz, strong, near), ASSUMED)
    doubled = received_dbm(Signal(mhz, weak, near), ASSUMED) - received_dbm(Signal(mhz, weak, 2 * near), ASSUMED)
    assert doubled == pytest.approx(6.0206, abs=1e-4)


@given(distances, st.floats(-10, 20), st.floats(-10, 20))
def test_a_path_is_the_same_in_both_directions(metres: float, one_dbi: float, other_dbi: float) -> None:
    there = replace(ASSUMED, quad_gain_dbi=one_dbi, pilot_gain_dbi=other_dbi)
    back = replace(ASSUMED, quad_gain_dbi=other_dbi, pilot_gain_dbi=one_dbi)
    signal = Signal(5800, 25, metres)
    assert received_dbm(signal, there) == pytest.approx(received_dbm(signal, back))


# 25 mW and isotropic antennas at 5 m: tones of -47.7 dBm; with IIP3 -20 dBm products of -103.1 and -97.1 dBm; with
# 600 mW -33.9, -61.7 and -55.7 dBm. Worked apart from this code from the formulas above.
@pytest.mark.parametrize(("mw", "tone", "two", "three"), [(25, -47.7, -103.1, -97.1), (600, -33.9, -61.7, -55.7)])
def test_a_start_line_worked_by_hand(mw: float, tone: float, two: float, three: float) -> None:
    bare = Assumptions(quad_gain_dbi=0, pilot_gain_dbi=0, rejection_20_db=0, rejection_40_db=0, rejection_80_db=0)
    foreign = [Signal(mhz, mw, 5) for mhz in (5700, 5800, 5900)]
    found = [each for each in disturbances(Signal(5650, mw, 60), foreign, 1, bare) if 5650 not in each.sources]

    def strongest(kind: str) -> float:
        return max(each.level_dbm for each in found if each.kind == kind)

    assert strongest("carrier") == pytest.approx(tone, abs=0.25)
    assert strongest("two-signal") == pytest.approx(two, abs=0.7)
    assert strongest("three-signal") == pytest.approx(three, abs=0.7)


def test_the_filter_weakens_by_offset_whatever_the_side() -> None:
    assert [ASSUMED.rejection_db(offset) for offset in (0, 10, 20, 30, 40, 60, 80, 300)] == [
        0, 10, 20, 30, 40, 47.5, 55, 55,
    ]  # fmt: skip
    assert ASSUMED.rejection_db(-30) == ASSUMED.rejection_db(30)


def test_a_product_made_in_transmitters_standing_side_by_side() -> None:
    """14 dBm, two antennas of 2 dBi one metre apart (47.7 dB), 10 dB of conversion loss, then out again and 5 m."""
    signals = [Signal(5800, 25, 5), Signal(5805, 25, 5)]
    found = [each for each in disturbances(Signal(5795, 25, 60), signals, 1, ASSUMED) if each.kind == "transmitter"]
    assert [(each.sources, each.falls_mhz) for each in found] == [((5800, 5805), 5795), ((5805, 5800), 5810)]
    assert found[0].level_dbm == pytest.approx(13.98 + 4 - 47.72 - 10 + 2 + 2 - 61.70, abs=0.05)
    wider = [each for each in disturbances(Signal(5795, 25, 60), signals, 2, ASSUMED) if each.kind == "transmitter"]
    assert found[0].level_dbm - wider[0].level_dbm == pytest.approx(6.0206, abs=1e-4)


@given(sets.filter(lambda mhz: len(mhz) > 1), powers, st.floats(1, 200), st.floats(0.6, 20))
def test_how_a_disturbance_falls_with_distance_is_solved_exactly(
    mhz: tuple[int, ...], mw: float, wanted_m: float, away_m: float
) -> None:
    wanted, moved = Signal(mhz[0], mw, wanted_m), [Signal(each, mw, away_m) for each in mhz[1:]]
    there = {(each.kind, each.sources): each.level_dbm for each in disturbances(wanted, moved, 1, ASSUMED)}
    for reach in reaches(wanted, (), moved, 1, ASSUMED):
        each = reach.at_one_metre
        assert reach.level_dbm(away_m) == pytest.approx(there[each.kind, each.sources], abs=1e-6)
        assert reach.level_dbm(reach.distance_m(-77)) == pytest.approx(-77, abs=1e-6)


class TestTheMarginInALayout:
    @given(sets, powers, st.floats(1, 300), st.floats(1, 50))
    def test_it_is_the_wanted_level_less_the_strongest_disturbance(
        self, mhz: tuple[int, ...], mw: float, wanted_m: float, nearest_m: float
    ) -> None:
        layout = Layout(wanted_m, nearest_m)
        for found in pilot_levels(dict.fromkeys(mhz, mw), layout, ASSUMED):
            foreign = [Signal(each, mw, nearest_m) for each in mhz if each != found.mhz]
            every = list(disturbances(Signal(found.mhz, mw, wanted_m), foreign, 1, ASSUMED))
            assert found.margin_db == pytest.approx(found.wanted_dbm - max(each.level_dbm for each in every))

    @given(sets, powers, st.floats(1, 300), st.floats(1, 50))
    def test_no_margin_shrinks_where_the_others_go_away_or_the_own_quad_comes_near(
        self, mhz: tuple[int, ...], mw: float, wanted_m: float, nearest_m: float
    ) -> None:
        powers_mw = dict.fromkeys(mhz, mw)
        here = pilot_levels(powers_mw, Layout(wanted_m, nearest_m), ASSUMED)
        farther = pilot_levels(powers_mw, Layout(wanted_m, nearest_m * 1.5), ASSUMED)
        # A weaker wanted signal makes weaker products with the others too, so the own distance counts only without.
        alone = [each for each in here if each.strongest.kind in ("carrier", "noise")]
        nearer = {each.mhz: each for each in pilot_levels(powers_mw, Layout(wanted_m / 1.5, nearest_m), ASSUMED)}
        for before, after in zip(here, farther, strict=True):
            assert after.margin_db >= before.margin_db - 1e-9
        for before in alone:
            if nearer[before.mhz].strongest.kind in ("carrier", "noise"):
                assert nearer[before.mhz].margin_db >= before.margin_db - 1e-9

    def test_a_pilot_alone_has_only_noise(self) -> None:
        [found] = pilot_levels({5800: 25}, Layout(), ASSUMED)
        assert found.carrier is found.receiver_product is found.transmitter_product is None
        assert found.strongest.kind == "noise"
        assert found.margin_db == pytest.approx(13.98 + 4 - 83.28 + 94.96, abs=0.02)
        [compared] = compare_powers((5800,), 25, 200, Layout(), ASSUMED)
        assert (compared.beside_loud, compared.loud_mhz) == (None, None)
        assert compared.high.margin_db - compared.low.margin_db == pytest.approx(9.03, abs=0.01)


class TestPowers:
    def test_alike_for_all_it_changes_nothing_beside_a_carrier_and_costs_two_db_a_db_against_a_product(self) -> None:
        for each in compare_powers(SIX, 25, 200, Layout(), ASSUMED):
            changes = [
                (now.level_dbm - high.wanted_dbm) - (before.level_dbm - low.wanted_dbm)
                for low, high in [(each.low, each.high)]
                for before, now in [(low.carrier, high.carrier), (low.receiver_product, high.receiver_product)]
                if before and now
            ]
            assert changes == [pytest.approx(0, abs=1e-9), pytest.approx(2 * 10 * log10(8))]

    def test_one_loud_one_costs_the_others_what_it_is_louder(self) -> None:
        """Beside a carrier the margin falls by 9 dB; the loud one is the one that harms most."""
        for each in compare_powers(SIX[2:4], 25, 200, Layout(), ASSUMED):
            assert each.beside_loud is not None
            assert each.low.margin_db - each.beside_loud.margin_db == pytest.approx(9.03, abs=0.01)
            assert each.loud_mhz == ({*SIX[2:4]} - {each.low.mhz}).pop()

    @given(st.sets(st.integers(5650, 5925), min_size=2, max_size=3).map(tuple), st.floats(1, 99), st.floats(100, 999))
    def test_the_loud_one_named_is_the_worst_of_all(self, mhz: tuple[int, ...], low: float, high: float) -> None:
        for found in compare_powers(mhz, low, high, Layout(), ASSUMED):
            margins = {}
            for loud in set(mhz) - {found.low.mhz}:
                powers_mw = dict.fromkeys(mhz, low) | {loud: high}
                by_mhz = {each.mhz: each.margin_db for each in pilot_levels(powers_mw, Layout(), ASSUMED)}
                margins[loud] = by_mhz[found.low.mhz]
            assert found.loud_mhz is not None
            assert found.beside_loud is not None
            assert found.beside_loud.margin_db == margins[found.loud_mhz] == min(margins.values())


class TestHowFar:
    @given(sets.filter(lambda mhz: len(mhz) > 1), powers, st.floats(1, 300))
    def test_at_the_distance_named_every_pilot_keeps_the_ratio_and_nearer_one_does_not(
        self, mhz: tuple[int, ...], mw: float, wanted_m: float
    ) -> None:
        quiet = replace(ASSUMED, noise_figure_db=0)
        needed = nearest_others(mhz, mw, Layout(wanted_m), quiet)
        assert needed is not None

        def least_margin(metres: float) -> float:
            margins = []
            for each in mhz:
                wanted = Signal(each, mw, wanted_m)
                foreign = [Signal(other, mw, metres) for other in mhz if other != each]
                found = [one for one in disturbances(wanted, foreign, 1, quiet) if one.sources]
                margins.append(received_dbm(wanted, quiet) - max(one.level_dbm for one in found))
            return min(margins)

        assert least_margin(needed.distance_m) == pytest.approx(quiet.protection_db, abs=1e-6)
        assert least_margin(needed.distance_m * 1.01) > quiet.protection_db
        assert least_margin(needed.distance_m / 1.01) < quiet.protection_db

    def test_on_the_same_channel_only_the_ratio_of_distances_counts(self) -> None:
        """15 dB are a factor of 5.6 in distance, at equal power: 60 m want 337 m."""
        wanted = Signal(5800, 25, 60)
        reach = same_channel(wanted, Signal(5800, 25, 1), ASSUMED)
        assert reach.distance_m(allowed_dbm(wanted, ASSUMED)) == pytest.approx(60 * 10 ** (15 / 20))

    @pytest.mark.parametrize("pits_mw", [25, 200])
    def test_the_pits_cases_are_the_worst_that_plain_trying_finds(self, pits_mw: float) -> None:
        mhz, layout = SIX[:4], Layout()
        cases = {case.channel: case for case in pits_cases(mhz, 25, pits_mw, layout, ASSUMED)}
        assert list(cases) == ["same", "other", "product"]
        least: dict[str, float] = {"other": 1e9, "product": 1e9}
        for victim in mhz:
            for pits in set(mhz) - {victim}:
                wanted = Signal(victim, 25, layout.wanted_m)
                foreign = [Signal(each, 25, layout.nearest_m) for each in mhz if each not in (victim, pits)]
                foreign.append(Signal(pits, pits_mw, layout.pits_m))
                for each in disturbances(wanted, foreign, layout.pads_m, ASSUMED):
                    sort = {"carrier": "other", "two-signal": "product", "three-signal": "product"}.get(each.kind)
                    if sort and pits in each.sources:
                        least[sort] = min(least[sort], received_dbm(wanted, ASSUMED) - each.level_dbm)
        assert {sort: cases[sort].margin_db for sort in least} == pytest.approx(least)  # type: ignore[index]
        for sort, case in cases.items():
            # As far away as it says, the ratio is just kept; where the pits lie nearer than that, it isn't.
            moved = pits_cases(mhz, 25, pits_mw, replace(layout, pits_m=max(0.5, case.needed.distance_m)), ASSUMED)
            again = {each.channel: each for each in moved}[sort]
            assert again.needed == case.needed
            if case.needed.distance_m >= 0.5:
                assert again.margin_db == pytest.approx(ASSUMED.protection_db)

    def test_a_set_too_small_for_a_sort_leaves_it_out(self) -> None:
        assert [case.channel for case in pits_cases((5800,), 25, 25, Layout(), ASSUMED)] == ["same"]
        assert nearest_others((5800,), 25, Layout(), ASSUMED) is None


@pytest.mark.parametrize(
    ("call", "field"),
    [
        pytest.param(lambda: dbm_of(0), "power_mw", id="no power"),
        pytest.param(lambda: free_space_loss_db(0, 5800), "distance_m", id="no distance"),
        pytest.param(lambda: free_space_loss_db(1, 0), "mhz", id="no frequency"),
        pytest.param(lambda: noise_dbm(0, 6), "bandwidth_mhz", id="no bandwidth"),
        pytest.param(lambda: Layout(wanted_m=0.1), "wanted_m", id="too near"),
        pytest.param(lambda: Layout(pits_m=float("nan")), "pits_m", id="no number"),
        pytest.param(lambda: Assumptions(intercept_dbm=90), "intercept_dbm", id="no such receiver"),
        pytest.param(lambda: Assumptions(rejection_40_db=10), "rejection_40_db", id="filter that opens again"),
        pytest.param(lambda: checked_set([]), "mhz", id="empty set"),
        pytest.param(lambda: checked_set([5800, 5800]), "mhz", id="one twice"),
        pytest.param(lambda: checked_set(range(5650, 5661)), "mhz", id="too many"),
        pytest.param(
            lambda: list(disturbances(Signal(5800, 1, 1), [Signal(5800, 1, 2)], 1, ASSUMED)), "mhz", id="shared"
        ),
    ],
)
def test_what_no_sum_can_be_done_with_is_refused(call, field: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadProblem) as refused:
        call()
    assert refused.value.field == field


def test_a_set_clear_of_products_does_better_than_one_of_equal_steps() -> None:
    """The estimate and the measures point the same way; which set is taken is decided by the measures alone."""
    steps = tuple(5658 + 37 * place for place in range(6))

    def least(mhz: tuple[int, ...]) -> float:
        return min(each.margin_db for each in pilot_levels(dict.fromkeys(mhz, 200), Layout(), ASSUMED))

    assert all(b - a >= 37 for a, b in combinations(SIX, 2))
    assert least(SIX) > least(steps) + 5
