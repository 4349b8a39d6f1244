"""How many tokens? on the page: wait and time in the air by the formula, clearance by the search, mixed kit besides."""

from collections.abc import Callable
from datetime import date
from urllib.parse import urlencode

import pytest
from sqlmodel import select

from meetapp.flows.planning.token_counts import CountsQuestion, token_counts
from meetapp.spectrum.queueing import MeanTimes, finite_source_queue
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, opens_for_the_organiser_only
from tests.world import NOON, World

TABLE = ("Tokens", "Wait", "In the line", "In the air", "With this kit", "Clearance", "Worst case", "Best set")


def ask(organiser: Surfer, world: World, **asked: object) -> None:
    usual = {"pilots": 6, "flight_min": 8, "ground_min": 25, "spacing_mhz": 37}
    organiser.open(f"/organiser/meets/{world.meet}/how-many?{urlencode(usual | asked)}")


def rows(organiser: Surfer) -> list[dict[str, str]]:
    """The rows of the table, each cell by its column."""
    found = organiser.page.find("tbody").find_all("tr")
    return [
        {str(cell["data-head"]): " ".join(cell.get_text(" ").split()) for cell in row.find_all("td")} for row in found
    ]


def clearance_drawn(row: dict[str, str]) -> str:
    """What the drawing says above a bar, by the table."""
    return row["Clearance"].removesuffix(" MHz").replace("none", "–")


def give_kit(store: Store, world: World, tuning: str, *names: str) -> None:
    """These pilots fly with a transmitter of one kind more, which makes only this."""
    with store.write() as session:
        kind = t.TransmitterKind(name=f"only {tuning}", tuning=tuning, width_mhz=20, power_steps_mw="25")
        session.add(kind)
        session.flush()
        for name in names:
            session.get_one(t.PilotTransmitter, world.transmitters[name]).kind_id = kind.id
        session.commit()


