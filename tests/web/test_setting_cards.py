"""The organiser's page for a setting card, and the drawing where a channel has to be set."""

from collections.abc import Callable

import pytest
from bs4 import Tag

from meetapp.flows.club.setting_cards import CardDraft, save_card
from meetapp.flows.loans import loans
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, post
from tests.web.own_phones import phone_of
from tests.web.set_up import all_rows, refuses, works_once
from tests.world import World

PAGE = "/organiser/kinds/2/setting"
"""The kind with the eight channels of plan R."""
SWITCHES = {"levers": "3", "on_end": "down", "told-R1": "0 0 1", "told-R8": "1 1 1"}


def drawing_named(page: Tag, title: str) -> Tag:
    """The drawing with this title, as a screen reader finds it."""
    for svg in page.find_all("svg", {"role": "img"}):
        name = page.find(id=svg.get("aria-labelledby"))
        if name is not None and name.get_text() == title:
            return svg
    raise AssertionError(f"no drawing named {title!r}")


def test_a_switch_bank_is_saved_once_and_drawn(organiser: Surfer, store: Store) -> None:
    organiser.open("/organiser/kinds/2")
    organiser.follow("Make a setting card")
    organiser.follow("Switches")
    path = f"{PAGE}?way=switches"
    notice = "The setting card of 'analogue R' is saved."
    works_once(organiser, store, path, "Save the card", SWITCHES, "setting_card_saved", notice)
    assert {name: field_value(organiser, name) for name in SWITCHES} == SWITCHES
    drawing_named(organiser.page, "Switches for R1")
    assert "Switch 3 on, switches 1 and 2 off. With switch 1 on the left, ON is down." in organiser.text
    assert "6 of 8 channels have no setting yet" in organiser.text


def test_the_channels_are_filled_in_by_rule_then_corrected_by_hand(organiser: Surfer, store: Store) -> None:
    organiser.open(f"{PAGE}?way=switches")
    rows = all_rows(store)
    organiser.press("Fill the channels in", ones="last", inverted="yes", on_end="down", **{"told-R1": "mine"})
    assert organiser.status == 200
    assert [field_value(organiser, f"told-R{number}") for number in (1, 2, 8)] == ["1 1 1", "1 1 0", "0 0 0"]
    assert (field_value(organiser, "on_end"), field_value(organiser, "ones")) == ("down", "last")
    drawing_named(organiser.page, "Switches for R8")
    assert all_rows(store) == rows
    organiser.press("Save the card", **{"told-R2": "1 1 1"})
    assert "Set alike, so one of them must be wrong: R1 and R2." in organiser.text
    assert field_value(organiser, "told-R2") == "1 1 1"


def test_a_button_is_looked_at_before_it_is_saved(organiser: Surfer, store: Store) -> None:
    organiser.open(f"{PAGE}?way=button")
    rows = all_rows(store)
    typed = {"lamps": "red blue", "channel_step": "a short press", "told-R3": "- 2 x3 0"}
    organiser.press("Look at it first", **typed)
    assert organiser.status == 200
    assert {name: field_value(organiser, name) for name in typed} == typed
    words = "Channel: press 2 times (a short press). Then the lamps: red blinks 3 times, blue dark."
    assert words in organiser.text
    assert drawing_named(organiser.page, "Button for R3").find("desc").get_text() == words
    assert all_rows(store) == rows
    organiser.press("Save the card")
    assert words in organiser.text
    assert journal_kinds(store) == ["setting_card_saved"]


def test_a_menu_needs_no_list(organiser: Surfer, store: Store) -> None:
    works_once(
        organiser,
        store,
        f"{PAGE}?way=menu",
        "Save the card",
        {"menu_asks": "channel"},
        "setting_card_saved",
        "is saved",
    )
    assert "In the menu: plan R, channel 8." in organiser.text


