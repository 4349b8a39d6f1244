"""The pages of kinds of transmitter."""

import pytest

from meetapp.data.catalog import kind_templates
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value
from tests.web.set_up import refuses, works_once

NEW = {
    "name": "Little one",
    "signal": "analogue",
    "width_from": "carson",
    "carson_modulating_mhz": "6",
    "carson_deviation_mhz": "4",
    "tuning": "R 5740",
    "power_steps": "25 200",
    "setting_hint": "hold the button",
}


def test_a_kind_is_added_once_and_the_page_says_what_it_means(organiser: Surfer, store: Store) -> None:
    notice = "'Little one' is saved: 9 frequencies, 5658 to 5917 MHz."
    works_once(organiser, store, "/organiser/kinds/new", "Save the kind", NEW, "kind_added", notice)
    for words in ("R1 5658, R2 5695", "Carson's rule: 2 x 6 + 2 x 4 = 20 MHz.", "Its goggles receive all"):
        assert words in organiser.text
    assert {name: field_value(organiser, name) for name in NEW} == NEW


def test_ticks_are_saved_and_taken_away(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/kinds/new")
    organiser.press("Save the kind", **NEW, goggles_transmit="yes", sets_silently="yes")
    address = organiser.path
    ticked = {box["name"] for box in organiser.page.find_all("input", {"type": "checkbox", "checked": True})}
    assert ticked == {"goggles_transmit", "sets_silently"}
    organiser.press("Save the kind", goggles_transmit=(), moves_by_itself="yes")
    organiser.open(address)
    ticked = {box["name"] for box in organiser.page.find_all("input", {"type": "checkbox", "checked": True})}
    assert ticked == {"moves_by_itself", "sets_silently"}


def test_ticks_survive_a_refusal(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/new")
    organiser.press("Save the kind", **(NEW | {"tuning": "R9"}), sets_silently="yes")
    assert organiser.status == 422
    ticked = {box["name"] for box in organiser.page.find_all("input", {"type": "checkbox", "checked": True})}
    assert ticked == {"sets_silently"}


def test_a_digital_mode_has_a_width_with_its_source(organiser: Surfer, store: Store) -> None:
    typed = NEW | {
        "signal": "digital",
        "width_from": "own",
        "width_mhz": "27,5",
        "width_source": "manual, p. 12",
        "goggles": "R1 R3",
    }
    works_once(organiser, store, "/organiser/kinds/new", "Save the kind", typed, "kind_added", "is saved")
    assert "Now 27.5 MHz. manual, p. 12" in organiser.text
    assert "2 frequencies, 5658 to 5732 MHz" in organiser.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Fill in: the name."),
        ({"name": "ANALOGUE r"}, "There is a kind named 'analogue R' already."),
        ({"tuning": "A B R33"}, "'R33' is no plan, channel, frequency or range; there is R1 to R8."),
        ({"tuning": ""}, "Say what it can make"),
        ({"goggles": "Q"}, "'Q' is no plan, channel, frequency or range"),
        ({"goggles": "L"}, "These goggles can't receive a single channel of it."),
        ({"power_steps": "25 lots"}, "'lots' is no power step"),
        ({"carson_modulating_mhz": ""}, "Carson's rule needs both of its numbers."),
        ({"carson_deviation_mhz": "four"}, "D must be a number."),
        ({"carson_deviation_mhz": "inf"}, "D must be a number."),
        ({"signal": "digital"}, "Carson's rule is for analogue video."),
        ({"width_from": "own", "width_mhz": "20", "width_source": ""}, "Fill in: where the width comes from."),
        ({"width_from": "own", "width_mhz": "20.3", "width_source": "x"}, "Give the width in steps of half a MHz"),
        ({"antenna_gain_dbi": "200"}, "The antenna gain must be at most 40"),
        ({"setting_hint": "x" * 301}, "How its channel is set is too long: 300 characters at most."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_kind_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/kinds/new", "Save the kind", NEW | typed, sentence)


def test_an_answer_that_was_not_offered_is_refused(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/new")
    organiser.press("Save the kind", **(NEW | {"signal": "smoke"}))
    assert organiser.status == 422
    assert "Choose one of the answers for: analogue or digital." in organiser.text


@pytest.mark.parametrize("place", [0, len(kind_templates()) - 1])
def test_the_form_is_filled_from_a_template(organiser: Surfer, store: Store, place: int) -> None:
    organiser.open("/organiser/kinds/new")
    organiser.press("Fill in the form", template=str(place))
    template = kind_templates()[place]
    assert field_value(organiser, "tuning") == template.tuning
    assert field_value(organiser, "name") == ""
    organiser.press("Save the kind", name="from a template")
    assert "'from a template' is saved" in organiser.text


@pytest.mark.parametrize("query", ["template=99", "like=99"])
def test_a_template_that_is_not_there_is_no_page(organiser: Surfer, query: str) -> None:
    organiser.open(f"/organiser/kinds/new?{query}")
    assert organiser.status == 404


def test_another_kind_is_made_like_this_one(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/4")
    organiser.follow("Another like this")
    assert field_value(organiser, "tuning").startswith("5660 5695")
    assert field_value(organiser, "name") == ""


def test_a_kind_is_changed_retired_and_brought_back(organiser: Surfer, store: Store) -> None:
    path = "/organiser/kinds/1"
    works_once(organiser, store, path, "Save the kind", NEW, "kind_changed", "is saved")
    works_once(organiser, store, path, "Retire the kind", {}, "retired", "'Little one' is retired")
    works_once(organiser, store, path, "Bring the kind back", {}, "brought_back", "is offered again")
