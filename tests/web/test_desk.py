"""The desk: what it shows, who gets it, pausing, ground transmitters, the journal."""

from collections.abc import Callable

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from sqlmodel import Session, select

from meetapp.flows import access
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.web.routes import all_routers
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, post, press_twice
from tests.world import Clock, World

NewSurfer = Callable[[], Surfer]


def desk_routes(method: str) -> list[str]:
    """Every address of the desk that takes this method (the way in, /desk/join, is no part of it)."""
    return sorted(
        route.path
        for router in all_routers()
        for route in router.routes
        if isinstance(route, APIRoute)
        and method in route.methods
        and route.path.startswith("/desk")
        and not route.path.startswith("/desk/join")
    )


def with_ids(path: str) -> str:
    for name in ("pilot_id", "loan_id", "token_id"):
        path = path.replace(f"{{{name}}}", "1")
    return path


@pytest.mark.parametrize("path", [path for path in desk_routes("POST") if path not in desk_routes("GET")])
def test_a_deed_of_the_desk_is_never_done_by_a_link(path: str, marshal: Surfer, store: Store) -> None:
    before = journal_kinds(store)
    marshal.open(with_ids(path))
    assert marshal.status in (404, 405)
    assert journal_kinds(store) == before


@pytest.mark.parametrize("path", [path for path in desk_routes("GET") if "{" in path])
def test_a_page_about_nothing_is_not_there(path: str, marshal: Surfer) -> None:
    for number in ("4711", "0", "-1", "99999999999999999999", "x"):
        address = path
        for name in ("pilot_id", "loan_id", "token_id"):
            address = address.replace(f"{{{name}}}", number)
        marshal.open(address)
        assert marshal.status == 404, address


@pytest.mark.parametrize("path", [path for path in desk_routes("POST") if "{" in path])
def test_a_deed_on_nothing_is_not_there(path: str, marshal: Surfer, store: Store) -> None:
    before = journal_kinds(store)
    address = path
    for name in ("pilot_id", "loan_id", "token_id"):
        address = address.replace(f"{{{name}}}", "4711")
    post(marshal, address, token_id="1", to_pilot_id="2", partner_id="2")
    assert marshal.status == 404, marshal.text
    assert journal_kinds(store) == before


def desk_pages() -> list[str]:
    return [path for path in desk_routes("GET") if "{" not in path and not path.endswith(".pdf")]


@pytest.mark.parametrize("path", desk_pages())
def test_each_page_of_the_desk_is_one_whole_page(path: str, marshal: Surfer) -> None:
    marshal.open(path)
    assert marshal.status == 200
    assert len(marshal.page.find_all("html")) == 1
    assert len(marshal.page.find_all("h1")) == 1 or path == "/desk/live"


def test_the_desk_offers_the_next_pilot_a_token_in_one_tap(marshal: Surfer, world: World, clock: Clock) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    clock.forward(minutes=3)
    post(marshal, f"/desk/line/{world.pilots['Bo']}/join")
    marshal.open("/desk")
    assert "Ana has waited 3 min; then Bo." in marshal.text
    marshal.press("to Ana")
    assert marshal.path.startswith("/desk/loans/")
    assert "Set this on the transmitter" in marshal.text


def test_everybody_here_can_be_handed_a_token_in_two_taps(marshal: Surfer, world: World) -> None:
    marshal.open("/desk")
    marshal.follow("Hand out : to Di")
    marshal.press("to Di")
    assert marshal.path.startswith("/desk/loans/")


def test_the_desk_says_how_long_somebody_is_out_and_how_many_wait(marshal: Surfer, world: World, clock: Clock) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    for name in ("Bo", "Cy", "Di"):
        post(marshal, f"/desk/line/{world.pilots[name]}/join")
    clock.forward(minutes=34)
    marshal.open("/desk")
    assert "out 34 min" in marshal.text
    assert "3 waiting" in marshal.text


def test_the_live_part_is_sent_only_when_something_changed(marshal: Surfer, world: World, clock: Clock) -> None:
    marshal.open("/desk")
    part = marshal.page.find(id="desk")
    assert part is not None
    ask = {"HX-Request": "true"}
    assert marshal.client.get(str(part["hx-get"]), headers=ask).status_code == 204
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    answer = marshal.client.get(str(part["hx-get"]), headers=ask)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="desk"')
    assert "<html" not in answer.text
    assert answer.headers["vary"].startswith("HX-Request")
    marshal.open("/desk")
    part = marshal.page.find(id="desk")
    clock.forward(minutes=1)
    assert part is not None
    assert marshal.client.get(str(part["hx-get"]), headers=ask).status_code == 200


def test_without_an_open_meet_the_desk_says_what_to_do(organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.Meet, world.meet).state = "closed"
        session.commit()
    organiser.open("/desk")
    assert organiser.status == 200
    assert "No meet is open." in organiser.text
    organiser.open("/desk/count")
    assert organiser.status == 409
    assert "No meet is open now." in organiser.text


def test_a_marshal_of_another_meet_has_no_desk_here(
    world: World, store: Store, clock: Clock, surfer: NewSurfer
) -> None:
    with store.write() as session:
        meet = session.get_one(t.Meet, world.meet)
        other = t.Meet(name="July meet", on_date=meet.on_date, site_id=meet.site_id, fly_at_once=4, desk_link_hash="x")
        session.add(other)
        session.commit()
        other_id = other.id
    person = surfer()
    with store.write() as session:
        session.add(
            t.DeskSession(
                secret_hash=access.secret_hash("a secret"),
                role="marshal",
                name="Mel",
                meet_id=other_id,
                made_at=clock(),
                expires_at=clock.now.replace(year=2030),
            )
        )
        session.commit()
    person.client.cookies.set("meet_desk", "a secret")
    person.open("/desk")
    assert person.status == 403
    assert "your desk is for another one" in person.text