@pytest.mark.parametrize("button", ["Save the card", "Look at it first"])
@pytest.mark.parametrize(
    ("way", "typed", "sentence"),
    [
        ("switches", {"told-R2": "1 0"}, "R2: one place for each switch makes 3."),
        ("switches", {"told-R2": "1 0 up"}, "R2: 'up' is no place of a switch: write 1 or on, 0 or off."),
        ("switches", {"levers": "11"}, "The number of switches must be at most 10."),
        ("switches", {"levers": "few"}, "The number of switches must be a whole number."),
        ("button", {"told-R8": "1 100"}, "R8: '100' is no number of presses: write 0 to 99."),
        ("button", {"lamps": "red", "told-R8": "1 1 on"}, "'on' is no sign for a lamp"),
        ("button", {"channel_step": "x" * 121}, "How a press for the channel is made is too long"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_what_can_not_be_is_said_beside_its_field(
    organiser: Surfer, store: Store, way: str, typed: dict[str, str], sentence: str, button: str
) -> None:
    refuses(organiser, store, f"{PAGE}?way={way}", button, typed, sentence)
    [wrong] = organiser.page.find_all(attrs={"aria-invalid": "true"})
    assert wrong["name"] in typed


def test_a_rule_that_can_not_count_so_far_is_refused(organiser: Surfer, store: Store) -> None:
    typed = {"levers": "2", "told-R1": "0 0"}
    refuses(organiser, store, f"{PAGE}?way=switches", "Fill the channels in", typed, "can't count 8 channels")


@pytest.mark.parametrize(
    "wrong", [{"way": "smoke"}, {"way": "menu", "menu_asks": "smoke"}, {"way": "menu", "do": "go"}]
)
def test_an_answer_that_was_not_offered_is_refused(organiser: Surfer, store: Store, wrong: dict[str, str]) -> None:
    post(organiser, PAGE, **wrong)
    assert organiser.status == 422
    assert journal_kinds(store) == []


def test_hundreds_of_frequencies_are_not_listed(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/3/setting?way=switches")
    assert "276 frequencies; a card lists 64 at most" in organiser.text
    assert organiser.page.find(attrs={"name": "told-5650"}) is None


def test_a_card_is_taken_away_and_the_words_stay(organiser: Surfer, store: Store) -> None:
    organiser.open(f"{PAGE}?way=menu")
    organiser.press("Save the card")
    button = "Take the setting card away"
    works_once(organiser, store, f"{PAGE}?way=words", button, {}, "setting_card_dropped", "no setting card any more")


def test_only_the_organiser_tells_how_channels_are_set(marshal: Surfer, store: Store) -> None:
    post(marshal, PAGE, way="menu", do="save")
    assert journal_kinds(store) == []


def test_a_kind_that_is_not_there_is_no_page(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/99/setting")
    assert organiser.status == 404
    post(organiser, "/organiser/kinds/99/setting", way="menu", do="look")
    assert organiser.status == 404


def test_an_example_brings_its_card_into_the_form(organiser: Surfer) -> None:
    organiser.open("/organiser/kinds/new")
    options = organiser.page.find("select", {"name": "template"})
    assert options is not None
    place = next(option["value"] for option in options.find_all("option") if "3 switches" in option.get_text())
    organiser.press("Fill in the form", template=place)
    assert "comes along: compare it with the manual" in organiser.text
    organiser.press("Save the kind", name="Ours")
    organiser.follow("See or change its setting card")
    assert field_value(organiser, "told-F2") == "1 0 0"


def test_the_drawing_stands_right_under_the_channel(
    marshal: Surfer, surfer: Callable[[], Surfer], store: Store, world: World
) -> None:
    draft = CardDraft("switches", told={"R1": "1 0 1"})
    save_card(store, deed(), world.kinds["analogue 40"], draft)
    loan = loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Ana"], world.tokens["R1"])).made_id
    words = "Switches 1 and 3 on, switch 2 off. With switch 1 on the left, ON is up."
    ana = phone_of("Ana", surfer, world)
    for person, path in ((ana, "/my"), (marshal, f"/desk/loans/{loan}")):
        person.open(path)
        big = person.page.find(class_="big")
        assert big is not None
        below = big.find_next_sibling()
        assert below is not None
        assert drawing_named(below, "Switches for R1").find("desc").get_text() == words
        assert below.find("p").get_text() == words


def test_without_a_card_the_hint_stands_alone(surfer: Callable[[], Surfer], store: Store, world: World) -> None:
    with store.write() as session:
        kind = session.get_one(t.TransmitterKind, world.kinds["analogue 40"])
        kind.setting_hint = "Hold the button."
        session.add(kind)
        session.commit()
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Ana"], world.tokens["R1"]))
    ana = phone_of("Ana", surfer, world)
    ana.open("/my")
    assert "Hold the button." in ana.text
    assert ana.page.find("div", class_="setting") is None


def test_the_card_is_printed_in_both_sizes(organiser: Surfer, world: World) -> None:
    organiser.open(f"{PAGE}?way=menu")
    organiser.press("Save the card")
    for size in ("id1", "quarter"):
        organiser.open(PAGE)
        organiser.press("Make the card", size=size, meet=str(world.meet))
        assert organiser.response.headers["content-type"] == "application/pdf"
        assert organiser.response.content.startswith(b"%PDF")


def test_a_card_that_is_not_told_is_not_printed(organiser: Surfer) -> None:
    organiser.open(f"{PAGE}/card.pdf")
    assert organiser.status == 422
    assert "'analogue R' has no setting card yet. Tell first how its channels are set." in organiser.text
