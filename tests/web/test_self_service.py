"""A day of self-service on two phones: take by scanning, pass on confirmed by both, bring back."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows.loans import loans, sharing
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds, run_by_pilots
from tests.surfer import Surfer
from tests.web.own_phones import phone_of, post_as
from tests.world import World

NewSurfer = Callable[[], Surfer]


@pytest.fixture
def ana(surfer: NewSurfer, store: Store, world: World) -> Surfer:
    """Ana's phone at a meet that the pilots keep themselves."""
    run_by_pilots(store)
    return phone_of("Ana", surfer, world)


@pytest.fixture
def bo(surfer: NewSurfer, ana: Surfer, world: World) -> Surfer:
    """Bo's phone at the same meet."""
    return phone_of("Bo", surfer, world)


def scan_and_take(phone: Surfer, code: str, label: str) -> None:
    phone.open(f"/t/{code}")
    phone.press(f"I take {label}")
    assert f"You hold {label}. Set" in phone.text


def test_a_token_goes_round_by_scanning_and_passing_on(ana: Surfer, bo: Surfer, store: Store) -> None:
    scan_and_take(ana, "t1", "R1")
    ana.follow("Pass it on")
    ana.press("Offer it : Bo")
    assert "Offered to Bo." in ana.text
    bo.open("/my")
    assert "Ana offers you R1" in bo.text
    bo.press("I have the tag: take it over")
    assert "You hold R1. Set" in bo.text
    ana.open("/my")
    assert "Not in the line" in ana.text
    bo.press("R1 hangs on the board again")
    assert "R1 is back from Bo." in bo.text
    kinds = ["handed_out", "pass_offered", "handed_over", "taken_back"]
    assert [kind for kind in journal_kinds(store) if kind != "name_claimed"] == kinds


def test_no_thanks_leaves_the_token_where_it_is(ana: Surfer, bo: Surfer) -> None:
    scan_and_take(ana, "T1", "R1")
    ana.follow("Pass it on")
    ana.press("Offer it : Bo")
    bo.open("/my")
    bo.press("No, thanks")
    assert "You said no to R1: it stays with Ana." in bo.text
    ana.open("/my")
    assert "Offered to Bo." not in ana.text
    assert "Pass it on" in ana.text


def test_an_offer_is_taken_back(ana: Surfer, bo: Surfer) -> None:
    scan_and_take(ana, "T1", "R1")
    ana.follow("Pass it on")
    ana.press("Offer it : Bo")
    bo.open("/my")
    ana.press("Take the offer back")
    assert "R1 is no longer offered to Bo." in ana.text
    bo.press("I have the tag: take it over")
    assert bo.status in (403, 409)
    assert "You hold R1" not in bo.text


def test_two_phones_after_the_same_token(ana: Surfer, bo: Surfer) -> None:
    bo.open("/t/T1")
    scan_and_take(ana, "T1", "R1")
    bo.press("I take R1")
    assert bo.status == 409
    assert "R1 is out with Ana since 14:00." in bo.text
    bo.open("/t/T1")
    assert "Only Ana brings it back or passes it on" in bo.text


def test_taking_sent_twice_counts_once(ana: Surfer, store: Store) -> None:
    ana.open("/t/T1")
    form, _button = ana.form_with("I take R1")
    data = dict(ana.fields(form))
    for _ in range(2):
        answer = ana.client.post(str(form["action"]), data=data, follow_redirects=False)
        assert answer.status_code == 303
    assert journal_kinds(store).count("handed_out") == 1


def test_the_holder_brings_back_from_the_tags_own_page(ana: Surfer) -> None:
    scan_and_take(ana, "T1", "R1")
    ana.open("/t/T1")
    assert "This is yours: set" in ana.text
    ana.press("R1 hangs on the board again")
    assert ana.path == "/my"
    assert "R1 is back from Ana." in ana.text


