"""A pilot's own page: what it shows, what its buttons do, and that nobody acts for another."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows.desk import pauses
from meetapp.flows.loans import line, loans
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.surfer import Surfer
from tests.web.own_phones import phone_of, post_as
from tests.world import NOON, Clock, World

NewSurfer = Callable[[], Surfer]


@pytest.fixture
def ana(surfer: NewSurfer, world: World) -> Surfer:
    """Ana's phone."""
    return phone_of("Ana", surfer, world)


def hand_out(store: Store, world: World, name: str, token: str) -> None:
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots[name], world.tokens[token]))


def test_the_page_says_what_to_set_in_the_largest_type(ana: Surfer, store: Store, world: World, clock: Clock) -> None:
    hand_out(store, world, "Ana", "R1")
    clock.forward(minutes=35)
    ana.open("/my")
    label = ana.page.find(class_="big-label")
    assert label is not None
    assert label.get_text() == "R1"
    assert "5658 MHz" in ana.text.replace("\xa0", " ")
    assert "Yours since 14:00, 34 min." in ana.text
    assert "Local rules and the licence may be lower." in ana.text


@pytest.mark.parametrize("state", ["holding", "next", "waiting", "free", "away", "closed"])
def test_no_power_before_you_hold_the_token_is_always_in_sight(
    state: str, ana: Surfer, store: Store, world: World
) -> None:
    if state == "holding":
        hand_out(store, world, "Ana", "R1")
    if state == "waiting":
        line.join_line(store, deed(), world.meet, world.pilots["Bo"])
    if state in ("next", "waiting"):
        line.join_line(store, deed(now=NOON), world.meet, world.pilots["Ana"])
    with store.write() as session:
        if state == "away":
            session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Ana"])).one().left_at = NOON
        if state == "closed":
            meet = session.exec(select(t.Meet)).one()
            meet.state, meet.closed_at = "closed", NOON
        session.commit()
    ana.open("/my")
    main = ana.page.find("main")
    assert main is not None
    assert "No power before you hold the token." in main.get_text()


def test_i_want_to_fly_stands_in_the_line_even_where_a_marshal_keeps_the_desk(
    ana: Surfer, store: Store, world: World
) -> None:
    ana.press("I want to fly")
    assert ana.path == "/my"
    assert "Ana stands in the line as number 1." in ana.text
    assert "is free for you: fetch it at the desk" in ana.text
    ana.press("Not ready: let one pass")
    ana.press("I am ready")
    ana.press("Leave the line")
    assert "Not in the line" in ana.text
    assert journal_kinds(store)[1:] == ["line_joined", "line_not_ready", "line_ready_again", "line_left"]


def test_a_button_pressed_twice_counts_once(ana: Surfer, store: Store) -> None:
    form, _button = ana.form_with("I want to fly")
    data = dict(ana.fields(form))
    for _ in range(2):
        assert ana.client.post("/my/line/join", data=data, follow_redirects=False).status_code == 303
    assert journal_kinds(store) == ["name_claimed", "line_joined"]


def test_a_refusal_is_told_on_the_own_page(ana: Surfer, store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    ana.press("I want to fly")
    assert ana.status == 409
    assert "Ana holds R1 since 14:00." in ana.text
    assert "You hold R1. Set" in ana.text


def test_waiting_shows_number_and_pause(ana: Surfer, store: Store, world: World) -> None:
    for name in ("Bo", "Cy"):
        line.join_line(store, deed(), world.meet, world.pilots[name])
    hand_out(store, world, "Di", "R1")
    pauses.pause(store, deed(), world.meet, "wind")
    ana.press("I want to fly")
    assert "Number 3" in ana.text
    assert "of 3 in the line" in ana.text
    assert "Out the longest R1 Di out 0 min" in ana.text
    assert "The meet is paused since 14:00: wind." in ana.text


def test_i_am_here_checks_in(ana: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Ana"])).one().left_at = NOON
        session.commit()
    ana.open("/my")
    assert "Not checked in" in ana.text
    ana.press("I am here")
    assert "You are checked in." in ana.text
    assert "Not in the line" in ana.text


def test_a_pilot_says_which_transmitter_they_brought(ana: Surfer, store: Store, world: World) -> None:
    ana.follow("Today's transmitter")
    ana.press("This is what I brought", kind_id=world.kinds["analogue R"], wake="R3")
    assert ana.path == "/my"
    assert "analogue R" in ana.text
    ana.follow("Today's transmitter")
    ana.press("This is what I brought", kind_id=world.kinds["analogue R"], wake="F4")
    assert ana.status == 422
    assert "can't wake on F4" in ana.text
    form, _button = ana.form_with("This is what I brought")
    assert dict(ana.fields(form))["wake"] == "F4"


def test_a_clash_is_reported_with_the_loan_it_was_about(ana: Surfer, store: Store, world: World, clock: Clock) -> None:
    hand_out(store, world, "Ana", "R1")
    clock.forward(minutes=10)
    ana.open("/my")
    ana.follow("My picture broke up")
    ana.press("Send the report", look="lines", minutes_ago="5", place="flight", lasted_s="2", note="by the gate")
    assert ana.path == "/my"
    assert "Noted: Ana, 14:05, lines or snow (on R1)." in ana.text
    with store.read() as session:
        report = session.exec(select(t.ClashReport)).one()
    assert (report.pilot_id, report.look, report.place, report.lasted_s, report.note) == (
        world.pilots["Ana"], "lines", "flight", 2, "by the gate"
    )
    assert report.loan_id is not None


def test_a_report_is_always_about_oneself(ana: Surfer, store: Store, world: World) -> None:
    ana.open("/my/report")
    ana.press("Send the report", look="gone", pilot_id=world.pilots["Bo"])
    with store.read() as session:
        assert session.exec(select(t.ClashReport)).one().pilot_id == world.pilots["Ana"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({}, "what it looked like", id="nothing chosen"),
        pytest.param({"look": "purple"}, "Choose one of the answers", id="no such look"),
        pytest.param({"look": "gone", "minutes_ago": "-1"}, "must be at least 0", id="minutes below zero"),
        pytest.param({"look": "gone", "at_clock": "25:99"}, "25:99", id="no time of day"),
        pytest.param({"look": "gone", "at_clock": "23:59"}, "still to come", id="in the future"),
        pytest.param({"look": "gone", "note": "x" * 2001}, "too long", id="a long note"),
    ],
)
def test_a_report_that_needs_another_look_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, ana: Surfer, store: Store
) -> None:
    ana.open("/my/report")
    fields = {"note": "by the gate"} | typed
    ana.press("Send the report", **fields)
    assert ana.status == 422
    assert sentence in ana.text
    form, _button = ana.form_with("Send the report")
    assert dict(ana.fields(form))["note"].strip() == fields["note"]
    assert "report_added" not in journal_kinds(store)