def test_it_starts_with_those_who_come(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/how-many")
    assert organiser.status == 200
    assert field_value(organiser, "pilots") == "6"
    assert "6 pilots; 8 min with a token, 25 min between giving it back and asking again" in organiser.text
    found = rows(organiser)
    assert [row["Tokens"] for row in found] == ["1", "2", "3", "4 as planned", "5", "6"]
    for count, row in enumerate(found, start=1):
        assert tuple(row) == TABLE
        exact = finite_source_queue(6, count, MeanTimes(8, 25))
        assert row["Wait"] == f"{exact.wait_min:.1f} min"
        assert row["In the air"] == f"{100 * exact.air_share:.0f} %"
        wait, within = (float(word) for word in row["With this kit"].removesuffix(" min").split(" ± "))
        assert abs(wait - exact.wait_min) <= 1.5 * within + 0.1  # everybody can use everything here
    assert [row["Clearance"] for row in found[:2]] == ["none", "none"]
    assert found[5]["Best set"] == "5645 5695 5765 5805 5865 5945"
    assert found[5]["Clearance"] == "10 MHz"


def test_it_says_what_the_sums_take_for_granted(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    for words in (
        "It takes tokens as equal and both times as exponential",
        "simulated with the transmitters of the 6 expected, each using only the tokens that it can make",
        "Mixed kit waits longer",
        "by these sums; no promise of a clear picture",
        "assumed, no source",
    ):
        assert words in organiser.text


def test_what_one_more_token_brings_is_said_in_words(organiser: Surfer, world: World) -> None:
    ask(organiser, world, pilots=20)
    waits = [finite_source_queue(20, count, MeanTimes(8, 25)).wait_min for count in (4, 5)]
    assert f"From 4 to 5 tokens: the wait goes from {waits[0]:.1f} to {waits[1]:.1f} min" in organiser.text
    assert "the clearance from 35 to 20 MHz." in organiser.text
    assert "From 5 to 6 tokens" not in organiser.text


def test_kit_that_can_use_one_token_only_waits_longer(organiser: Surfer, world: World, store: Store) -> None:
    give_kit(store, world, "R1", "Ana", "Bo", "Cy", "Di")
    ask(organiser, world, pilots=3)  # of every second pilot of the six: two with R1 only, one with all of it
    two = rows(organiser)[1]
    mixed = float(two["With this kit"].split(" ±")[0])
    assert "5658" in two["Best set"]  # the set is chosen for those who come
    assert mixed > 3 * float(two["Wait"].split()[0])


def test_who_can_use_no_token_is_counted_and_left_out(organiser: Surfer, world: World, store: Store) -> None:
    give_kit(store, world, "R1", "Ana", "Bo")
    give_kit(store, world, "R8", "Cy")
    ask(organiser, world)
    one, two, *_ = rows(organiser)
    assert one["With this kit"].endswith("; 1 can use none")
    assert "can use none" not in two["With this kit"]


def test_more_pilots_than_are_expected_have_the_same_mix(organiser: Surfer, world: World, store: Store) -> None:
    give_kit(store, world, "R1", "Ana", "Bo", "Cy")
    give_kit(store, world, "R8", "Di", "Ed", "Fay")
    ask(organiser, world, pilots=12, spacing_mhz=300)
    assert "repeated or thinned out evenly to 12" in organiser.text
    assert [row["Tokens"] for row in rows(organiser)] == ["1", "2"]
    assert rows(organiser)[0]["With this kit"].endswith("; 6 can use none")


def test_nobody_expected_still_gets_the_formula(organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        bare = t.Meet(name="July meet", on_date=date(2026, 7, 12), site_id=world.site, state="planned", fly_at_once=3)
        session.add(bare)
        session.commit()
        world.meet = bare.id
    organiser.open(f"/organiser/meets/{world.meet}/how-many")
    assert "Nobody is expected yet." in organiser.text
    assert "say who is expected, and the wait with their kit stands here" in organiser.text
    assert field_value(organiser, "pilots") == "12"
    assert [row["With this kit"] for row in rows(organiser)] == ["–"] * len(rows(organiser))


def test_where_no_more_tokens_fit_it_says_so(organiser: Surfer, world: World) -> None:
    ask(organiser, world, spacing_mhz=140)
    assert [row["Tokens"] for row in rows(organiser)] == ["1", "2", "3"]
    # 5645, 5745, 5845 and 5945 MHz: a third of the span from the lowest channel to the highest.
    assert "4 tokens 140 MHz apart can't be had here: 100 MHz is the widest spacing for so many." in organiser.text


def test_a_number_of_tokens_leads_to_its_set(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/channels")
    organiser.follow("How many tokens?")
    link = organiser.page.find("tbody").find_all("a")[4]
    organiser.open(str(link["href"]))
    assert field_value(organiser, "count") == "5"
    assert "The best set" in organiser.text


@pytest.mark.parametrize(
    ("name", "typed", "sentence"),
    [
        pytest.param("pilots", "0", "How many pilots must be at least 1.", id="nobody"),
        pytest.param("pilots", "900", "How many pilots must be at most 500.", id="a crowd"),
        pytest.param("flight_min", "", "The time with a token must be a number.", id="emptied"),
        pytest.param("ground_min", "0", "The time between must be at least 0.5.", id="no time"),
        pytest.param("spacing_mhz", "wide", "The spacing must be a whole number.", id="a word"),
    ],
)
def test_what_needs_correcting_keeps_what_was_typed(
    organiser: Surfer, world: World, name: str, typed: str, sentence: str
) -> None:
    ask(organiser, world, **{name: typed})
    assert organiser.status == 422
    assert sentence in organiser.text
    assert field_value(organiser, name) == typed


def test_only_the_organiser_and_only_a_meet_that_is_there(
    organiser: Surfer, marshal: Surfer, surfer: Callable[[], Surfer], world: World
) -> None:
    opens_for_the_organiser_only(marshal, surfer(), f"/organiser/meets/{world.meet}/how-many")
    organiser.open("/organiser/meets/999/how-many")
    assert organiser.status == 404


def test_the_drawing_has_the_figures_of_the_table(organiser: Surfer, world: World) -> None:
    ask(organiser, world)
    for layout in ("wide", "narrow"):
        drawing = organiser.page.find("svg", class_=f"drawing-{layout}")
        words = [" ".join(each.get_text().split()) for each in drawing.find_all("text")]
        assert words == [
            "Time in the air (%) by tokens",
            *(word for row in rows(organiser) for word in (row["In the air"].removesuffix(" %"), row["Tokens"][0])),
            "Clearance (MHz) by tokens",
            *(word for row in rows(organiser) for word in (clearance_drawn(row), row["Tokens"][0])),
        ]


def test_the_same_question_gets_the_same_answer(world: World, store: Store) -> None:
    question = CountsQuestion(9, MeanTimes(8, 25), 37)
    assert token_counts(store, world.meet, question, NOON) == token_counts(store, world.meet, question, NOON)
    with store.read() as session:
        assert session.exec(select(t.JournalLine)).all() == []
