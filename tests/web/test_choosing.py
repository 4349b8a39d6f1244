"""Choosing channels on the page: asked by an address, answered with the set, its alternatives, or what must give."""

from collections.abc import Callable, Iterator
from itertools import islice
from urllib.parse import urlencode

import pytest
from fastapi import FastAPI
from sqlmodel import select

from meetapp.config import Settings
from meetapp.flows.planning.choosing import SearchJobs, search_to_the_end, searching
from meetapp.main import create_app
from meetapp.spectrum.serving import ServingAnswer, ServingProblem, improving_serving_set
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, post, press_twice
from tests.world import Clock, World

FIVE = [("plans", letter) for letter in "ABEFR"]


def ask(organiser: Surfer, world: World, *pairs: tuple[str, object]) -> None:
    query = urlencode([(name, str(value)) for name, value in pairs])
    organiser.open(f"/organiser/meets/{world.meet}/channels?{query}")


def test_the_form_starts_with_what_the_meet_says(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/channels")
    assert field_value(organiser, "count") == "4"
    ticked = [str(box["value"]) for box in organiser.page.find_all("input", {"name": "plans", "checked": True})]
    assert ticked == ["A", "B", "E", "F", "R"]
    assert "The best set" not in organiser.text
    assert "6 with 20 MHz" in organiser.text


def test_the_best_set_is_shown_with_its_words_and_accepted(organiser: Surfer, world: World, store: Store) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/channels")
    form, _button = organiser.form_with("Find the best set")
    assert form["method"] == "get"
    organiser.open(f"{form['action']}?{urlencode(organiser.fields(form))}")
    for words in (
        "The best set",
        "A difference of a few MHz is within a transmitter's own tolerance.",
        "Proven best by these sums; no promise of a clear picture.",
        "Of all sets that serve as many of those who come as any.",
        # Six pilots, four at once: two heats.
        "Everybody expected has a token in one of 2 heats, which come out even.",
        "Next best at this spacing",
        "What each spacing and each number of channels costs",
        "Worst case with the transmitters expected",
    ):
        assert words in organiser.text
    press_twice(organiser, "Accept this set")
    assert organiser.path == f"/organiser/meets/{world.meet}"
    assert "The set of 4 is the meet's now." in organiser.text
    assert journal_kinds(store) == ["set_accepted"]


def test_the_set_is_drawn_with_its_products_and_the_same_in_tables(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 4), ("spacing", 37), ("plans", "R"), ("look", "5658 5695 5732 5917"))
    drawing = organiser.page.find("svg", role="img")
    assert drawing is not None
    assert "4 carriers from 5658 to 5917 MHz" in drawing.get_text()
    assert "Band: 5600-5960 25 mW." in drawing.get_text()
    # 2 x 5695 - 5658 = 5732: a product right on a carrier.
    assert "5732 R3 – 5722 to 5742 0 MHz: 2 x 5695 - 5658 = 5732" in organiser.text
    sets = "&".join(f"set={each}" for each in ("5658+5695+5732+5917", "5658+5732+5806+5917"))
    organiser.open(f"/organiser/meets/{world.meet}/channels/compare?count=4&spacing=37&plans=R&{sets}")
    assert "One over the other" in organiser.text
    drawn = [svg.get_text(" ") for svg in organiser.page.find_all("svg", role="img")]
    assert all("5695" in text and "5806" in text for text in drawn[:1])
    captions = [caption.get_text() for caption in organiser.page.find_all("caption")]
    assert {"Set A: Carriers", "Set B: Carriers"} <= set(captions)


