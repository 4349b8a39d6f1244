"""The organiser's pages of a meet: planned, changed, opened, closed; every form by the ladder."""

import re
from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, post, press_twice
from tests.world import NOON, Clock, World

POSTS = ["/new", "/{id}/edit", "/{id}/expected", "/{id}/tokens", "/{id}/pin", "/{id}/open", "/{id}/close"]
PAGES = ["", "/new", "/{id}", "/{id}/edit", "/{id}/expected", "/{id}/tokens", "/{id}/close"]
JULY = {"name": "July meet", "on_date": "2026-07-12"}


def address(path: str, meet_id: int) -> str:
    return "/organiser/meets" + path.replace("{id}", str(meet_id))


def plan_one(organiser: Surfer, **typed: str) -> int:
    """Plan a meet on its page; its id."""
    organiser.open("/organiser/meets/new")
    organiser.press("Plan the meet", **(JULY | typed))
    found = re.fullmatch(r"/organiser/meets/(\d+)", organiser.path)
    assert found, organiser.text
    return int(found[1])


def meet_row(store: Store, meet_id: int) -> t.Meet:
    with store.read() as session:
        return session.get_one(t.Meet, meet_id)


class TestEveryForm:
    @pytest.mark.parametrize("path", POSTS)
    def test_does_nothing_when_it_is_only_looked_at(
        self, organiser: Surfer, world: World, store: Store, path: str
    ) -> None:
        response = organiser.client.get(address(path, world.meet))
        assert response.status_code in (200, 405)
        assert journal_kinds(store) == []

    @pytest.mark.parametrize("path", POSTS)
    @pytest.mark.parametrize("role", ["marshal", "stranger"])
    def test_is_the_organisers_alone(
        self, marshal: Surfer, surfer: Callable[[], Surfer], world: World, store: Store, path: str, role: str
    ) -> None:
        person = marshal if role == "marshal" else surfer()
        post(person, address(path, world.meet), **JULY)
        assert person.status == (403 if role == "marshal" else 401)
        assert ("organiser's" in person.text) == (role == "marshal")
        assert ("Organiser: sign in" in person.text) == (role != "marshal")
        assert journal_kinds(store) == []

    @pytest.mark.parametrize("path", [path for path in POSTS if "{id}" in path])
    @pytest.mark.parametrize("meet_id", ["999", "0", "x", "99999999999999999999"])
    def test_of_a_meet_that_is_not_there_is_not_found(
        self, organiser: Surfer, store: Store, path: str, meet_id: str
    ) -> None:
        told = JULY | {"site_id": "1", "fly_at_once": "4", "pull_mhz": "2", "head_limit_min": "20"}
        post(organiser, "/organiser/meets" + path.replace("{id}", meet_id), **told)
        assert organiser.status == 404
        assert journal_kinds(store) == []


@pytest.mark.parametrize("path", PAGES)
def test_every_page_opens_for_the_organiser_and_nobody_else(
    organiser: Surfer, marshal: Surfer, surfer: Callable[[], Surfer], world: World, path: str
) -> None:
    organiser.open(address(path, world.meet))
    assert organiser.status == 200
    assert len(organiser.page.find_all("h1")) == 1
    marshal.open(address(path, world.meet))
    assert marshal.status == 403
    stranger = surfer()
    stranger.open(address(path, world.meet))
    assert stranger.path == "/sign-in"