def test_nobody_brings_back_or_answers_for_another(ana: Surfer, bo: Surfer, store: Store, world: World) -> None:
    scan_and_take(ana, "T1", "R1")
    with store.read() as session:
        loan_id = session.exec(select(t.Loan)).one().id
    assert post_as(bo, f"/my/loans/{loan_id}/bring-back") == 409
    assert post_as(bo, f"/my/loans/{loan_id}/take-over") == 409
    ana.open("/my")
    assert "You hold R1" in ana.text


@pytest.mark.parametrize(
    "path", ["/my/loans/99/bring-back", "/my/loans/99/take-over", "/my/offers/99/withdraw", "/my/offers/99/refuse"]
)
def test_what_is_not_there_is_told_on_the_own_page(path: str, ana: Surfer) -> None:
    assert post_as(ana, path) == 409
    assert "Ana" in ana.text


@pytest.mark.parametrize(
    ("to", "sentence"),
    [
        pytest.param("", "To whom it goes must be", id="nobody"),
        pytest.param("999", "isn't at the meet", id="not there"),
        pytest.param("x", "To whom it goes must be", id="no number"),
    ],
)
def test_an_offer_to_nobody_is_refused(to: str, sentence: str, ana: Surfer, store: Store) -> None:
    scan_and_take(ana, "T1", "R1")
    assert post_as(ana, "/my/offers/new", to_pilot_id=to) == 422
    assert sentence in ana.text
    assert "pass_offered" not in journal_kinds(store)


def test_pilots_raise_alarms_where_they_keep_the_tokens(ana: Surfer, bo: Surfer) -> None:
    ana.open("/my")
    ana.press("Everybody down")
    assert ana.path == "/my"
    bo.open("/my")
    assert "Come down now by the club's rule" in bo.text


def test_two_use_a_token_by_turns_on_their_own_phones(ana: Surfer, bo: Surfer, store: Store, world: World) -> None:
    scan_and_take(ana, "T1", "R1")
    with store.read() as session:
        loan_id = session.exec(select(t.Loan)).one().id
    sharing.share(store, deed(), world.meet, loan_id, world.pilots["Bo"])
    bo.open("/my")
    assert "Ana's turn" in bo.text
    ana.open("/my")
    ana.press("Bo has the tag: their turn")
    assert "Bo's turn" in ana.text
    bo.open("/my")
    assert "You hold R1. Set" in bo.text
    ana.press("No more turns")
    assert "Not in the line" in ana.text
    bo.open("/my")
    assert "You hold R1. Set" in bo.text
    assert "by turns" not in bo.text


def test_who_holds_another_token_does_not_take_over(ana: Surfer, bo: Surfer, store: Store) -> None:
    scan_and_take(ana, "T1", "R1")
    ana.follow("Pass it on")
    ana.press("Offer it : Bo")
    scan_and_take(bo, "T4", "R8")
    assert "You hold R8: bring that one back first." in bo.text
    assert "take it over" not in bo.text


def test_a_phone_of_the_desk_and_of_a_pilot_takes_back_the_pilots_own_step(
    ana: Surfer, marshal: Surfer, world: World
) -> None:
    ana.client.cookies.update(marshal.client.cookies)
    ana.open("/my")
    ana.press("I want to fly")
    ana.press("Undo")
    assert ana.path == "/my"
    assert "Not in the line" in ana.text


def test_at_a_meet_kept_by_the_desk_there_are_no_such_buttons(
    surfer: NewSurfer, store: Store, world: World
) -> None:
    ana = phone_of("Ana", surfer, world)
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Ana"], world.tokens["R1"]))
    ana.open("/my")
    for words in ("hangs on the board again", "Pass it on", "Everybody down"):
        assert words not in ana.text
    assert "bring R1 to the desk" in ana.text
    assert post_as(ana, "/t/T2/take") == 409
    assert "the desk hands out the tokens" in ana.text
    ana.open("/my/offers/new")
    assert ana.status == 409