def test_an_alternative_is_one_link_away_and_so_is_the_way_back(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
    table = organiser.page.find("caption", string="Next best at this spacing").find_parent("table")  # type: ignore[union-attr]
    other = table.find_all("tr")[2].find("a")  # type: ignore[union-attr]
    organiser.open(f"/organiser/meets/{world.meet}/{str(other['href']).split('/')[-1]}")
    assert "An alternative" in organiser.text
    assert "Not the best set by these sums" in organiser.text
    assert "Proven best" not in organiser.text
    organiser.follow("Back to the best set")
    assert "Proven best" in organiser.text


def test_a_set_that_leaves_the_band_profile_says_so(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 2), ("spacing", 37), ("plans", "L"), ("band", "none"))
    assert "This set leaves the band profile 'Test band'" in organiser.text
    assert "The national text and the licence decide who may use that." in organiser.text


def test_the_band_warning_stays_when_the_set_is_refused_and_when_it_is_the_meet_s(
    organiser: Surfer, world: World, store: Store
) -> None:
    with store.write() as session:
        session.exec(select(t.BandSegment)).one().low_mhz = 5725
        session.commit()
    ask(organiser, world, ("count", 2), ("spacing", 37), ("mhz", "5658 5740"), ("band", "none"))
    title, who = "This set leaves the band profile 'Test band'", "can't use 5658 MHz: outside the band profile"
    assert title in organiser.text
    assert who in organiser.text
    organiser.press("Accept this set", spacing_floor_mhz="1")
    assert organiser.status == 422
    assert title in organiser.text
    assert who in organiser.text
    organiser.press("Accept this set", lower_floors_reason="two fields")
    assert organiser.path == f"/organiser/meets/{world.meet}"
    assert title in organiser.text
    assert who in organiser.text
    organiser.open(f"/organiser/meets/{world.meet}/tokens")
    assert title in organiser.text
    assert "Less than 10 MHz of clearance" not in organiser.text


def test_little_clearance_is_said_in_a_plain_line(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 3), ("spacing", 37), ("mhz", "5658 5700 5740"))
    assert "Less than 10 MHz of clearance: a transmitter's own tolerance can eat that." in organiser.text


def test_what_can_not_be_done_says_what_can(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 7), ("spacing", 40), ("plans", "R"))
    assert "7 channels 40 MHz apart can't be done in this pool of 8." in organiser.text
    assert "At 40 MHz, 4 is the most." in organiser.text
    assert "For 7, 37 MHz is the widest spacing." in organiser.text
    assert "With every channel plan of the club, 9 fit at 40 MHz." in organiser.text
    organiser.follow("Choose 4")
    assert "The best set" in organiser.text
    assert field_value(organiser, "count") == "4"


def test_too_small_a_pool_says_so(organiser: Surfer, world: World) -> None:
    ask(organiser, world, ("count", 3), ("spacing", 37), ("mhz", "5740 5800"))
    assert "The pool has only 2 frequencies, so no spacing helps" in organiser.text


def give_kit(store: Store, world: World, name: str, tuning: str, width: float = 20) -> None:
    """A pilot's transmitter makes this from now on."""
    with store.write() as session:
        kind = t.TransmitterKind(name=f"{name} makes {tuning}", tuning=tuning, width_mhz=width, power_steps_mw="25")
        session.add(kind)
        session.flush()
        session.get_one(t.PilotTransmitter, world.transmitters[name]).kind_id = kind.id
        session.commit()