class TestPlanning:
    def test_a_meet_is_planned_and_then_in_the_list(self, organiser: Surfer, store: Store, world: World) -> None:
        organiser.open("/organiser/meets")
        organiser.follow("Plan a meet")
        assert field_value(organiser, "on_date") == f"{NOON:%Y-%m-%d}"
        press_twice(organiser, "Plan the meet", **JULY, power_ceiling_mw="25,5", desk="self")
        assert "'July meet' is planned." in organiser.text
        assert journal_kinds(store) == ["meet_added"]
        organiser.open("/organiser/meets")
        assert "July meet planned 2026-07-12, Lower Meadow · 0 pilots, 0 tokens" in organiser.text
        with store.read() as session:
            meet = session.exec(select(t.Meet).where(t.Meet.name == "July meet")).one()
        assert (meet.power_ceiling_mw, meet.is_self_service, meet.fly_at_once) == (25.5, True, 6)

    @pytest.mark.parametrize(
        ("typed", "sentence"),
        [
            pytest.param({"name": ""}, "Fill in: the meet's name.", id="no name"),
            pytest.param({"name": "x" * 81}, "80 characters at most", id="name too long"),
            pytest.param({"on_date": "soon"}, "The day must be a date such as 2026-06-14.", id="no date"),
            pytest.param({"on_date": "0001-01-01"}, "The day must be at least 2000-01-01.", id="long ago"),
            pytest.param({"site_id": "99"}, "This site isn't there.", id="no such site"),
            pytest.param({"fly_at_once": "0"}, "How many fly at once must be at least 1.", id="nobody flies"),
            pytest.param({"fly_at_once": "six"}, "How many fly at once must be a whole number.", id="a word"),
            pytest.param({"pull_mhz": "6"}, "The pull must be at most 5.", id="pull too far"),
            pytest.param({"head_limit_min": "-1"}, "at the head of the line must be at least 1.", id="negative limit"),
            pytest.param({"power_ceiling_mw": "nan"}, "The power ceiling must be a number.", id="no number"),
            pytest.param({"power_ceiling_mw": "0"}, "The power ceiling must be more than 0", id="no power"),
            pytest.param({"signals": "three"}, "Choose one of the answers for: what to compare first.", id="signals"),
            pytest.param({"desk": "nobody"}, "Choose one of the answers for: how the desk is kept.", id="desk"),
        ],
    )
    def test_what_needs_correcting_is_said_and_everything_typed_stays(
        self, organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
    ) -> None:
        fields = JULY | {"power_ceiling_mw": "24", "pull_mhz": "3"} | typed
        organiser.open("/organiser/meets/new")
        organiser.press("Plan the meet", **fields)
        assert organiser.status == 422
        assert sentence in organiser.text
        for name, value in fields.items():
            if name not in ("signals", "desk", "site_id"):
                assert field_value(organiser, name) == value
        assert journal_kinds(store) == []

    def test_details_are_changed(self, organiser: Surfer, store: Store) -> None:
        meet_id = plan_one(organiser)
        organiser.follow("Change the details")
        press_twice(organiser, "Save the details", name="Late July", pull_mhz="1")
        assert "'Late July' is saved." in organiser.text
        assert meet_row(store, meet_id).pull_mhz == 1
        assert journal_kinds(store) == ["meet_added", "meet_changed"]

    def test_lower_floors_stay_in_sight_with_their_reason(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"/organiser/meets/{world.meet}/edit")
        assert "The set reaches 80 MHz of spacing and 2 MHz of clearance in its worst case." in organiser.text
        organiser.press("Save the details", spacing_floor_mhz="60", clearance_floor_mhz="1")
        assert organiser.status == 422
        assert "Write down why" in organiser.text
        assert field_value(organiser, "spacing_floor_mhz") == "60"
        organiser.press("Save the details", lower_floors_reason="two fields, a hill between")
        assert "Lower floors are accepted for this meet two fields, a hill between" in organiser.text

    def test_without_a_site_the_way_to_one_is_shown(self, organiser: Surfer, store: Store, world: World) -> None:
        with store.write() as session:
            session.get_one(t.Site, world.site).retired_at = NOON
            session.commit()
        organiser.open("/organiser/meets/new")
        assert "There is no site yet." in organiser.text


class TestExpected:
    def test_who_is_expected_is_ticked(self, organiser: Surfer, store: Store, world: World) -> None:
        meet_id = plan_one(organiser)
        organiser.follow("Who is expected")
        ana, di = world.pilots["Ana"], world.pilots["Di"]
        press_twice(organiser, "Save who is expected", expected=[ana, di])
        assert "2 pilots are expected at 'July meet'." in organiser.text
        organiser.open(address("/{id}/expected", meet_id))
        ticked = {str(box["value"]) for box in organiser.page.find_all("input", {"name": "expected", "checked": True})}
        assert ticked == {str(ana), str(di)}
        organiser.press("Expect everybody")
        assert "6 pilots are expected" in organiser.text

    @pytest.mark.parametrize("sent", ["0", "abc", "9" * 30])
    def test_a_pilot_that_can_not_be_keeps_the_ticks(
        self, organiser: Surfer, world: World, store: Store, sent: str
    ) -> None:
        plan_one(organiser)
        organiser.follow("Who is expected")
        organiser.press("Save who is expected", expected=[world.pilots["Bo"], sent])
        assert organiser.status == 422
        box = organiser.page.find("input", {"name": "expected", "value": str(world.pilots["Bo"])})
        assert box is not None
        assert box.has_attr("checked")
        assert "expected_set" not in journal_kinds(store)

    def test_a_transmitter_that_can_not_be_is_refused(self, organiser: Surfer, world: World) -> None:
        plan_one(organiser)
        organiser.follow("Who is expected")
        ana = world.pilots["Ana"]
        organiser.press("Save who is expected", expected=[ana], **{f"transmitter-{ana}": world.transmitters["Bo"]})
        assert "That transmitter isn't one of Ana's." in organiser.text
        organiser.press("Save who is expected", expected=[ana], **{f"transmitter-{ana}": "x"})
        assert "Choose one of this pilot's transmitters." in organiser.text