def test_lower_floors_stay_in_sight_with_their_reason(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.Meet, world.meet).lower_floors_reason = "only micro quads today"
        session.commit()
    marshal.open("/desk")
    assert "Lower floors at this meet: only micro quads today" in marshal.text


def test_a_pause_stands_on_the_desk_and_counts_no_waiting(
    marshal: Surfer, world: World, clock: Clock, store: Store
) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    clock.forward(minutes=5)
    marshal.open("/desk/pause")
    first, second = press_twice(marshal, "Pause for wind")
    assert first == second
    assert journal_kinds(store).count("paused") == 1
    clock.forward(minutes=12)
    marshal.open("/desk")
    assert "paused for 12 min: wind" in marshal.text
    marshal.press("Go on")
    assert "The meet goes on after 12 min." in marshal.text
    marshal.open("/desk")
    assert "Ana has waited 5 min" in marshal.text


def test_the_page_of_a_running_pause_offers_to_go_on(marshal: Surfer, world: World) -> None:
    post(marshal, "/desk/pause", reason="wind")
    marshal.open("/desk/pause")
    assert "Since 14:00: wind." in marshal.text
    assert "Pause for lunch" not in marshal.text
    marshal.press("Go on")
    assert "The meet goes on after 0 min." in marshal.text


def test_a_second_pause_is_refused_with_the_first_in_words(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/pause")
    form, _button = marshal.form_with("Pause for lunch")
    late = dict(marshal.fields(form))
    marshal.press("Pause for this reason", reason="a dog on the field")
    marshal._keep(marshal.client.post("/desk/pause", data=late))
    assert marshal.status == 422
    assert "The meet is paused since 14:00 already: a dog on the field." in marshal.text
    with store.read() as session:
        assert len(session.exec(select(t.Pause)).all()) == 1


@pytest.mark.parametrize(
    ("reason", "sentence"),
    [
        pytest.param("", "Fill in: the reason.", id="empty"),
        pytest.param("x" * 81, "The reason is too long: 80 characters at most.", id="too long"),
    ],
)
def test_a_pause_needs_a_reason(reason: str, sentence: str, marshal: Surfer, store: Store) -> None:
    marshal.open("/desk/pause")
    marshal.press("Pause for this reason", reason=reason)
    assert marshal.status == 422
    assert sentence in marshal.text
    with store.read() as session:
        assert session.exec(select(t.Pause)).all() == []


def test_going_on_without_a_pause_changes_nothing(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, "/desk/resume")
    assert "it isn't paused" in marshal.text
    assert "resumed" not in journal_kinds(store)


def ground_loans(session: Session) -> list[t.Loan]:
    return [loan for loan in session.exec(select(t.Loan)) if loan.pilot_id is None]


def test_a_ground_transmitter_counts_as_on_air(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/ground")
    press_twice(marshal, "Put it on air", holder_name="Gate camera", channel="R5")
    with store.read() as session:
        [loan] = ground_loans(session)
    marshal.open("/desk")
    assert "Gate camera" in marshal.text
    marshal.press("Off air : Gate camera")
    with store.read() as session:
        assert session.get_one(t.Loan, loan.id).in_at is not None


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"holder_name": ""}, "Fill in: what it is.", id="no name"),
        pytest.param({"channel": ""}, "Fill in: the channel.", id="no channel"),
        pytest.param({"channel": "R9"}, "there is R1 to R8", id="no such channel"),
        pytest.param({"channel": "A"}, "is not one channel", id="a whole plan"),
        pytest.param({"width_mhz": "0"}, "The width must be more than 0.", id="no width"),
        pytest.param({"width_mhz": "wide"}, "The width must be a number.", id="width in words"),
        pytest.param({"width_mhz": "nan"}, "The width must be a number.", id="width not a number"),
        pytest.param({"power_mw": "strong"}, "The power must be a number.", id="power in words"),
        pytest.param({"channel": "5740"}, "20 MHz from", id="below a floor without a reason"),
    ],
)
def test_a_ground_transmitter_that_needs_correcting_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["F1"])
    marshal.open("/desk/ground")
    fields = {"holder_name": "Gate camera", "channel": "5760", "width_mhz": "20", "power_mw": "25"} | typed
    if "20 MHz" in sentence:
        fields["channel"] = "5760"
    marshal.press("Put it on air", **fields)
    assert marshal.status == 422
    assert sentence in marshal.text
    for name, value in fields.items():
        assert field_value(marshal, name) == value
    with store.read() as session:
        assert ground_loans(session) == []


def test_the_journal_says_what_happened_and_undoes_the_last_own_deed(
    marshal: Surfer, world: World, clock: Clock, store: Store
) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    clock.forward(minutes=1)
    post(marshal, f"/desk/line/{world.pilots['Bo']}/join")
    marshal.open("/desk/journal")
    assert "Ana joined the line" in marshal.text
    assert "14:01" in marshal.text
    marshal.press("Undo")
    assert "Undone." in marshal.text
    marshal.open("/desk/journal")
    assert "undone" in marshal.text
    with store.read() as session:
        standing = [row for row in session.exec(select(t.LineEntry)) if row.voided_at is None]
    assert [row.pilot_id for row in standing] == [world.pilots["Ana"]]


def test_the_app_serves_every_address_of_the_desk(app: FastAPI, marshal: Surfer) -> None:
    assert "/desk/sheet.pdf" in desk_routes("GET")
    assert "/desk/tokens/{token_id}/missing" in desk_routes("POST")