OWN_POSTS = [
    "/my/here",
    "/my/transmitter",
    "/my/line/join",
    "/my/line/leave",
    "/my/line/not-ready",
    "/my/line/ready",
    "/my/report",
    "/my/loans/1/bring-back",
    "/my/loans/1/take-over",
    "/my/offers/new",
    "/my/offers/1/withdraw",
    "/my/offers/1/refuse",
    "/my/turns/1/swap",
    "/my/turns/1/end",
    "/my/undo/1",
    "/t/T1/take",
]


def is_asked_to_claim(person: Surfer) -> bool:
    """Whether a refused form led to a page whose way on is the list of names."""
    return person.status == 401 and "/join" in [link["href"] for link in person.page.select("main a[href]")]


@pytest.mark.parametrize("path", OWN_POSTS)
def test_a_phone_of_nobody_is_sent_to_claim_a_name(path: str, surfer: NewSurfer, store: Store, world: World) -> None:
    stranger = surfer()
    stranger.open("/join/new")
    post_as(stranger, path)
    assert is_asked_to_claim(stranger)
    assert journal_kinds(store) == []


@pytest.mark.parametrize("path", OWN_POSTS)
def test_a_marshal_without_a_claimed_name_is_sent_to_claim_one(
    path: str, marshal: Surfer, store: Store, world: World
) -> None:
    marshal.open("/join/new")
    post_as(marshal, path)
    assert is_asked_to_claim(marshal)
    assert journal_kinds(store) == []


@pytest.mark.parametrize(
    "path", [path for path in OWN_POSTS if path not in ("/my/transmitter", "/my/report", "/my/offers/new")]
)
def test_what_changes_something_is_no_page(path: str, ana: Surfer, store: Store) -> None:
    before = journal_kinds(store)
    ana.open(path)
    assert ana.status in (404, 405)  # a word behind /my/ could be somebody's secret, and isn't
    assert journal_kinds(store) == before


@pytest.mark.parametrize("path", OWN_POSTS)
def test_another_sites_form_changes_nothing(path: str, ana: Surfer, store: Store) -> None:
    before = journal_kinds(store)
    answer = ana.client.post(path, headers={"origin": "http://elsewhere.example"}, data={"operation_key": "k" * 20})
    assert answer.status_code == 403
    assert journal_kinds(store) == before


def test_the_live_part_is_a_fragment_and_nothing_where_nothing_changed(
    ana: Surfer, store: Store, world: World
) -> None:
    part = ana.page.find(id="my-live")
    assert part is not None
    address = str(part["hx-get"])
    htmx = {"hx-request": "true"}
    assert ana.client.get(address, headers=htmx).status_code == 204
    hand_out(store, world, "Ana", "R1")
    changed = ana.client.get(address, headers=htmx)
    assert changed.status_code == 200
    assert "<html" not in changed.text
    assert 'id="my-live"' in changed.text
    assert "You hold R1" in changed.text


def test_without_javascript_the_page_comes_again_by_itself(ana: Surfer) -> None:
    noscript = ana.page.find("noscript")
    assert noscript is not None
    assert 'http-equiv="refresh"' in str(noscript)


def test_a_pilot_may_take_back_their_own_last_step(ana: Surfer, store: Store) -> None:
    ana.press("I want to fly")
    ana.press("Undo")
    assert ana.path == "/my"
    assert "Not in the line" in ana.text
    assert journal_kinds(store)[-1] == "undone"