class TestWhoIsServed:
    def test_the_set_goes_by_who_comes_unless_it_should_not(
        self, organiser: Surfer, world: World, store: Store
    ) -> None:
        give_kit(store, world, "Di", "R")
        ask(organiser, world, ("count", 1), ("spacing", 37), ("plans", "A"))
        # Of plan A only 5805 and 5845 lie within 2 MHz of one of R's: 5806 and 5843.
        assert "Everybody expected has a token in one of 6 heats" in organiser.text
        ask(organiser, world, ("count", 1), ("spacing", 37), ("plans", "A"), ("who", "anybody"))
        assert "Expected, but not served by this set: 1" in organiser.text
        assert "Di Di makes R it makes none of these within 2 MHz" in organiser.text
        assert "of those who come" not in organiser.text

    def test_who_is_left_out_is_named_with_the_ways_in(self, organiser: Surfer, world: World, store: Store) -> None:
        for name, tuning in (("Ana", "F4"), ("Bo", "F4"), ("Cy", "F4"), ("Di", "F5"), ("Ed", "F5"), ("Fay", "F5")):
            give_kit(store, world, name, tuning)
        # F4 and F5, 5800 and 5820 MHz, are 20 apart: two tokens 37 apart serve the three of one of them only.
        ask(organiser, world, ("count", 2), ("spacing", 37), *FIVE)
        for words in (
            "Who is served 3 of 6",
            "Expected, but not served by this set: 3",
            "Ana Ana makes F4 it makes none of these within 2 MHz",
            "Proven: no set of 2 at this spacing serves more of them.",
            "A spacing of 20 MHz in place of 37 lets in Ana, Bo, Cy: then 5800 5820.",
            # Tokens at 5790 (B4) and 5828 (B6) are 38 apart and within 10 of F4 and F5; nothing is nearer.
            "A pull of 10 MHz in place of 2 lets in Ana, Bo, Cy",
            "More tokens alone let not all of them in.",
            "Another transmitter, one that makes every frequency of the pool lets in Ana, Bo, Cy",
        ):
            assert words in organiser.text
        asked = organiser.response.url
        organiser.follow("A spacing of 20 MHz")
        assert "Everybody expected has a token in one of 3 heats" in organiser.text
        assert field_value(organiser, "spacing") == "20"
        organiser.open(str(asked))
        organiser.follow("Another transmitter")
        assert "Counted as if Ana, Bo, Cy had a transmitter that makes every frequency here." in organiser.text
        assert "Everybody expected has a token" in organiser.text
        organiser.follow("Count with their own")
        assert "Who is served 3 of 6" in organiser.text

    def test_a_set_with_a_larger_pull_brings_the_pull_along(
        self, organiser: Surfer, world: World, store: Store
    ) -> None:
        give_kit(store, world, "Di", "5670")
        ask(organiser, world, ("count", 1), ("spacing", 37), ("mhz", "5665"))
        assert "Di Di makes 5670 it makes none of these within 2 MHz" in organiser.text
        organiser.follow("A pull of 5 MHz in place of 2")
        assert "This set counts on a pull of 5 MHz. The meet's is 2 MHz" in organiser.text
        organiser.press("Accept this set")
        assert "The set of 1 is the meet's now." in organiser.text
        organiser.open(f"/organiser/meets/{world.meet}")
        assert "Pull 5 MHz" in organiser.text

    def test_a_refused_set_keeps_its_pull(self, organiser: Surfer, world: World) -> None:
        ask(organiser, world, ("count", 2), ("spacing", 37), ("mhz", "5665 5740"), ("pull", 4))
        organiser.press("Accept this set", spacing_floor_mhz="1")
        assert organiser.status == 422
        assert "This set counts on a pull of 4 MHz." in organiser.text
        organiser.press("Accept this set", lower_floors_reason="two fields")
        assert "The set of 2 is the meet's now." in organiser.text

    def test_wide_transmitters_get_tokens_with_room_for_them(
        self, organiser: Surfer, world: World, store: Store
    ) -> None:
        for name in ("Ed", "Fay"):
            give_kit(store, world, name, "5660 5735 5770 5839 5914", 40)
        ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
        assert "2 with 40 MHz, 4 with 20 MHz" in organiser.text
        assert "Centres and edges: the tokens differ in width" in organiser.text
        table = organiser.page.find("caption", string="Centres and edges of the tokens, in MHz").find_parent("table")  # type: ignore[union-attr]
        rows = [[cell.get_text() for cell in row.find_all("td")] for row in table.find_all("tr")[1:]]  # type: ignore[union-attr]
        # Six pilots in two heats: the two wide ones share one token.
        [(centre, edges)] = [(int(row[1]), row[3]) for row in rows if row[2] == "40"]
        assert edges == f"{centre - 20}–{centre + 20}"
        assert "Everybody expected has a token in one of 2 heats" in organiser.text


