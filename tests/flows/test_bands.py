"""Band profiles: own ones are written, published ones only copied."""

from datetime import date

import pytest

from meetapp.flows.club import bands, named_rows
from meetapp.flows.club.bands import BandDraft
from meetapp.flows.club.club import seed_catalogue
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.snapshot import segments_of
from meetapp.spectrum.bands import Segment
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import World

ORGANISER = Actor("organiser", "Organiser", session_id=1)
DRAFT = BandDraft("Our licence", "5650-5725\n5725-5875 25 mW", "indoors too", "licence 123", date(2026, 11, 25))


@pytest.fixture
def published(store: Store, world: World) -> int:
    """The id of a published profile of one piece."""
    with store.write() as session:
        seed_catalogue(session)
        session.commit()
    return next(row.profile_id for row in bands.list_bands(store) if row.name.startswith("Short range device, Europe"))


def test_an_own_profile_is_written_and_changed(store: Store, world: World) -> None:
    profile_id = bands.add_band(store, deed(ORGANISER), DRAFT).made_id
    assert profile_id is not None
    view = bands.band_view(store, profile_id)
    assert (view.segments, view.source, view.read_on, view.is_own) == (
        "5650-5725\n5725-5875 25 mW",
        "licence 123",
        date(2026, 11, 25),
        True,
    )
    bands.change_band(store, deed(ORGANISER), profile_id, BandDraft("Our licence", "5650-5850", "", "the same", None))
    with store.read() as session:
        assert segments_of(session, profile_id) == (Segment(5650, 5850, None),)
    assert journal_kinds(store) == ["band_added", "band_changed"]


def test_a_published_profile_is_copied_not_changed(store: Store, published: int) -> None:
    with pytest.raises(Refused, match="can't be changed"):
        bands.change_band(store, deed(ORGANISER), published, DRAFT)
    assert bands.band_view(store, published).segments == "5725-5875 25 mW"
    copy = bands.new_band_view(store, published)
    assert copy.profile_id is None
    assert copy.is_own
    assert copy.segments == "5725-5875 25 mW"
    assert copy.name == "Short range device, Europe (CEPT), our copy"
    assert journal_kinds(store) == []


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        ("", "Give at least one piece of band"),
        ("5725", "'5725' is no piece of band"),
        ("5875-5725", "runs backwards"),
        ("5725-5875 zero mW", "is no piece of band"),
        ("5725-5875 0 mW", "power of 0 mW"),
        ("57250-58750", "is not near 5.8 GHz"),
        ("\n".join(f"{5000 + place * 2}-{5001 + place * 2}" for place in range(41)), "41 pieces of band are too many"),
    ],
    ids=["empty", "one edge", "backwards", "no number", "no power", "a digit too many", "too many"],
)
def test_edges_that_can_not_be_read_are_refused(store: Store, world: World, segments: str, words: str) -> None:
    with pytest.raises(Refused, match=words) as refused:
        bands.add_band(store, deed(ORGANISER), BandDraft("x", segments, "", "s", None))
    assert refused.value.field == "segments"
    assert [row.name for row in bands.list_bands(store)] == ["Test band"]


def test_a_name_is_given_once(store: Store, world: World) -> None:
    with pytest.raises(Refused, match="There is a band profile named 'Test band' already"):
        bands.add_band(store, deed(ORGANISER), BandDraft("TEST band", "5650-5850", "", "s", None))


def test_a_retired_profile_says_so_when_its_name_is_taken(store: Store, world: World) -> None:
    named_rows.retire(store, deed(ORGANISER), named_rows.BAND_PROFILES, world.band)
    with pytest.raises(Refused, match="already, which is retired"):
        bands.add_band(store, deed(ORGANISER), BandDraft("Test band", "5650-5850", "", "s", None))


def test_a_profile_tells_who_uses_it(store: Store, world: World) -> None:
    assert bands.band_view(store, world.band).used_by == ("the site Lower Meadow",)


def test_own_profiles_come_first_and_retired_ones_last(store: Store, published: int, world: World) -> None:
    named_rows.retire(store, deed(ORGANISER), named_rows.BAND_PROFILES, published)
    rows = bands.list_bands(store)
    assert rows[0].name == "Test band"
    assert rows[-1].profile_id == published


def test_a_profile_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    with pytest.raises(NotFound, match="This band profile isn't there"):
        bands.band_view(store, 99)
