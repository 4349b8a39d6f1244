"""The front door: first visit, signing in, sessions that end, and what strangers get."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from sqlmodel import select

from meetapp.flows import access
from meetapp.flows.sessions import LIFETIMES
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.web.forms import read_form
from meetapp.web.security import own_path
from tests.surfer import Surfer
from tests.world import DESK_LINK, ORGANISER_PASSWORD, PIN, Clock, World

NewSurfer = Callable[[], Surfer]


def first_visit(store: Store, clock: Clock, surfer: NewSurfer) -> tuple[Surfer, str]:
    secret = access.new_first_visit_link(store, clock())
    assert secret is not None
    person = surfer()
    person.open(f"/first-visit/{secret}")
    return person, secret


def test_first_visit_names_the_club_and_signs_the_organiser_in(store: Store, clock: Clock, surfer: NewSurfer) -> None:
    person, secret = first_visit(store, clock, surfer)
    person.press("Name the club", name="Hill Flyers", password="long enough 1", password_again="long enough 1")
    assert person.path == "/organiser"
    assert "Hill Flyers" in person.text
    person.open(f"/first-visit/{secret}")
    assert person.status == 404
    assert "used up" in person.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"name": ""}, "Fill in: the club's name.", id="no name"),
        pytest.param({"password": "short", "password_again": "short"}, "at least 12 characters", id="short password"),
        pytest.param({"password_again": "something else"}, "The two passwords differ.", id="passwords differ"),
        pytest.param({"name": "x" * 81}, "80 characters at most", id="name too long"),
    ],
)
def test_a_first_visit_that_needs_correcting_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, store: Store, clock: Clock, surfer: NewSurfer
) -> None:
    person, _secret = first_visit(store, clock, surfer)
    fields = {"name": "Hill Flyers", "password": "long enough 1", "password_again": "long enough 1"} | typed
    person.press("Name the club", **fields, safety_words="Our own words.")
    assert person.status == 422
    assert sentence in person.text
    assert "Our own words." in person.text
    with store.read() as session:
        assert session.get(t.Club, 1) is None


def test_a_wrong_password_signs_nobody_in(world: World, surfer: NewSurfer) -> None:
    person = surfer()
    person.sign_in_organiser("wrong")
    assert person.status == 422
    assert "This password doesn't fit." in person.text
    person.open("/organiser")
    assert person.path == "/sign-in"


def test_the_organiser_goes_on_to_the_page_that_was_asked_for(world: World, surfer: NewSurfer) -> None:
    person = surfer()
    person.open("/organiser/pilots")
    person.press("Sign in", password=ORGANISER_PASSWORD)
    assert person.path == "/organiser/pilots"


def test_a_marshal_joins_by_pin_or_by_link(world: World, surfer: NewSurfer) -> None:
    by_pin = surfer()
    by_pin.join_desk(PIN, "Mo")
    assert by_pin.path == "/desk"
    by_link = surfer()
    by_link.open(f"/desk/join/{DESK_LINK}")
    by_link.press("Open the desk", name="Nel")
    assert by_link.path == "/desk"


@pytest.mark.parametrize(
    ("pin", "name", "sentence"),
    [
        pytest.param("000000", "Mo", "This PIN doesn't fit", id="wrong pin"),
        pytest.param("", "Mo", "Fill in: the PIN.", id="no pin"),
        pytest.param(PIN, "", "Fill in: your name.", id="no name"),
    ],
)
def test_a_marshal_without_pin_or_name_stays_outside(
    pin: str, name: str, sentence: str, world: World, surfer: NewSurfer
) -> None:
    person = surfer()
    person.join_desk(pin, name)
    assert person.status == 422
    assert sentence in person.text


def test_a_marshal_is_no_organiser(marshal: Surfer) -> None:
    marshal.open("/organiser")
    assert marshal.status == 403
    assert "This page is the organiser's." in marshal.text


def test_signing_out_ends_the_session_on_the_server(marshal: Surfer, store: Store) -> None:
    cookies = dict(marshal.client.cookies)
    marshal.open("/desk")
    marshal.press("Sign out")
    marshal.client.cookies.update(cookies)
    marshal.open("/desk")
    assert marshal.path == "/desk/join"


def test_a_session_that_rests_ends(marshal: Surfer, clock: Clock) -> None:
    clock.now += LIFETIMES["marshal"].idle
    marshal.open("/desk")
    assert marshal.path == "/desk/join"


def test_a_session_in_use_goes_on_until_its_longest_time(organiser: Surfer, clock: Clock) -> None:
    lasts = LIFETIMES["organiser"]
    end = clock.now + lasts.longest
    while clock.now < end:
        organiser.open("/organiser/club")
        assert organiser.path == "/organiser/club", clock.now
        clock.now += lasts.idle - timedelta(minutes=20)
    organiser.open("/organiser/club")
    assert organiser.path == "/sign-in"


def test_a_page_that_lies_open_does_not_keep_its_session(marshal: Surfer, clock: Clock) -> None:
    for _ in range(2):
        clock.now += LIFETIMES["marshal"].idle / 2
        marshal.client.get("/live/desk/now")
    marshal.open("/desk")
    assert marshal.path == "/desk/join"


def test_signing_in_again_ends_the_session_before(marshal: Surfer, surfer: NewSurfer) -> None:
    stolen = surfer()
    stolen.client.cookies.update(marshal.client.cookies)
    marshal.open(f"/desk/join/{DESK_LINK}")
    marshal.press("Open the desk", name="Mo")
    stolen.open("/desk")
    assert stolen.path == "/desk/join"


def test_the_organiser_signs_out_everywhere(organiser: Surfer, marshal: Surfer, surfer: NewSurfer) -> None:
    other = surfer()
    other.sign_in_organiser(ORGANISER_PASSWORD)
    other.open("/organiser/club")
    other.press("Sign out everywhere")
    assert "Every browser that was signed in as organiser is signed out." in other.text
    for person in (organiser, other):
        person.open("/organiser")
        assert person.path == "/sign-in"
    marshal.open("/desk")
    assert marshal.path == "/desk"


@pytest.mark.parametrize(
    ("ticked", "path"), [({}, "/desk"), ({"sign_out": "yes"}, "/desk/join")], ids=["kept", "ended"]
)
def test_a_new_pin_ends_the_marshals_sessions_when_that_is_asked_for(
    organiser: Surfer, marshal: Surfer, world: World, ticked: dict[str, str], path: str
) -> None:
    organiser.open(f"/organiser/meets/{world.meet}")
    organiser.press("Replace PIN and desk link", **ticked)
    marshal.open("/desk")
    assert marshal.path == path


def test_a_marshal_s_session_ends_with_the_meet(marshal: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        meet = session.get_one(t.Meet, world.meet)
        meet.state = "closed"
        session.add(meet)
        session.commit()
    marshal.open("/desk")
    assert marshal.path == "/desk/join"


def test_no_secret_is_stored_as_it_is(marshal: Surfer, store: Store) -> None:
    with store.read() as session:
        rows = session.exec(select(t.DeskSession)).all()
    cookies = set(marshal.client.cookies.values())
    assert rows
    assert not cookies & {row.secret_hash for row in rows}


def test_a_form_from_another_site_is_refused(marshal: Surfer) -> None:
    marshal.open("/desk")
    form, _button = marshal.form_with("Sign out")
    sent = dict(marshal.fields(form))
    answer = marshal.client.post("/sign-out/desk", data=sent, headers={"Origin": "http://evil.example"})
    assert answer.status_code == 403
    answer = marshal.client.post("/sign-out/desk", data=sent, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    marshal.open("/desk")
    assert marshal.path == "/desk"


def test_a_form_without_its_token_is_refused(marshal: Surfer) -> None:
    answer = marshal.client.post("/sign-out/desk", data={"operation_key": "12345678-1234", "csrf_token": "guess"})
    assert answer.status_code == 403
    assert "too old to be sent" in answer.text


def test_every_changing_route_reads_its_form_through_the_token_check(app: FastAPI) -> None:
    def reads_form(route: APIRoute) -> bool:
        return any(dependency.call is read_form for dependency in route.dependant.dependencies)

    routes = [route for route in _api_routes(app) if route.methods - {"GET", "HEAD"}]
    assert routes
    assert [route.path for route in routes if not reads_form(route)] == []


def _api_routes(app: FastAPI) -> list[APIRoute]:
    from meetapp.web.routes import all_routers

    return [route for router in all_routers() for route in router.routes if isinstance(route, APIRoute)]


def test_every_answer_carries_the_security_headers(world: World, surfer: NewSurfer) -> None:
    person = surfer()
    person.open("/sign-in")
    headers = person.response.headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    for cookie in person.response.headers.get_list("set-cookie"):
        assert "HttpOnly" in cookie
        assert "samesite=lax" in cookie.lower()


@pytest.mark.parametrize("wanted", ["//evil.example", "/\\evil.example", "http://evil.example", "", None, "/a\nb"])
def test_going_on_never_leaves_the_server(wanted: str | None) -> None:
    assert own_path(wanted, "/desk") == "/desk"
