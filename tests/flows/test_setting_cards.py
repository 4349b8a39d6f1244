"""How a kind's channels are set: told once, filled in by rule, corrected by hand, shown to whoever holds a token."""

from dataclasses import replace

import pytest

from meetapp.flows.club import kinds, plans, setting_cards
from meetapp.flows.club.kind_drafts import KindDraft
from meetapp.flows.club.plans import PlanDraft
from meetapp.flows.club.setting_cards import CardDraft, Rule, card_view, filled, preview, save_card
from meetapp.flows.deeds import Actor
from meetapp.flows.desk.loan_page import loan_page
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.pilot.own_view import my_view
from meetapp.flows.printing.setting_card import card_to_print
from meetapp.rules.counting import Counting
from meetapp.rules.setting_cards import MenuEntry, ToDo
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.desk import Desk
from tests.world import NOON, World, add_pilot

ORGANISER = Actor("organiser", "Organiser", session_id=1)
SWITCHES = CardDraft("switches", told={"R1": "0 0 0", "R2": "1 0 0", "R3": "off, on, off"})
DRAFT = KindDraft("Ours", carson_modulating_mhz=6, carson_deviation_mhz=4, power_steps="25")
BY_RULE = Rule(Counting())


def save(store: Store, kind_id: int, draft: CardDraft) -> str:
    return save_card(store, deed(ORGANISER), kind_id, draft).notice