class TestTokens:
    def test_tokens_are_ticked_by_hand(self, organiser: Surfer, store: Store, world: World) -> None:
        meet_id = plan_one(organiser)
        organiser.follow("Tick tokens by hand")
        press_twice(organiser, "Save the tokens", tokens=[world.tokens["R1"], world.tokens["R8"]])
        assert "2 tokens belong to 'July meet'." in organiser.text
        # Nobody is expected yet, so each of the two counts anywhere within the pull of 2 MHz.
        assert meet_row(store, meet_id).spacing_floor_mhz == 5917 - 5658 - 4

    def test_a_token_that_is_out_stays(self, organiser: Surfer, marshal: Surfer, world: World) -> None:
        post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
        organiser.open(address("/{id}/tokens", world.meet))
        organiser.press("Save the tokens", tokens=[world.tokens["R8"]])
        assert organiser.status == 422
        assert "R1 is out with Ana since 14:00, so it can't leave the set now." in organiser.text


class TestOpeningAndClosing:
    def test_the_way_from_a_plan_to_an_open_meet(
        self, organiser: Surfer, surfer: Callable[[], Surfer], store: Store, world: World
    ) -> None:
        organiser.open(address("/{id}/close", world.meet))
        organiser.press("Close the meet")
        meet_id = plan_one(organiser)
        for words in ("choose its channels first", "floors aren't set", "no PIN yet"):
            assert words in organiser.text
        organiser.follow("Tick tokens by hand")
        organiser.press("Save the tokens", tokens=list(world.tokens.values()))
        organiser.press("Make PIN and desk link")
        assert organiser.status == 200
        pin = re.search(r"\b(\d{6})\b", organiser.text)
        link = re.search(r"http://testserver(/desk/join/\S+)", organiser.text)
        assert pin
        assert link
        assert len(organiser.page.find_all("img")) == 2
        assert all(str(image["src"]).startswith("data:image/svg+xml") for image in organiser.page.find_all("img"))
        organiser.follow("Done")
        press_twice(organiser, "Open the meet")
        assert "'July meet' is open. The desk can hand out." in organiser.text
        assert meet_row(store, meet_id).state == "open"
        marshal = surfer()
        marshal.join_desk(pin[1], "Lu")
        assert marshal.path == "/desk"
        other = surfer()
        other.open(link[1])
        assert "July meet" in other.text

    def test_a_pin_is_shown_once_and_the_same_when_the_form_is_sent_again(
        self, organiser: Surfer, world: World, store: Store
    ) -> None:
        organiser.open(address("/{id}", world.meet))
        form, _button = organiser.form_with("Replace PIN and desk link")
        data = dict(organiser.fields(form))
        answers = [organiser.client.post(str(form["action"]), data=data).text for _ in range(2)]
        pins = [re.findall(r"\b\d{6}\b", answer) for answer in answers]
        assert pins[0][0] == pins[1][0]
        assert journal_kinds(store) == ["desk_pin_made"]
        organiser.open(address("/{id}", world.meet))
        assert pins[0][0] not in organiser.text

    def test_a_meet_that_is_not_ready_stays_planned_and_says_why(self, organiser: Surfer, store: Store) -> None:
        meet_id = plan_one(organiser)
        post(organiser, address("/{id}/open", meet_id))
        assert organiser.status == 422
        assert "'July meet' can't be opened yet." in organiser.text
        assert "'June meet' is open: one meet at a time, so close it first." in organiser.text
        assert meet_row(store, meet_id).state == "planned"

    def test_closing_asks_about_every_token_that_is_out(
        self, organiser: Surfer, marshal: Surfer, world: World, store: Store, clock: Clock
    ) -> None:
        for name, label in (("Ana", "R1"), ("Bo", "R8")):
            post(marshal, f"/desk/pilots/{world.pilots[name]}/hand-out", token_id=world.tokens[label])
        clock.forward(minutes=5)
        organiser.open(address("/{id}", world.meet))
        organiser.follow("Close the meet")
        assert "R1 with Ana since 14:00" in organiser.text
        organiser.press("Close the meet", **{"loan-1": "back"})
        assert organiser.status == 422
        assert "R8 is out with Bo since 14:00: is it back or missing?" in organiser.text
        assert field_value(organiser, "loan-1") == "back"
        press_twice(organiser, "Close the meet", **{"loan-2": "missing"})
        assert organiser.path == address("/{id}/review", world.meet)
        assert "'June meet' is closed." in organiser.text
        assert meet_row(store, world.meet).state == "closed"
        assert journal_kinds(store)[-3:] == ["taken_back", "token_missing", "meet_closed"]
        marshal.open("/desk")
        assert marshal.path == "/desk/join"

    def test_a_closed_meet_offers_nothing_to_change(self, organiser: Surfer, world: World) -> None:
        organiser.open(address("/{id}/close", world.meet))
        organiser.press("Close the meet")
        for path in ("", "/expected", "/tokens", "/close", "/channels"):
            organiser.open(address("/{id}" + path, world.meet))
            assert organiser.status == 200
            forms = [form for form in organiser.page.find_all("form") if form.get("action") != "/sign-out/desk"]
            assert forms == [], path
        organiser.open(address("/{id}", world.meet))
        assert "from 2026-06-14 14:00 to 2026-06-14 14:00" in organiser.text