@pytest.mark.parametrize(
    ("pairs", "name", "value", "sentence"),
    [
        pytest.param([("count", "0")], "count", "0", "How many channels must be at least 1.", id="none"),
        pytest.param([("count", "17")], "count", "17", "How many channels must be at most 16.", id="too many"),
        pytest.param([("count", "")], "count", "", "How many channels must be a whole number.", id="empty"),
        pytest.param([("spacing", "wide")], "spacing", "wide", "The spacing must be a whole number.", id="a word"),
        pytest.param([("spacing", "9" * 400)], "spacing", "9" * 400, "The spacing", id="huge"),
        pytest.param([("mhz", "57 x")], "mhz", "57 x", "'57' is no frequency: write MHz such as 5740", id="no MHz"),
        pytest.param([("mhz", "9999")], "mhz", "9999", "9999 MHz is not near 5.8 GHz", id="far off"),
        pytest.param([("look", "5740 " * 61)], "count", "4", "60 frequencies at most", id="long list"),
        pytest.param([("mhz", "5000-5999")], "mhz", "5000-5999", "400 frequencies at most", id="long range"),
        pytest.param([("mhz", "5925-5650")], "count", "4", "5925-5650 runs backwards", id="backwards"),
        pytest.param([("mhz", "5650-5925/0")], "count", "4", "has no step", id="no step"),
        pytest.param([("pull", "21")], "pull", "21", "The pull must be at most 20.", id="large pull"),
        pytest.param([("any_kit", "Di")], "count", "4", "ho is counted with another transmitter", id="nobody"),
        pytest.param([("plans", "Q")], "count", "4", "There is no channel plan 'Q'", id="no such plan"),
        pytest.param([("source", "thin air")], "count", "4", "where to choose from", id="no such source"),
        pytest.param([("look", "1234")], "count", "4", "1234 MHz is not near 5.8 GHz", id="no such set"),
    ],
)
def test_a_question_that_needs_correcting_keeps_what_was_typed(
    organiser: Surfer, world: World, pairs: list[tuple[str, object]], name: str, value: str, sentence: str
) -> None:
    ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE, *pairs)
    assert organiser.status == 422
    assert sentence in organiser.text
    assert field_value(organiser, name) == value


class TestTheTradeOff:
    def test_it_stands_behind_a_link_with_a_curve_and_the_same_in_a_table(
        self, organiser: Surfer, world: World
    ) -> None:
        ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
        organiser.follow("What each spacing and each number of channels costs")
        assert "4 channels and the other numbers, at 37 MHz" in organiser.text
        rows = table_rows(organiser, "The sets that are the best somewhere, in MHz")
        assert [row[0] for row in rows if "asked for" in row[0]] == ["4 (asked for)"]
        assert {row[5] for row in rows} == {"proven"}
        assert {row[4] for row in rows} == {"0 of 6"}
        # Each square of the step is a link to the question that gets its set, as the table's own links are.
        linked = [str(a["href"]) for a in organiser.page.select("svg.drawing-wide a")]
        in_table = [str(a["href"]) for a in organiser.page.select("table a")]
        assert linked
        assert set(linked) <= set(in_table)
        organiser.open(in_table[-1])
        assert "The best set" in organiser.text

    def test_htmx_gets_the_fragment_alone(self, organiser: Surfer, world: World) -> None:
        path = f"/organiser/meets/{world.meet}/channels/trade-off?count=3&spacing=37&plans=R"
        answer = organiser.client.get(path, headers={"HX-Request": "true"})
        assert answer.text.lstrip().startswith('<div id="trade-off"')
        assert answer.headers["vary"].startswith("HX-Request")
        organiser.open(path)
        assert organiser.page.find(id="trade-off") is not None

    def test_without_a_question_it_says_what_is_missing(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"/organiser/meets/{world.meet}/channels/trade-off")
        assert organiser.status == 422
        assert "Fill in: how many channels." in organiser.text