def test_a_card_is_saved_and_read_back_as_it_was_told(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue R"]
    assert save(store, kind_id, replace(SWITCHES, on_is_up=False)) == "The setting card of 'analogue R' is saved."
    view = card_view(store, kind_id)
    assert (view.way, view.saved_way, view.draft.levers, view.draft.on_is_up) == ("switches", "switches", 3, False)
    assert [(channel.key, channel.told) for channel in view.channels][:4] == [
        ("R1", "0 0 0"),
        ("R2", "1 0 0"),
        ("R3", "0 1 0"),
        ("R4", ""),
    ]
    assert (view.untold, view.count) == (5, 8)
    assert journal_kinds(store) == ["setting_card_saved"]


def test_a_saved_button_comes_back_with_its_lamps_and_steps(store: Store, world: World) -> None:
    told = {"R1": "- 0 1 b", "R2": "0, 1, x3 0"}
    draft = CardDraft("button", lamps=" red  blue ", plan_step="hold\n 2 s", channel_step="short", told=told)
    save(store, world.kinds["analogue R"], draft)
    back = card_view(store, world.kinds["analogue R"]).draft
    assert (back.lamps, back.plan_step, back.channel_step) == ("red blue", "hold 2 s", "short")
    assert back.told == {"R1": "- 0 1 b", "R2": "0 1 x3 0"}


def test_counting_fills_the_channels_in_and_nothing_is_saved(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue R"]
    draft = filled(store, kind_id, replace(SWITCHES, told={}), BY_RULE)
    assert list(draft.told.values()) == ["0 0 0", "1 0 0", "0 1 0", "1 1 0", "0 0 1", "1 0 1", "0 1 1", "1 1 1"]
    view = preview(store, kind_id, draft)
    assert view.untold == 0
    assert view.saved_way == "words"
    assert card_view(store, kind_id).untold == 8
    assert journal_kinds(store) == []


def test_too_few_switches_are_said_so(store: Store, world: World) -> None:
    with pytest.raises(Refused, match="can't count 40 channels") as refused:
        filled(store, world.kinds["analogue 40"], SWITCHES, BY_RULE)
    assert refused.value.field == "start"


@pytest.mark.parametrize(
    ("lamps", "rule", "told"),
    [
        ("", "", {"A1": "0 0", "A8": "0 7", "R8": "4 7"}),
        ("1 2 3 4 5 6 7 8", "one", {"A1": "0 0 1 0 0 0 0 0 0 0", "R8": "4 7 0 0 0 0 0 0 0 1"}),
        ("a b c d e f", "binary", {"A1": "0 0 0 0 0 0 0 0", "A2": "0 1 1 0 0 0 0 0", "R8": "4 7 1 1 1 0 0 1"}),
    ],
    ids=["no lamps", "one of a row", "binary"],
)
def test_presses_and_lamps_count_too(store: Store, world: World, lamps: str, rule: str, told: dict[str, str]) -> None:
    draft = filled(store, world.kinds["analogue 40"], CardDraft("button", lamps=lamps), Rule(Counting(), rule))
    assert {key: draft.told[key] for key in told} == told
    assert len(draft.told) == 40


def test_frequencies_without_a_letter_count_behind_the_plans(store: Store, world: World) -> None:
    made = kinds.add_kind(
        store,
        deed(ORGANISER),
        replace(DRAFT, name="Odd", tuning="A1 5740 5650-5660/5"),
    ).made_id
    assert made is not None
    draft = filled(store, made, CardDraft("button"), Rule(Counting(start=1)))
    assert draft.told == {"A1": "1 1", "5740": "2 1", "5650": "2 2", "5655": "2 3", "5660": "2 4"}


@pytest.mark.parametrize(
    ("draft", "field", "words"),
    [
        (replace(SWITCHES, told={"R2": "1 0"}), "told-R2", "R2: one place for each switch makes 3"),
        (replace(SWITCHES, told={"R2": "1 0 up"}), "told-R2", "R2: 'up' is no place of a switch"),
        (replace(SWITCHES, levers=11, told={}), "levers", "1 to 10 switches"),
        (CardDraft("button", told={"R1": "1"}), "told-R1", "R1 needs two numbers of presses"),
        (CardDraft("button", lamps="red", told={"R1": "1 1 red"}), "told-R1", "'red' is no sign for a lamp"),
        (CardDraft("button", lamps="red", told={"R1": "1 1 1 1"}), "told-R1", "R1: one sign for each lamp makes 1"),
        (CardDraft("button", lamps="l " * 17), "lamps", "17 lamps are too many"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_card_that_can_not_be_is_refused_beside_what_is_wrong(
    store: Store, world: World, draft: CardDraft, field: str, words: str
) -> None:
    for action in (save, preview):
        with pytest.raises(Refused, match=words) as refused:
            action(store, world.kinds["analogue R"], draft)
        assert refused.value.field == field
    assert journal_kinds(store) == []


def test_a_kind_with_hundreds_of_frequencies_has_a_menu_or_words(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue tunable"]
    view = card_view(store, kind_id, "switches")
    assert (view.is_too_many, view.channels, view.count) == (True, (), 276)
    with pytest.raises(Refused, match="276 frequencies: a card lists 64 at most"):
        save(store, kind_id, SWITCHES)
    save(store, kind_id, CardDraft("menu", by_mhz=True))
    assert card_view(store, kind_id).draft.by_mhz


def test_two_channels_set_alike_are_pointed_out(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue 40"]
    # F8 and R7 are both 5880 MHz: two names of one frequency may be set alike.
    draft = replace(SWITCHES, told={"F8": "1 1 1", "R7": "1 1 1", "A1": "0 0 1", "A2": "0 0 1", "A3": "0 0 1"})
    words = "Set alike, so one of them must be wrong: A1, A2 and A3."
    assert preview(store, kind_id, draft).remarks == (words,)
    assert words in save(store, kind_id, draft)
    lamps = CardDraft("button", lamps="red", told={"A1": "0 1 1", "A2": "0 2 1", "A3": "0 3 0", "A4": "0 3 1"})
    assert preview(store, kind_id, lamps).remarks == (
        "Set alike, so one of them must be wrong: A3 and A4.",
        "The lamps show the same for: A1, A2 and A4.",
    )


def test_another_way_begins_empty_and_the_saved_one_stays_until_it_is_saved(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue R"]
    save(store, kind_id, SWITCHES)
    view = card_view(store, kind_id, "button")
    assert (view.way, view.saved_way, view.draft.told) == ("button", "switches", {})
    save(store, kind_id, CardDraft("menu"))
    assert card_view(store, kind_id, "switches").draft.levers == 3
    assert card_view(store, world.kinds["analogue 40"], "switches").draft.levers == 6
    save(store, kind_id, SWITCHES)
    assert card_view(store, kind_id, "smoke").way == "switches"


def test_a_card_is_taken_away_once(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue R"]
    save(store, kind_id, SWITCHES)
    for _ in range(2):
        setting_cards.drop_card(store, deed(ORGANISER), kind_id)
    assert card_view(store, kind_id).saved_way == "words"
    assert journal_kinds(store) == ["setting_card_saved", "setting_card_dropped"]


def test_a_kind_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    for action in (lambda: card_view(store, 99), lambda: save(store, 99, SWITCHES)):
        with pytest.raises(NotFound):
            action()


def test_a_changed_kind_keeps_its_card(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue R"]
    save(store, kind_id, SWITCHES)
    draft = replace(
        kinds.kind_view(store, kind_id).draft, tuning="R1 A1", width_from="carson", setting_card="",
        carson_modulating_mhz=6, carson_deviation_mhz=4,
    )  # fmt: skip
    kinds.change_kind(store, deed(ORGANISER), kind_id, draft)
    assert [(channel.key, channel.told) for channel in card_view(store, kind_id).channels] == [
        ("A1", ""),
        ("R1", "0 0 0"),
    ]


def test_a_new_kind_like_another_brings_its_card_along(store: Store, world: World) -> None:
    save(store, world.kinds["analogue R"], SWITCHES)
    draft = replace(kinds.new_kind_view(store, copied_id=world.kinds["analogue R"]).draft, name="Twin")
    draft = replace(draft, width_from="carson", carson_modulating_mhz=6, carson_deviation_mhz=4)
    made = kinds.add_kind(store, deed(ORGANISER), draft).made_id
    assert made is not None
    assert card_view(store, made).draft == card_view(store, world.kinds["analogue R"]).draft
    with pytest.raises(Refused, match="A setting card begins with"):
        kinds.add_kind(store, deed(ORGANISER), replace(draft, name="Other", setting_card="smoke"))


def shown(desk: Desk, name: str) -> tuple[ToDo | None, ToDo | None]:
    """What a pilot's own page and the loan's page at the desk say."""
    mine = my_view(desk.store, desk.world.pilots[name], NOON)
    loan = loan_page(desk.store, desk.world.meet, desk.loan_of(name).loan_id, NOON)
    assert mine.holding is not None
    return mine.holding.to_set.to_do, loan.to_do


def test_who_holds_a_token_sees_what_to_switch(desk: Desk) -> None:
    kind_id = desk.world.kinds["analogue 40"]
    save(desk.store, kind_id, replace(SWITCHES, told={"R1": "1 0 1"}))
    desk.hand_out("Ana", "R1")
    desk.hand_out("Bo", "F5")
    mine, at_desk = shown(desk, "Ana")
    assert mine is not None
    assert mine.words == "Switches 1 and 3 on, switch 2 off. With switch 1 on the left, ON is up."
    assert at_desk == mine
    # Nobody has told how F5 is set on this kind.
    assert shown(desk, "Bo") == (None, None)


def test_who_is_next_sees_it_before_the_token_is_fetched(desk: Desk) -> None:
    save(desk.store, desk.world.kinds["analogue 40"], CardDraft("menu"))
    desk.join("Ana")
    mine = my_view(desk.store, desk.world.pilots["Ana"], NOON)
    assert mine.standing is not None
    assert mine.standing.to_set is not None
    assert isinstance(mine.standing.to_set.to_do, MenuEntry)


def test_a_frequency_without_a_name_is_found_on_the_card(desk: Desk) -> None:
    with desk.store.write() as session:
        kind = session.get_one(t.TransmitterKind, desk.world.kinds["analogue tunable"])
        kind.tuning = "5740 5820"
        session.add(kind)
        add_pilot(session, desk.world, "Gus", "analogue tunable")
        session.add(
            t.Attendance(
                meet_id=desk.world.meet,
                pilot_id=desk.world.pilots["Gus"],
                transmitter_id=desk.world.transmitters["Gus"],
                checked_in_at=NOON,
            )
        )
        session.commit()
    save(desk.store, desk.world.kinds["analogue tunable"], CardDraft("switches", levers=1, told={"5740": "1"}))
    desk.hand_out("Gus", "F1")
    mine, at_desk = shown(desk, "Gus")
    assert mine is not None
    assert mine.words == "The switch on. With switch 1 on the left, ON is up."
    assert at_desk == mine


def test_a_plan_of_the_club_stands_on_the_card(store: Store, world: World) -> None:
    plans.add_plan(store, deed(ORGANISER), PlanDraft("X", "Our table", "manual", "1 5661\n2 5700"))
    made = kinds.add_kind(store, deed(ORGANISER), replace(DRAFT, tuning="X")).made_id
    assert made is not None
    save(store, made, CardDraft("menu"))
    to_do = card_view(store, made).channels[1].to_do
    assert to_do is not None
    assert to_do.words == "In the menu: plan X, channel 2."


def test_a_printed_card_has_every_channel_or_those_of_a_meet(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue 40"]
    with pytest.raises(Refused, match="has no setting card yet"):
        card_to_print(store, kind_id)
    save(store, kind_id, SWITCHES)
    every = card_to_print(store, kind_id)
    assert (every.meet_name, len(every.channels)) == ("", 40)
    of_meet = card_to_print(store, kind_id, world.meet)
    assert of_meet.meet_name == "June meet"
    assert [(each.name, each.mhz, each.to_do is not None) for each in of_meet.channels] == [
        ("R1", 5658, True),
        ("F1", 5740, False),
        ("F5", 5820, False),
        ("R8", 5917, False),
    ]
    assert card_view(store, kind_id).meets == ((world.meet, "June meet"),)


def test_a_card_for_a_meet_that_a_kind_can_not_fly_is_refused(store: Store, world: World) -> None:
    made = kinds.add_kind(store, deed(ORGANISER), replace(DRAFT, tuning="A1", setting_card="menu channel")).made_id
    assert made is not None
    with pytest.raises(Refused, match="can't make a single token of 'June meet'") as refused:
        card_to_print(store, made, world.meet)
    assert refused.value.field == "meet"


def test_a_menu_card_leaves_out_the_frequencies_of_a_range(store: Store, world: World) -> None:
    kind_id = world.kinds["analogue tunable"]
    save(store, kind_id, CardDraft("menu", by_mhz=True))
    assert card_to_print(store, kind_id).channels == ()
    of_meet = card_to_print(store, kind_id, world.meet)
    assert [each.name for each in of_meet.channels] == ["5658", "5740", "5820", "5917"]
