"""The tables that come with the program: complete, sourced, and honest about what is only remembered."""

from datetime import date
from math import log10

import pytest

from meetapp.data.catalog import BandRule, KindTemplate, band_rules, kind_templates, published_plans
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.tuning import parse_tuning

PLANS = published_plans()
RULES = {rule.name: rule for rule in band_rules()}
KINDS = {kind.name: kind for kind in kind_templates()}


def test_the_plans_come_in_their_stated_order() -> None:
    assert [plan.letter for plan in PLANS] == ["A", "B", "E", "F", "R", "L"]


def test_names_are_used_once() -> None:
    assert len(RULES) == len(band_rules())
    assert len(KINDS) == len(kind_templates())


@pytest.mark.parametrize("rule", band_rules(), ids=lambda rule: rule.name)
def test_a_band_rule_says_where_it_is_from_and_who_decides(rule: BandRule) -> None:
    assert rule.source
    assert rule.condition
    assert rule.power
    assert rule.decides == "The national text and the pilot's licence decide."


@pytest.mark.parametrize("rule", band_rules(), ids=lambda rule: rule.name)
def test_a_band_rule_that_was_not_read_says_so_and_gives_no_power_to_compute_with(rule: BandRule) -> None:
    if rule.read_on is None:
        assert "from memory, check" in rule.source
        assert all(segment.power_mw is None for segment in rule.segments)
    else:
        assert rule.read_on == date(2026, 11, 25)
        assert "seen" in rule.source


@pytest.mark.parametrize("rule", band_rules(), ids=lambda rule: rule.name)
def test_no_band_rule_promises_anything(rule: BandRule) -> None:
    text = " ".join((rule.name, rule.power, rule.source, rule.decides)).lower()
    assert not {"permitted", "legal", "safe"} & set(text.replace(",", " ").replace(".", " ").split())


# Edges and figures: ETSI EN 300 440 V2.2.1 Table 1 and wireless-regdb 2026.05.30 (13.97 dBm); 47 CFR 15.249 (50 mV/m
# at 3 m); 47 CFR 97.301(a); tele.soumu.go.jp, drone/notes.
@pytest.mark.parametrize(
    ("name", "segments"),
    [
        ("Short range device, Europe (CEPT)", (Segment(5725, 5875, 25),)),
        ("Unlicensed, United States (15.249)", (Segment(5725, 5875, 0.75),)),
        ("Amateur licence, United States", (Segment(5650, 5925),)),
        ("Amateur licence, ITU Regions 1 and 3", (Segment(5650, 5850),)),
        (
            "Amateur licence for pictures, Japan",
            (Segment(5690, 5725), Segment(5730, 5755), Segment(5757, 5760), Segment(5762, 5765), Segment(5770, 5810)),
        ),
    ],
)
def test_the_figures_of_rules_that_were_read(name: str, segments: tuple[Segment, ...]) -> None:
    assert RULES[name].segments == segments
    assert RULES[name].read_on is not None


def test_50_millivolts_at_3_metres_are_three_quarters_of_a_milliwatt() -> None:
    # e.i.r.p. = (E d)^2 / 30 (ITU-R P.525).
    (segment,) = RULES["Unlicensed, United States (15.249)"].segments
    assert segment.power_mw == pytest.approx((0.050 * 3) ** 2 / 30 * 1000)


def test_25_milliwatts_are_what_the_wireless_database_cuts_to_1397() -> None:
    assert 10 * log10(25) == pytest.approx(13.97, abs=0.02)


def test_the_united_kingdom_is_told_to_check_airborne_use() -> None:
    assert "Check whether airborne use is allowed" in RULES["Short range device, United Kingdom"].condition


@pytest.mark.parametrize("kind", kind_templates(), ids=lambda kind: kind.name)
def test_a_kind_of_transmitter_can_be_used_as_it_stands(kind: KindTemplate) -> None:
    assert parse_tuning(kind.tuning, PLANS).all_mhz()
    assert kind.goggles is None or parse_tuning(kind.goggles, PLANS).all_mhz()
    assert kind.power_steps_mw == tuple(sorted(kind.power_steps_mw))
    assert kind.power_steps_mw[0] > 0
    assert kind.width_source
    assert kind.setting_hint
    assert "check" in kind.source or "put in" in kind.source or "seen" in kind.source


# Names count: 40 channels of five plans are 40 names.
@pytest.mark.parametrize(
    ("name", "channels"),
    [
        ("Analogue, 40 channels (A B E F R)", 40),
        ("Analogue, 48 channels (A B E F R L)", 48),
        ("Analogue, 37 channels (without E4, E7, E8)", 37),
        ("Analogue, 32 channels (A B E F)", 32),
        ("Analogue, 8 channels (R only)", 8),
    ],
)
def test_a_kind_has_as_many_channels_as_it_says(name: str, channels: int) -> None:
    assert len(parse_tuning(KINDS[name].tuning, PLANS).channels) == channels


def test_analogue_kinds_have_the_reference_width_and_show_the_sum_behind_it() -> None:
    for kind in kind_templates():
        if not kind.is_digital:
            assert kind.width_mhz == 20
            assert "2 x 6 + 2 x 4 = 20 MHz" in kind.width_source


def test_the_kinds_cover_what_turns_up_at_a_field() -> None:
    kinds = kind_templates()
    assert len({kind.width_mhz for kind in kinds if kind.is_digital}) >= 2
    assert any(kind.power_steps_mw[0] >= 200 for kind in kinds)
    assert any(parse_tuning(kind.tuning, PLANS).ranges for kind in kinds)
    assert any(kind.goggles is not None for kind in kinds)
    assert any(kind.moves_by_itself for kind in kinds)
    assert any(kind.sets_silently for kind in kinds)
