"""Estimated levels on the page: figures of the sums, answers in sentences, every assumption with its source."""

import re
from collections.abc import Callable
from urllib.parse import urlencode

import pytest
from sqlmodel import select

from meetapp.spectrum.levels import Assumptions, Layout, compare_powers, pits_cases
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, opens_for_the_organiser_only
from tests.world import SET_OF_FOUR, World

FOUR = tuple(sorted(SET_OF_FOUR.values()))


def ask(organiser: Surfer, world: World, **asked: object) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/levels?{urlencode(asked)}")


def cells(organiser: Surfer, table: int) -> list[list[str]]:
    """The words of a table's rows, without its head."""
    rows = organiser.page.find_all("table")[table].find("tbody").find_all("tr")
    return [[" ".join(cell.get_text(" ").split()) for cell in row.find_all("td")] for row in rows]


def test_it_starts_with_the_meet_s_set_and_the_usual_field(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    assert organiser.status == 200
    assert field_value(organiser, "mhz") == "5658 5740 5820 5917"
    compared = compare_powers(FOUR, 25, 200, Layout(), Assumptions())
    for row, found in zip(cells(organiser, 0), compared, strict=True):
        assert found.beside_loud is not None
        margins = (found.low.margin_db, found.high.margin_db, found.beside_loud.margin_db)
        assert [float(cell.split()[0]) for cell in row[1:4]] == [pytest.approx(db, abs=0.05) for db in margins]
        assert ["below" in cell for cell in row[1:4]] == [db < 15 for db in margins]
        assert row[0].startswith(f"{found.low.mhz} MHz")


def test_it_is_called_an_estimate_and_promises_nothing(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    for words in (
        "An estimate: free space, and figures that nobody measured here. It never changes the order of sets.",
        "By these sums; no promise of a clear picture.",
        "products made in receivers, and the two-signal products of transmitters that stand side by side",
        "Low power is not silence, and no margin here is a promise.",
        "No power before you hold the token",
    ):
        assert words in organiser.text
    assert not re.search(r"\b(safe|safely|permitted|allowed)\b", organiser.text, re.IGNORECASE)


def test_it_answers_what_clubs_argue_about(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    for words in (
        "25 mW or 200 mW: does it matter?",
        "Everybody with 200 mW in place of 25 mW: each signal is 9.0 dB stronger. That gains 9.0 dB over noise, "
        "changes nothing beside another carrier, and loses 18.1 dB against a product.",
        "The smallest margin, everybody at 25 mW:",
        "The smallest margin, one at 200 mW among 25 mW:",
        "Everybody with 25 mW: nobody else's transmitter nearer to a pilot's receiver than",
        "Pilots' spot and pits. Where a quad that is powered in the pits is on a channel of its own",
        "Is a powered quad in the pits a danger?",
    ):
        assert words in organiser.text
    [same, other, product] = cells(organiser, 2)
    assert [row[0] for row in (same, other, product)] == [
        "On the channel of a pilot in the air",
        "On another channel of the set",
        "Through a product with those in the air",
    ]
    assert "below" in same[1]
    assert same[2] == "338 m"  # 60 m and 15 dB: 60 x 10^(15/20), rounded up
    worst = pits_cases(FOUR, 25, 25, Layout(), Assumptions())[1]
    assert float(other[1].split()[0]) == pytest.approx(worst.margin_db, abs=0.05)


def test_every_assumption_is_listed_with_its_source_or_without_one(organiser: Surfer, world: World) -> None:
    ask(organiser, world, mhz="5658 5740", intercept_dbm="-15")
    rows = {row[0]: row[1:] for row in cells(organiser, 3)}
    assert rows["Path loss"][1] == "ITU-R P.525"
    assert rows["Intercept point of the receiver (third order, at its input)"] == ["-15 dBm", "as typed here"]
    assert rows["Protection ratio: the margin that a picture needs"] == ["15 dB", "assumed, no source"]
    assert [row[1] for row in rows.values()].count("assumed, no source") == 10
    assert field_value(organiser, "intercept_dbm") == "-15"


def test_a_longer_field_and_another_power_change_the_answer(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    organiser.press("Estimate the levels", nearest_m="20", wanted_m="40,5", low_mw="100", high_mw="600")
    assert organiser.status == 200
    assert "100 mW or 600 mW: does it matter?" in organiser.text
    found = compare_powers(FOUR, 100, 600, Layout(wanted_m=40.5, nearest_m=20), Assumptions())
    shown = [float(row[1].split()[0]) for row in cells(organiser, 0)]
    assert shown == [pytest.approx(each.low.margin_db, abs=0.05) for each in found]
    assert field_value(organiser, "wanted_m") == "40,5"


def test_one_pilot_alone_has_only_noise(organiser: Surfer, world: World) -> None:
    ask(organiser, world, mhz="5740")
    assert cells(organiser, 0)[0][3] == "–"
    assert "against the receiver's noise" in organiser.text
    assert "With one channel there is no other to power a quad on in the pits" in organiser.text
    assert len(cells(organiser, 2)) == 1


def test_a_meet_without_a_set_asks_for_one(organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        for row in session.exec(select(t.MeetToken)):
            session.delete(row)
        session.commit()
    ask(organiser, world)
    assert organiser.status == 200
    assert "The margin of each pilot" not in organiser.text
    organiser.press("Estimate the levels", mhz="5740 5800")
    assert "The margin of each pilot" in organiser.text


def test_the_set_on_the_channels_page_leads_here(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/channels?count=2&spacing=37&mhz=5740+5800")
    organiser.follow("Estimated levels")
    assert field_value(organiser, "mhz") == "5740 5800"
    assert len(cells(organiser, 0)) == 2


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        pytest.param("mhz", "", "Give 1 to 10 frequencies.", id="empty set"),
        pytest.param("mhz", "57 x", "'57' is no frequency", id="no MHz"),
        pytest.param("mhz", "9999", "9999 MHz is not near 5.8 GHz", id="far off"),
        pytest.param("mhz", "5740 5740", "One frequency is there twice: give each one once.", id="one twice"),
        pytest.param("mhz", " ".join(str(5650 + n) for n in range(11)), "Give 1 to 10 frequencies.", id="too many"),
        pytest.param("wanted_m", "near", "The distance to your own quad must be a number.", id="a word"),
        pytest.param("pits_m", "0", "The distance to the pits must be at least 0.5.", id="no distance"),
        pytest.param("pads_m", "inf", "The distance between pads must be a number.", id="no number"),
        pytest.param("low_mw", "0", "The usual power must be at least 0.1.", id="no power"),
        pytest.param("high_mw", "25", "The louder power must be more than the usual one.", id="not louder"),
        pytest.param("intercept_dbm", "99", "The intercept point must be at most 40.", id="no such receiver"),
        pytest.param("rejection_40_db", "5", "A filter doesn't let through more", id="filter that opens again"),
        pytest.param("protection_db", "", "The protection ratio must be a number.", id="emptied"),
    ],
)
def test_what_needs_correcting_keeps_what_was_typed(
    organiser: Surfer, world: World, name: str, typed: str, sentence: str
) -> None:
    ask(organiser, world, **{"mhz": "5740 5800", "pads_m": "2", name: typed})
    assert organiser.status == 422
    assert sentence in organiser.text
    assert field_value(organiser, name) == typed
    assert "The margin of each pilot" not in organiser.text


def test_only_the_organiser_and_only_a_meet_that_is_there(
    organiser: Surfer, marshal: Surfer, surfer: Callable[[], Surfer], world: World
) -> None:
    opens_for_the_organiser_only(marshal, surfer(), f"/organiser/meets/{world.meet}/levels")
    for query in ("", "?mhz=5740"):
        organiser.open(f"/organiser/meets/999/levels{query}")
        assert organiser.status == 404