class TestComparing:
    def test_ticked_sets_stand_beside_the_meet_s_own(self, organiser: Surfer, world: World) -> None:
        ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
        rows = table_rows(organiser, "Next best at this spacing")
        form, _button = organiser.form_with("Compare with the meet's set")
        pairs = [*organiser.fields(form), ("set", rows[1][0])]
        organiser.open(f"{form['action']}?{urlencode(pairs)}")
        for words in ("Set A, the meet's now", "Set C", "Against Set A:", "Served 6 of 6 6 of 6 6 of 6"):
            assert words in organiser.text
        organiser.follow("Look at it and accept it")
        organiser.press("Accept this set")
        assert "The set of 4 is the meet's now." in organiser.text

    def test_nothing_to_compare_is_said(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"/organiser/meets/{world.meet}/channels/compare?count=4&spacing=37&plans=R")
        assert organiser.status == 422
        assert "There is nothing to compare yet." in organiser.text


def table_rows(person: Surfer, caption: str) -> list[list[str]]:
    """The cells of a table, found by its caption."""
    found = person.page.find("caption", string=caption)
    assert found is not None, caption
    rows = found.find_parent("table").find_all("tr")[1:]  # type: ignore[union-attr]
    return [[" ".join(cell.get_text(" ").split()) for cell in row.find_all("td")] for row in rows]


