"""Sites: time zone, band profile, neighbours; retired ones stay where they are used."""

import pytest
from sqlmodel import select

from meetapp.flows.club import named_rows, sites
from meetapp.flows.club.sites import SiteDraft
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.snapshot import neighbours_of
from meetapp.spectrum.carriers import Neighbour
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import NOON, World

ORGANISER = Actor("organiser", "Organiser", session_id=1)


def draft(world: World, **changed: object) -> SiteDraft:
    typed: dict[str, object] = {
        "name": "Upper Meadow",
        "time_zone": "europe/berlin",
        "band_profile_id": world.band,
        "note": "",
    }
    return SiteDraft(**(typed | changed))  # type: ignore[arg-type]


def test_a_site_is_added_and_changed(store: Store, world: World) -> None:
    site_id = sites.add_site(store, deed(ORGANISER), draft(world)).made_id
    assert site_id is not None
    sites.change_site(store, deed(ORGANISER), site_id, draft(world, name=" Upper \n Meadow ", note="gate on the left"))
    view = sites.site_view(store, site_id)
    assert (view.name, view.time_zone, view.note) == ("Upper Meadow", "Europe/Berlin", "gate on the left")
    assert journal_kinds(store) == ["site_added", "site_changed"]
    assert sites.new_site_view(store).time_zone == "Europe/Berlin"


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"name": " lower  MEADOW "}, "name", "There is a site named 'Lower Meadow' already"),
        ({"time_zone": "Middle/Earth"}, "time_zone", "'Middle/Earth' is no time zone"),
        ({"time_zone": "localtime"}, "time_zone", "is no time zone"),
        ({"band_profile_id": 999}, "band_profile_id", "isn't offered any more"),
    ],
    ids=["name taken", "no zone", "private zone", "no profile"],
)
def test_a_site_that_can_not_be_is_refused_and_nothing_changes(
    store: Store, world: World, changed: dict[str, object], field: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        sites.add_site(store, deed(ORGANISER), draft(world, **changed))
    assert refused.value.field == field
    assert [site.name for site in sites.list_sites(store)] == ["Lower Meadow"]
    assert journal_kinds(store) == []


def test_a_wifi_network_becomes_a_neighbour_by_its_channel_and_width(store: Store, world: World) -> None:
    # IEEE 802.11-2016, Annex E: centre = 5000 + 5 x 138 = 5690 MHz.
    sites.add_wifi(store, deed(ORGANISER), world.site, 138, 80, "the farm")
    sites.add_signal(store, deed(ORGANISER), world.site, "weather radar", 5630, 17.5)
    with store.read() as session:
        assert neighbours_of(session, world.site) == (
            Neighbour("weather radar", 5630, 17.5),
            Neighbour("the farm, Wi-Fi 138 (80 MHz)", 5690, 80),
        )
    radar, farm = sites.site_view(store, world.site).neighbours
    assert (farm.low_mhz, farm.high_mhz) == (5650, 5730)
    assert (radar.low_mhz, radar.high_mhz) == (5621.25, 5638.75)
    assert journal_kinds(store) == ["neighbour_added", "neighbour_added"]


@pytest.mark.parametrize(
    ("channel", "width", "words"),
    [
        (149, 80, "the one that covers it is 155"),
        (155, 20, "There is no 20 MHz wide Wi-Fi channel 155"),
        (36, 30, "20, 40, 80 or 160 MHz wide, not 30"),
    ],
)
def test_a_wifi_channel_that_the_standard_does_not_have_is_refused(
    store: Store, world: World, channel: int, width: int, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        sites.add_wifi(store, deed(ORGANISER), world.site, channel, width, "")
    assert refused.value.field == "wifi_channel"
    assert sites.site_view(store, world.site).neighbours == ()


@pytest.mark.parametrize(
    ("centre", "width", "field"),
    [(58, 20, "centre_mhz"), (58000, 20, "centre_mhz"), (5800, 0, "width_mhz"), (5800, 20.3, "width_mhz")],
)
def test_a_signal_that_can_not_be_meant_is_refused(
    store: Store, world: World, centre: int, width: float, field: str
) -> None:
    with pytest.raises(Refused) as refused:
        sites.add_signal(store, deed(ORGANISER), world.site, "something", centre, width)
    assert refused.value.field == field
    assert sites.site_view(store, world.site).neighbours == ()


def test_a_neighbour_is_removed_from_its_own_site_only(store: Store, world: World) -> None:
    sites.add_wifi(store, deed(ORGANISER), world.site, 155, 80, "")
    [neighbour] = sites.site_view(store, world.site).neighbours
    with pytest.raises(NotFound):
        sites.remove_neighbour(store, deed(ORGANISER), world.site + 1, neighbour.neighbour_id)
    sites.remove_neighbour(store, deed(ORGANISER), world.site, neighbour.neighbour_id)
    assert sites.site_view(store, world.site).neighbours == ()
    with store.read() as session:
        line = session.exec(select(t.JournalLine).where(t.JournalLine.kind == "neighbour_removed")).one()
    assert line.facts == {"site": world.site, "name": "Wi-Fi 155 (80 MHz)", "mhz": 5775, "width_mhz": 80}


def test_too_many_neighbours_are_refused(store: Store, world: World) -> None:
    with store.write() as session:
        session.add_all(
            t.Neighbour(site_id=world.site, label=f"n{place}", centre_mhz=5700, width_mhz=20)
            for place in range(sites.NEIGHBOURS_MAX)
        )
        session.commit()
    with pytest.raises(Refused, match="remove one first"):
        sites.add_signal(store, deed(ORGANISER), world.site, "one more", 5800, 20)


def test_a_retired_site_is_listed_last_and_comes_back(store: Store, world: World) -> None:
    site_id = sites.add_site(store, deed(ORGANISER), draft(world, name="A Field")).made_id
    assert site_id is not None
    named_rows.retire(store, deed(ORGANISER), named_rows.SITES, site_id)
    named_rows.retire(store, deed(ORGANISER), named_rows.SITES, site_id)
    assert [(row.name, row.is_retired) for row in sites.list_sites(store)] == [
        ("Lower Meadow", False),
        ("A Field", True),
    ]
    named_rows.bring_back(store, deed(ORGANISER), named_rows.SITES, site_id)
    assert sites.list_sites(store)[0].name == "A Field"
    assert journal_kinds(store) == ["site_added", "retired", "brought_back"]


def test_a_retired_band_profile_stays_where_it_is_used_and_is_not_offered_elsewhere(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.BandProfile, world.band).retired_at = NOON
        session.commit()
    sites.change_site(store, deed(ORGANISER), world.site, draft(world, name="Lower Meadow"))
    assert world.band in dict(sites.site_view(store, world.site).profiles)
    assert world.band not in dict(sites.new_site_view(store).profiles)
    with pytest.raises(Refused, match="isn't offered any more"):
        sites.add_site(store, deed(ORGANISER), draft(world))


def test_a_site_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    with pytest.raises(NotFound, match="This site isn't there"):
        sites.site_view(store, 99)
    with pytest.raises(NotFound):
        sites.add_wifi(store, deed(ORGANISER), 99, 155, 80, "")
