"""Claiming a name on one's own phone, adding oneself, and the desk's new link."""

import re
from collections.abc import Callable
from urllib.parse import urlsplit

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import journal_kinds
from tests.surfer import Surfer
from tests.world import NOON, World, add_pilot

NewSurfer = Callable[[], Surfer]


@pytest.fixture
def phone(world: World, surfer: NewSurfer) -> Surfer:
    """A phone that belongs to nobody yet."""
    return surfer()


def sent_twice(person: Surfer, button: str, **typed: str) -> tuple[str, str]:
    """Send the same form twice without following; gives both places it led to."""
    form, _button = person.form_with(button)
    data = dict(person.fields(form)) | typed
    answers = [person.client.post(str(form["action"]), data=data, follow_redirects=False) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    return answers[0].headers["location"], answers[1].headers["location"]


def test_a_pilot_scans_claims_their_name_and_has_their_own_page(phone: Surfer, store: Store, world: World) -> None:
    phone.open("/join")
    assert "Which one is you?" in phone.text
    phone.follow("This is me : Ana")
    phone.press("Yes, I am Ana")
    assert re.fullmatch(r"/my/[\w-]{22}", phone.path)
    assert "Welcome, Ana." in phone.text
    assert "keep its address" in phone.text
    assert journal_kinds(store) == ["name_claimed"]
    phone.open("/my")
    assert (phone.status, phone.path) == (200, "/my")


def test_the_address_opens_the_page_on_another_phone_too(phone: Surfer, surfer: NewSurfer, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    address = phone.path
    other = surfer()
    other.open(address)
    assert "Ana" in other.text
    other.open("/my")
    assert other.path == "/my"


def test_opening_the_address_again_keeps_the_same_session(phone: Surfer, store: Store, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    phone.open(phone.path)
    with store.read() as session:
        assert len(session.exec(select(t.DeskSession)).all()) == 1


def test_a_claim_sent_twice_leads_to_the_same_address(phone: Surfer, store: Store, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    first, second = sent_twice(phone, "Yes, I am Ana")
    assert first == second
    assert journal_kinds(store) == ["name_claimed"]


def test_a_second_claim_is_told_to_go_to_the_desk(phone: Surfer, surfer: NewSurfer, world: World) -> None:
    late = surfer()
    late.open(f"/join/{world.pilots['Ana']}")
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    late.press("Yes, I am Ana")
    assert late.status == 409
    assert "The name Ana is taken" in late.text
    assert "Go to the desk" in late.text
    late.open("/my")
    assert late.path == "/join"


def test_a_name_is_found_by_typing(phone: Surfer, world: World) -> None:
    phone.open("/join")
    phone.press("Find", search="fa")
    assert phone.path == "/join"
    assert "Fay" in phone.text
    assert "Ana" not in phone.text
    phone.press("Find", search="zebra")
    assert "Nobody here is called that." in phone.text


def test_a_taken_name_is_found_and_sent_to_the_desk(phone: Surfer, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    phone.open("/join?search=ana")
    assert "This name is taken" in phone.text
    assert "New link" not in phone.text


def test_a_bound_phone_is_shown_the_way_to_its_page(phone: Surfer, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    phone.open("/join")
    phone.follow("Go to the page of Ana")
    assert phone.path == "/my"


def test_a_newcomer_adds_themself_with_a_transmitter(phone: Surfer, store: Store, world: World) -> None:
    phone.open("/join")
    phone.follow("Add myself")
    phone.press("Add me", name="Gus", kind_id=world.kinds["analogue R"], wake="R3")
    assert phone.path.startswith("/my/")
    assert "Welcome, Gus." in phone.text
    with store.read() as session:
        own = session.exec(
            select(t.PilotTransmitter).join(t.Pilot).where(t.Pilot.name == "Gus")  # type: ignore[arg-type]
        ).one()
        assert own.wake_mhz == 5732


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"name": ""}, "Fill in: your name.", id="no name"),
        pytest.param({"name": "x" * 81}, "80 characters at most", id="name too long"),
        pytest.param({"name": "Ana"}, "Ana is on the list already.", id="on the list"),
        pytest.param({"board_name": "y" * 25}, "24 characters at most", id="board name too long"),
        pytest.param({"wake": "R9"}, "'R9' is no plan, channel", id="no such channel"),
        pytest.param({"wake": "F4"}, "can't wake on F4", id="not of this kind"),
        pytest.param({"kind_id": "999"}, "isn't there any more", id="no such kind"),
        pytest.param({"kind_id": "x"}, "must be a whole number", id="kind is no number"),
        pytest.param({"kind_id": "9" * 30}, "must be at most", id="kind is a huge number"),
    ],
)
def test_a_newcomers_form_that_needs_another_look_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, phone: Surfer, store: Store, world: World
) -> None:
    phone.open("/join/new")
    fields = {"name": "Gus", "board_name": "Gustl", "kind_id": str(world.kinds["analogue R"]), "wake": "R3"} | typed
    phone.press("Add me", **fields)
    assert phone.status == 422
    assert sentence in phone.text
    form, _button = phone.form_with("Add me")
    again = dict(phone.fields(form))
    assert {name: again[name] for name in ("name", "board_name", "wake")} == {
        name: fields[name] for name in ("name", "board_name", "wake")
    }
    assert journal_kinds(store) == []


def test_a_claim_that_needs_another_look_keeps_what_was_typed(phone: Surfer, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana", kind_id=world.kinds["analogue R"], wake="F4")
    assert phone.status == 422
    assert "can't wake on F4" in phone.text
    form, _button = phone.form_with("Yes, I am Ana")
    assert dict(phone.fields(form))["wake"] == "F4"


def test_a_claim_may_be_made_before_coming_to_the_field(phone: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        gus = add_pilot(session, world, "Gus")
        session.commit()
    phone.open(f"/join/{gus}")
    form, _button = phone.form_with("Yes, I am Gus")
    data = dict(phone.fields(form))
    del data["is_here"]
    phone._keep(phone.client.post(f"/join/{gus}", data=data))
    assert "Not checked in" in phone.text


@pytest.mark.parametrize(
    "path", ["/join/999", "/join/0", "/join/x", f"/join/{10**30}", "/my/no-such-secret-is-known-1"]
)
def test_what_is_not_there_is_said_to_be_not_there(path: str, phone: Surfer) -> None:
    phone.open(path)
    assert phone.status == 404


def test_without_a_meet_names_wait(phone: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        meet = session.exec(select(t.Meet)).one()
        meet.state, meet.closed_at = "closed", NOON
        session.commit()
    phone.open("/join")
    assert "No meet is open now." in phone.text
    phone.open("/join/new")
    phone.press("Add me", name="Gus")
    assert phone.status == 422
    assert "No meet is open now." in phone.text
    assert "Gus" in str(phone.page)


def test_a_form_without_its_token_claims_nothing(phone: Surfer, store: Store, world: World) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    answer = phone.client.post(f"/join/{world.pilots['Ana']}", data={"operation_key": "k" * 20, "csrf_token": "no"})
    assert answer.status_code == 403
    assert journal_kinds(store) == []


def test_the_desk_gives_out_a_new_link_and_the_old_phone_is_let_go(
    phone: Surfer, marshal: Surfer, surfer: NewSurfer, world: World
) -> None:
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    old = phone.path
    marshal.open("/join?search=Ana")
    marshal.follow("New link")
    marshal.press("Make a new link")
    assert marshal.status == 200
    code = marshal.page.find("img")
    assert code is not None
    assert str(code["src"]).startswith("data:image/svg+xml")
    address = next(text for text in marshal.page.stripped_strings if "/my/" in text)
    phone.open("/my")
    assert phone.path == "/join"
    phone.open(old)
    assert phone.status == 404
    assert "Ask the desk for a new one." in phone.text
    fresh = surfer()
    fresh.open(urlsplit(address).path)
    assert "Ana" in fresh.text
    fresh.open("/my")
    assert fresh.path == "/my"


def test_a_new_link_names_the_field_address(marshal: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.Club, 1).field_address = "http://meadow.lan:8022/"
        session.commit()
    marshal.open(f"/desk/pilots/{world.pilots['Ana']}/new-link")
    marshal.press("Make a new link")
    assert "http://meadow.lan:8022/my/" in marshal.text


def test_a_new_link_sent_twice_is_the_same_link(marshal: Surfer, store: Store, world: World) -> None:
    marshal.open(f"/desk/pilots/{world.pilots['Ana']}/new-link")
    form, _button = marshal.form_with("Make a new link")
    data = dict(marshal.fields(form))
    pages = [marshal.client.post(str(form["action"]), data=data).text for _ in range(2)]
    links = [re.findall(r"/my/[\w-]{22}", page) for page in pages]
    assert links[0] == links[1] != []
    assert journal_kinds(store) == ["link_renewed"]


def test_only_the_desk_makes_new_links(phone: Surfer, marshal: Surfer, store: Store, world: World) -> None:
    path = f"/desk/pilots/{world.pilots['Ana']}/new-link"
    phone.open(path)
    assert phone.path == "/desk/join"
    phone.open(f"/join/{world.pilots['Ana']}")
    form, _button = phone.form_with("Yes, I am Ana")
    phone._keep(phone.client.post(path, data=dict(phone.fields(form))))
    assert phone.status == 401
    assert phone.form_with("Open the desk")
    assert journal_kinds(store) == []
    marshal.open("/desk/pilots/999/new-link")
    assert marshal.status == 404


def test_the_organiser_gives_out_a_link_before_any_meet_and_goes_back_to_the_pilot(
    organiser: Surfer, store: Store, world: World
) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().state = "planned"
        session.commit()
    ana = world.pilots["Ana"]
    organiser.open(f"/desk/pilots/{ana}/new-link")
    organiser.press("Make a new link")
    assert "/my/" in organiser.text
    organiser.follow("Done")
    assert (organiser.status, organiser.path) == (200, f"/organiser/pilots/{ana}")


def test_who_is_checked_in_is_not_called_expected(phone: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        row = session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Bo"])).one()
        row.checked_in_at = None
        session.commit()
    for name, words in (("Ana", "checked in already"), ("Bo", "expected today")):
        phone.open(f"/join?search={name}")
        assert f"{name} {words}" in phone.text
