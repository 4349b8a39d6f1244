"""Alarms: one tap, on every page, over in one tap, in the journal."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows import access
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.web.security import PILOT_COOKIE
from tests.acting import run_by_pilots
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import Clock, World

NewSurfer = Callable[[], Surfer]


def pilot(surfer: NewSurfer, store: Store, world: World, clock: Clock) -> Surfer:
    person = surfer()
    secret = access.sign_in_pilot(store, world.pilots["Ana"], "Ana", clock()).secret
    person.client.cookies.set(PILOT_COOKIE, secret)
    return person


def running(store: Store) -> list[str]:
    with store.read() as session:
        return [row.kind for row in session.exec(select(t.Alarm)) if row.ended_at is None]


@pytest.mark.parametrize(
    ("button", "kind", "words"),
    [
        pytest.param("Stray transmitter now", "stray", "Stray transmitter since 14:00", id="stray transmitter"),
        pytest.param("Everybody down", "down", "Everybody down since 14:00", id="everybody down"),
    ],
)
def test_an_alarm_takes_one_tap_and_stands_on_every_page(
    button: str, kind: str, words: str, marshal: Surfer, world: World, store: Store, surfer: NewSurfer
) -> None:
    marshal.open("/desk/check-in")
    press_twice(marshal, button)
    assert running(store) == [kind]
    assert journal_kinds(store).count("alarm_raised") == 1
    bystander = surfer()
    for path in ("/", "/board", "/join", "/sign-in"):
        bystander.open(path)
        assert words in bystander.text, path
    for path in ("/desk", "/desk/count", "/desk/paper", "/desk/journal"):
        marshal.open(path)
        assert words in marshal.text, path


def test_an_alarm_that_runs_already_is_not_raised_again(marshal: Surfer, store: Store, clock: Clock) -> None:
    post(marshal, "/alarms/down")
    clock.forward(minutes=1)
    post(marshal, "/alarms/down")
    assert marshal.status == 200
    assert running(store) == ["down"]
    assert journal_kinds(store).count("alarm_raised") == 1


def test_both_alarms_can_run_at_once(marshal: Surfer, store: Store) -> None:
    post(marshal, "/alarms/down")
    post(marshal, "/alarms/stray")
    assert sorted(running(store)) == ["down", "stray"]


def test_over_takes_one_tap_and_says_how_long_it_was(marshal: Surfer, store: Store, clock: Clock) -> None:
    post(marshal, "/alarms/stray")
    clock.forward(minutes=4)
    marshal.open("/desk")
    press_twice(marshal, "It is over")
    assert running(store) == []
    marshal.open("/desk/journal")
    assert "Over after 4 min: Stray transmitter" in marshal.text
    assert journal_kinds(store).count("alarm_over") == 1


def test_over_twice_by_two_people_changes_nothing_the_second_time(
    marshal: Surfer, organiser: Surfer, store: Store
) -> None:
    post(marshal, "/alarms/stray")
    post(marshal, "/alarms/1/over")
    post(organiser, "/alarms/1/over")
    assert organiser.status == 200
    assert journal_kinds(store).count("alarm_over") == 1


def test_an_alarm_that_never_was_is_not_there(marshal: Surfer) -> None:
    post(marshal, "/alarms/4711/over")
    assert marshal.status == 404


@pytest.mark.parametrize("path", ["/alarms/stray", "/alarms/down", "/alarms/1/over"])
def test_an_alarm_is_never_changed_by_a_link(path: str, marshal: Surfer, store: Store) -> None:
    marshal.open(path)
    assert marshal.status == 405
    assert running(store) == []


@pytest.mark.parametrize("path", ["/alarms/stray", "/alarms/down"])
def test_a_bystander_raises_no_alarm(path: str, world: World, surfer: NewSurfer, store: Store) -> None:
    person = surfer()
    person.open("/board")
    assert "Everybody down" not in person.text
    post(person, path)
    assert person.status == 403
    assert running(store) == []


def test_a_pilot_raises_alarms_only_where_the_meet_runs_by_self_service(
    world: World, store: Store, clock: Clock, surfer: NewSurfer
) -> None:
    person = pilot(surfer, store, world, clock)
    post(person, "/alarms/down")
    assert person.status == 403
    assert "the desk raises alarms" in person.text
    with store.write() as session:
        session.get_one(t.Meet, world.meet).is_self_service = True
        session.commit()
    post(person, "/alarms/down")
    assert person.path == "/my"
    assert running(store) == ["down"]
    post(person, "/alarms/1/over")
    assert running(store) == []


def test_without_an_open_meet_there_is_nobody_to_warn(organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.Meet, world.meet).state = "closed"
        session.commit()
    post(organiser, "/alarms/down")
    assert organiser.status == 409
    assert "No meet is open" in organiser.text


def test_a_page_that_asks_again_gets_the_strip_only_when_it_changed(marshal: Surfer) -> None:
    marshal.open("/desk")
    strip = marshal.page.find(id="alarms")
    assert strip is not None
    address = str(strip["hx-get"])
    ask = {"HX-Request": "true"}
    assert marshal.client.get(address, headers=ask).status_code == 204
    post(marshal, "/alarms/stray")
    answer = marshal.client.get(address, headers=ask)
    assert answer.status_code == 200
    assert "Stray transmitter" in answer.text
    assert answer.text.lstrip().startswith('<div id="alarms"')


def test_whatever_says_what_to_set_says_no_power_while_an_alarm_runs(
    marshal: Surfer, world: World, store: Store, clock: Clock, surfer: NewSurfer
) -> None:
    run_by_pilots(store)
    person = pilot(surfer, store, world, clock)
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    loan = marshal.path
    shown = [(marshal, loan), (marshal, f"/desk/pilots/{world.pilots['Bo']}"), (marshal, "/desk"), (marshal, "/t/T2")]
    shown += [(marshal, f"{loan}/hand-over"), (person, "/my"), (person, "/t/T1")]
    for alarm, words in (("stray", '"Stray transmitter" is'), ("down", '"Everybody down" and "Stray transmitter" are')):
        post(marshal, f"/alarms/{alarm}")
        for who, path in shown:
            who.open(path)
            assert f"No power until {words} over." in who.text, path
    post(marshal, "/alarms/1/over")
    post(marshal, "/alarms/2/over")
    for who, path in shown:
        who.open(path)
        assert "No power until" not in who.text, path


def test_the_line_beside_what_to_set_comes_and_goes_with_the_strip(marshal: Surfer) -> None:
    marshal.open("/desk/pilots/1")
    line = marshal.page.find(id="no-power")
    assert line is not None
    assert line.contents == []
    address, ask = str(line["hx-get"]), {"HX-Request": "true"}
    assert marshal.client.get(address, headers=ask).status_code == 204
    post(marshal, "/alarms/stray")
    answer = marshal.client.get(address, headers=ask)
    assert "No power until" in answer.text
    assert answer.text.lstrip().startswith('<p id="no-power"')