class TestALongSearch:
    """Its job is put aside and run by the test, so that no machine is too slow or too fast for it."""

    @pytest.fixture
    def aside(self) -> list[Callable[[], None]]:
        return []

    @pytest.fixture
    def app(self, store: Store, clock: Clock, aside: list[Callable[[], None]]) -> Iterator[FastAPI]:
        jobs = SearchJobs(clock=lambda: 0, start=aside.append, rest=lambda: None)
        app = create_app(Settings(database_url=store.url, search_seconds=0), clock, jobs)
        yield app
        app.state.meetapp.store.close()

    def test_the_page_asks_again_until_it_is_over(
        self, organiser: Surfer, world: World, aside: list[Callable[[], None]]
    ) -> None:
        ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
        assert "The search goes on" in organiser.text
        # With JavaScript the answer asks for itself again, without it the page does.
        part = organiser.page.find(id="choice")
        assert part is not None
        assert part["hx-trigger"] == "every 2s"
        refresh = organiser.page.find("meta", {"http-equiv": "refresh"})
        assert refresh is not None
        again = str(part["hx-get"])
        aside.pop()()
        answer = organiser.client.get(again, headers={"HX-Request": "true"})
        assert answer.text.lstrip().startswith('<div id="choice">')
        assert "Proven best by these sums" in answer.text
        organiser.open(again)
        assert "The search goes on" not in organiser.text
        organiser.press("Accept this set")
        assert "The set of 4 is the meet's now." in organiser.text

    def test_another_server_process_searches_for_itself_and_finds_the_same(
        self, organiser: Surfer, world: World, store: Store, clock: Clock, aside: list[Callable[[], None]]
    ) -> None:
        ask(organiser, world, ("count", 4), ("spacing", 37), *FIVE)
        again = str(organiser.page.find(id="choice")["hx-get"])  # type: ignore[index]
        elsewhere = create_app(Settings(database_url=store.url, search_seconds=0), clock, search_to_the_end())
        same_person = Surfer(elsewhere)
        same_person.client.cookies.update(organiser.client.cookies)
        same_person.open(again)
        found = same_person.page.find(id="choice").get_text()  # type: ignore[union-attr]
        elsewhere.state.meetapp.store.close()
        assert "Proven best by these sums" in found
        aside.pop()()
        organiser.open(again)
        assert organiser.page.find(id="choice").get_text() == found  # type: ignore[union-attr]

    def test_a_third_search_waits_its_turn(self, organiser: Surfer, world: World) -> None:
        for spacing in (37, 40, 43):
            ask(organiser, world, ("count", 4), ("spacing", spacing), *FIVE)
        assert "Two other searches are on: this one waits its turn." in organiser.text

    def test_what_is_not_proven_says_so_with_the_bound(
        self, organiser: Surfer, world: World, aside: list[Callable[[], None]], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(searching, "SET_S", 0)  # over at the first look, with the first set in hand

        def first_ones(problem: ServingProblem) -> Iterator[ServingAnswer]:
            return islice(improving_serving_set(problem), 1, 3)

        monkeypatch.setattr(searching, "improving_serving_set", first_ones)
        ask(organiser, world, ("count", 7), ("spacing", 30), ("mhz", "5650-5925/1"), ("who", "anybody"))
        aside.pop()()
        ask(organiser, world, ("count", 7), ("spacing", 30), ("mhz", "5650-5925/1"), ("who", "anybody"))
        assert "The best set found so far; it is not proven." in organiser.text
        assert "Proven: no set has more than" in organiser.text
        assert "The time for the search is over" in organiser.text
        assert "Proven best" not in organiser.text
        organiser.press("Accept this set")
        assert "The set of 7 is the meet's now." in organiser.text


class TestAccepting:
    def sent(self, **changed: str) -> dict[str, str]:
        told = {"mhz": "5658 5740", "spacing": "37", "spacing_floor_mhz": "82", "clearance_floor_mhz": ""}
        return told | changed

    def test_lower_floors_come_back_with_everything_typed(self, organiser: Surfer, world: World, store: Store) -> None:
        path = f"/organiser/meets/{world.meet}/channels/accept"
        post(organiser, path, **self.sent(spacing_floor_mhz="40,5"))
        assert organiser.status == 422
        assert "These floors lie below what the set reaches in its worst case (82 MHz of spacing)." in organiser.text
        assert field_value(organiser, "spacing_floor_mhz") == "40,5"
        assert journal_kinds(store) == []
        organiser.press("Accept this set", lower_floors_reason="two fields")
        assert "The set of 2 is the meet's now." in organiser.text
        organiser.open(f"/organiser/meets/{world.meet}")
        assert "Lower floors are accepted for this meet two fields" in organiser.text

    @pytest.mark.parametrize(
        ("changed", "status", "sentence"),
        [
            pytest.param({"mhz": ""}, 422, "The set can't be read. Check it.", id="empty set"),
            pytest.param({"mhz": "5658 wide"}, 422, "'wide' is no frequency", id="no set"),
            pytest.param({"mhz": "9999"}, 409, "9999 MHz is not near", id="no such frequency"),
            pytest.param({"spacing_floor_mhz": ""}, 422, "The spacing floor must be a number.", id="no floor"),
            pytest.param({"spacing_floor_mhz": "inf"}, 422, "The spacing floor must be a number.", id="no number"),
            pytest.param({"clearance_floor_mhz": "1e9"}, 422, "clearance floor must be at most 300", id="too high"),
        ],
    )
    def test_what_can_not_be_accepted(
        self, organiser: Surfer, world: World, store: Store, changed: dict[str, str], status: int, sentence: str
    ) -> None:
        post(organiser, f"/organiser/meets/{world.meet}/channels/accept", **self.sent(**changed))
        assert organiser.status == status
        assert sentence in organiser.text
        assert journal_kinds(store) == []

    def test_only_the_organiser_accepts(
        self, marshal: Surfer, surfer: Callable[[], Surfer], world: World, store: Store
    ) -> None:
        path = f"/organiser/meets/{world.meet}/channels/accept"
        post(marshal, path, **self.sent())
        assert marshal.status == 403
        stranger = surfer()
        post(stranger, path, **self.sent())
        assert stranger.status == 401
        assert "Organiser: sign in" in stranger.text
        assert journal_kinds(store) == []

    @pytest.mark.parametrize(
        "path", ["/organiser/meets/999/channels", "/organiser/meets/999/channels?count=4&spacing=37"]
    )
    def test_a_meet_that_is_not_there(self, organiser: Surfer, path: str) -> None:
        organiser.open(path)
        assert organiser.status == 404
        post(organiser, "/organiser/meets/999/channels/accept", **self.sent())
        assert organiser.status == 404
