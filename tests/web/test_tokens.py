"""The organiser's pages of the club's tokens."""

import pytest

from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post
from tests.web.set_up import refuses, works_once
from tests.world import World

NEW = "/organiser/tokens/new"


def test_tags_are_taken_over_once(organiser: Surfer, store: Store) -> None:
    typed = {"lines": "K7 R3 5732\nK8 F2"}
    works_once(organiser, store, NEW, "Take them over", typed, "tokens_taken_over", "2 tokens are on the list now")
    assert "R3, code K7" in organiser.text


def test_new_tokens_are_made_once(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, NEW, "Make the tokens", {"channels": "R3 F2"}, "tokens_made", "2 tokens are new.")


@pytest.mark.parametrize(
    ("button", "typed", "sentence"),
    [
        ("Take them over", {"lines": ""}, "Type one token per line, such as K7 R3 5732."),
        ("Take them over", {"lines": "K7 R3 5732\nK8 Blue"}, "Line 2, 'K8 Blue': 'Blue' is no channel of the club's"),
        ("Take them over", {"lines": "K7 R3 57"}, "Line 1, 'K7 R3 57': 57 MHz is not near 5.8 GHz"),
        ("Take them over", {"lines": "T1 R3"}, "The code T1 reads like T1, which is R1's already."),
        ("Take them over", {"lines": "x" * 2001}, "The tokens is too long"),
        ("Make the tokens", {"channels": "Q1"}, "'Q1' is no plan, channel, frequency or range"),
        ("Make the tokens", {"channels": "R1"}, "There is a token for 5658 MHz already: R1, code T1."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_tokens_that_can_not_be_are_refused(
    organiser: Surfer, store: Store, button: str, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, NEW, button, typed, sentence)


def test_a_token_goes_missing_is_found_withdrawn_and_comes_back(organiser: Surfer, store: Store) -> None:
    path = "/organiser/tokens/1"
    works_once(organiser, store, path, "Mark it missing", {}, "token_missing", "R1 is missing.")
    works_once(organiser, store, path, "It is found", {}, "token_found", "R1 is found")
    works_once(organiser, store, path, "Withdraw it", {}, "token_withdrawn", "R1 is withdrawn.")
    works_once(organiser, store, path, "Put it back in use", {}, "token_in_use_again", "R1 is in use again.")
    assert organiser.path == path


def test_a_token_that_is_out_is_not_withdrawn_and_the_page_says_who_has_it(
    organiser: Surfer, world: World, store: Store
) -> None:
    post(organiser, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=str(world.tokens["R1"]))
    organiser.open("/organiser/tokens/1")
    assert "out with Ana since 2026-06-14 14:00" in organiser.text
    organiser.press("Withdraw it")
    assert organiser.status == 422
    assert "R1 is out with Ana since 14:00. Take it back first, or mark it missing." in organiser.text
    assert "token_withdrawn" not in journal_kinds(store)


def test_what_stands_on_a_tag_is_corrected(organiser: Surfer, store: Store) -> None:
    organiser.open(NEW)
    organiser.press("Take them over", lines="K7 R3 5740")
    assert "In the club's plans R3 is 5732 MHz: look at the tag again." not in organiser.text
    organiser.follow("R3, code K7")
    path = organiser.path
    button = "Save what stands on it"
    works_once(organiser, store, path, button, {"nominal_mhz": "5732"}, "token_corrected", "R3 is saved.")
    refuses(organiser, store, path, button, {"code": "T1"}, "The code T1 reads like T1, which is R1's already.")
    refuses(organiser, store, path, button, {"code": "K 7"}, "A code is up to 12 letters, digits and hyphens.")
    refuses(organiser, store, path, button, {"nominal_mhz": "many"}, "The frequency must be a whole number.")


def test_a_tag_of_a_meet_has_no_form_and_a_made_up_one_is_refused(organiser: Surfer) -> None:
    organiser.open("/organiser/tokens/1")
    assert "This can't be changed any more. It belongs to the meet 'June meet'" in organiser.text
    assert organiser.page.find(attrs={"name": "nominal_mhz"}) is None
    post(organiser, "/organiser/tokens/1", code="T1", label="R1", nominal_mhz="5660")
    assert organiser.status == 422
    assert "can't be changed any more" in organiser.text


def test_a_lost_token_gets_a_new_tag_and_the_old_code_says_withdrawn(
    organiser: Surfer, marshal: Surfer, store: Store
) -> None:
    organiser.open("/organiser/tokens/1")
    organiser.press("Mark it missing")
    notice = "the old code T1 is withdrawn. Print the new tag."
    works_once(organiser, store, "/organiser/tokens/1", "Make a new tag", {}, "token_replaced", notice)
    assert organiser.path == "/organiser/tokens/5"
    organiser.follow("Print its tag")
    assert "code T1" not in organiser.text
    marshal.open("/t/T1")
    assert "Withdrawn since 2026-06-14 14:00: it isn't in use any more." in marshal.text
    marshal.open("/desk/tokens/1")
    assert "withdrawn" in marshal.text
