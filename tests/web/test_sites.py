"""The pages of sites and their neighbours."""

import pytest

from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.set_up import refuses, works_once

NEW = {"name": "Upper Meadow", "time_zone": "Europe/Paris", "band_profile_id": "1", "note": "gate on the left"}


def test_a_site_is_added_once(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/sites/new", "Save the site", NEW, "site_added", "'Upper Meadow' is saved.")
    organiser.open("/organiser/sites")
    assert "Upper Meadow" in organiser.text


def test_a_site_is_changed_once(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/sites/1", "Save the site", NEW, "site_changed", "is saved.")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Fill in: the site's name."),
        ({"name": "lower meadow"}, "There is a site named 'Lower Meadow' already. Choose another name."),
        ({"time_zone": "Moon/Tranquility"}, "'Moon/Tranquility' is no time zone."),
        ({"time_zone": ""}, "Fill in: the time zone."),
        ({"band_profile_id": ""}, "The band profile must be a whole number."),
        ({"note": "x" * 2001}, "The note is too long: 2000 characters at most."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_site_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/sites/new", "Save the site", NEW | typed, sentence)


def test_a_band_profile_that_was_made_up_is_refused(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/sites/new")
    organiser.press("Save the site", **(NEW | {"band_profile_id": "77"}))
    assert organiser.status == 422
    assert "This band profile isn't offered any more." in organiser.text


def test_neighbours_come_and_go(organiser: Surfer, store: Store) -> None:
    wifi = {"wifi_channel": "155", "wifi_width_mhz": "80", "wifi_name": "the farm"}
    site = "/organiser/sites/1"
    works_once(organiser, store, site, "Add the Wi-Fi network", wifi, "neighbour_added", "5775 MHz, 80 MHz wide")
    assert "5775 MHz, 80 MHz wide: 5735 to 5815" in organiser.text
    signal = {"label": "radar", "centre_mhz": "5630", "width_mhz": "17,5"}
    works_once(organiser, store, site, "Add the signal", signal, "neighbour_added", "'radar' is a neighbour now")
    works_once(organiser, store, site, "Remove : radar", {}, "neighbour_removed", "'radar' is removed.")


@pytest.mark.parametrize(
    ("button", "typed", "sentence"),
    [
        (
            "Add the Wi-Fi network",
            {"wifi_channel": "149", "wifi_width_mhz": "80"},
            "Wi-Fi channel 149 is not 80 MHz wide: the one that covers it is 155.",
        ),
        ("Add the Wi-Fi network", {"wifi_channel": "", "wifi_width_mhz": "20"}, "The Wi-Fi channel must be a whole"),
        ("Add the Wi-Fi network", {"wifi_channel": "7", "wifi_width_mhz": "20"}, "There is no 20 MHz wide Wi-Fi"),
        (
            "Add the signal",
            {"label": "radar", "centre_mhz": "58", "width_mhz": "20"},
            "58 MHz is not near 5.8 GHz",
        ),
        (
            "Add the signal",
            {"label": "radar", "centre_mhz": "5800", "width_mhz": "wide"},
            "The width must be a number.",
        ),
        ("Add the signal", {"label": "radar", "centre_mhz": "5800", "width_mhz": "-3"}, "A width of -3 MHz can't be"),
        ("Add the signal", {"label": "radar", "centre_mhz": "5800", "width_mhz": "nan"}, "The width must be a number."),
        ("Add the signal", {"label": "", "centre_mhz": "5800", "width_mhz": "20"}, "Fill in: what it is."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_neighbour_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, button: str, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/sites/1", button, typed, sentence)
    assert organiser.page.find("details", open=True)


def test_a_site_is_retired_and_brought_back(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/sites/1", "Retire the site", {}, "retired", "'Lower Meadow' is retired")
    organiser.open("/organiser/sites")
    assert "retired" in organiser.text
    works_once(organiser, store, "/organiser/sites/1", "Bring the site back", {}, "brought_back", "is offered again")
