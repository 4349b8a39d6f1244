"""Kinds of transmitter: channels, width, powers and habits, as typed and as the sums read them."""

from dataclasses import replace

import pytest

from meetapp.data.catalog import kind_templates
from meetapp.flows.club import kinds, named_rows, plans
from meetapp.flows.club.kind_drafts import KindDraft, carson_width
from meetapp.flows.club.plans import PlanDraft
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import kits_of, plans_of
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import World

ORGANISER = Actor("organiser", "Organiser", session_id=1)
DRAFT = KindDraft(
    name="Little one",
    carson_modulating_mhz=6,
    carson_deviation_mhz=4,
    tuning="r a1, 5740 5650-5660/5",
    power_steps="600, 25 mW 200",
)


def test_a_kind_is_added_with_its_words_in_order(store: Store, world: World) -> None:
    answer = kinds.add_kind(store, deed(ORGANISER), DRAFT)
    assert answer.made_id is not None
    view = kinds.kind_view(store, answer.made_id)
    assert view.draft.tuning == "R A1 5740 5650-5660/5"
    assert view.draft.power_steps == "25 200 600"
    assert view.width_mhz == 20
    # 8 of plan R, A1, 5740, and 5650, 5655, 5660 of the range.
    assert view.meaning is not None
    assert (view.meaning.count, view.meaning.low_mhz, view.meaning.high_mhz) == (13, 5650, 5917)
    assert answer.notice == "'Little one' is saved: 13 frequencies, 5650 to 5917 MHz."
    assert journal_kinds(store) == ["kind_added"]


def test_the_meaning_names_each_channel_in_mhz(store: Store, world: World) -> None:
    made = kinds.add_kind(store, deed(ORGANISER), DRAFT).made_id
    assert made is not None
    meaning = kinds.kind_view(store, made).meaning
    assert meaning is not None
    assert meaning.lines == (
        ("Plan A", "A1 5865"),
        ("Plan R", "R1 5658, R2 5695, R3 5732, R4 5769, R5 5806, R6 5843, R7 5880, R8 5917"),
        ("Frequencies", "5740"),
        ("5650 to 5660", "in steps of 5 MHz, 3 frequencies"),
    )


@pytest.mark.parametrize(
    ("modulating", "deviation", "width", "words"),
    [
        # Carson's rule, 47 CFR 2.202(g) with K = 1: Bn = 2M + 2D.
        (6.0, 4.0, 20, "2 x 6 + 2 x 4 = 20 MHz."),
        (5.0, 4.0, 18, "= 18 MHz."),
        (4.2, 4.0, 16.5, "= 16.4 MHz, rounded up to 16.5."),
    ],
)
def test_carsons_rule_is_shown_with_its_numbers(modulating: float, deviation: float, width: float, words: str) -> None:
    found, told = carson_width(modulating, deviation)
    assert found == width
    assert told.endswith(words)


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"name": "Analogue  r"}, "name", "There is a kind named 'analogue R' already"),
        ({"tuning": ""}, "tuning", "Say what it can make"),
        ({"tuning": "A B Q3"}, "tuning", "'Q3' is no plan, channel, frequency or range"),
        ({"tuning": "R9"}, "tuning", "'R9' is no plan, channel, frequency or range; there is R1 to R8"),
        ({"tuning": "5925-5650"}, "tuning", "runs backwards"),
        ({"tuning": "574"}, "tuning", "574 MHz is not near 5.8 GHz"),
        ({"tuning": "5650-5925/0"}, "tuning", "has no step"),
        ({"goggles": "Z"}, "goggles", "'Z' is no plan"),
        ({"goggles": "L"}, "goggles", "can't receive a single channel"),
        ({"power_steps": ""}, "power_steps", "Give at least one power step"),
        ({"power_steps": "25 lots"}, "power_steps", "'lots' is no power step"),
        ({"power_steps": "0"}, "power_steps", "'0' is no power step"),
        ({"power_steps": "-25"}, "power_steps", "'-25' is no power step"),
        ({"power_steps": "99999"}, "power_steps", "is no power step"),
        ({"power_steps": " ".join(str(n) for n in range(1, 14))}, "power_steps", "13 power steps are too many"),
        ({"carson_modulating_mhz": None}, "carson_modulating_mhz", "needs both of its numbers"),
        ({"carson_deviation_mhz": 0.0}, "carson_deviation_mhz", "needs two numbers above 0"),
        ({"carson_deviation_mhz": 1000.0}, "carson_deviation_mhz", "can't be"),
        ({"is_digital": True}, "width_from", "Carson's rule is for analogue video"),
        ({"width_from": "own"}, "width_mhz", "Fill in: the width"),
        ({"width_from": "own", "width_mhz": 20.0}, "width_source", "where the width comes from"),
        ({"width_from": "own", "width_mhz": 20.3, "width_source": "manual"}, "width_mhz", "steps of half a MHz"),
        ({"width_from": "own", "width_mhz": 500.0, "width_source": "manual"}, "width_mhz", "can't be"),
    ],
    ids=lambda value: str(value)[:50],
)
def test_a_kind_that_can_not_be_read_is_refused(
    store: Store, world: World, changed: dict[str, object], field: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        kinds.add_kind(store, deed(ORGANISER), replace(DRAFT, **changed))  # type: ignore[arg-type]
    assert refused.value.field == field
    assert len(kinds.list_kinds(store)) == len(world.kinds)
    assert journal_kinds(store) == []


def test_a_changed_kind_reaches_every_transmitter_of_it(store: Store, world: World) -> None:
    changed = replace(DRAFT, name="analogue 40", tuning="R", goggles="R1 R3")
    kinds.change_kind(store, deed(ORGANISER), world.kinds["analogue 40"], changed)
    with store.read() as session:
        [kit] = kits_of(session, [world.pilots["Ana"]], plans_of(session))[world.pilots["Ana"]]
    assert kit.goggles is not None
    assert (len(kit.tuning.all_mhz()), kit.goggles.all_mhz()) == (8, {5658, 5732})


@pytest.mark.parametrize("place", range(len(kind_templates())))
def test_every_template_can_be_saved_as_it_is(store: Store, world: World, place: int) -> None:
    view = kinds.new_kind_view(store, template=place)
    assert view.draft.name == ""
    kinds.add_kind(store, deed(ORGANISER), replace(view.draft, name="from a template"))
    saved = next(row for row in kinds.list_kinds(store) if row.name == "from a template")
    assert saved.width_mhz == kind_templates()[place].width_mhz


def test_a_new_kind_may_begin_like_another_one(store: Store, world: World) -> None:
    view = kinds.new_kind_view(store, copied_id=world.kinds["digital wide"])
    assert view.kind_id is None
    assert (view.draft.name, view.draft.is_digital, view.draft.width_mhz) == ("", True, 40)


@pytest.mark.parametrize("place", [-1, 10_000])
def test_a_template_that_is_not_there_is_said_so(store: Store, world: World, place: int) -> None:
    with pytest.raises(NotFound):
        kinds.new_kind_view(store, template=place)


def test_a_kind_may_name_a_plan_of_the_club(store: Store, world: World) -> None:
    plans.add_plan(store, deed(ORGANISER), PlanDraft("x", "Our table", "manual", "1 5661"))
    made = kinds.add_kind(store, deed(ORGANISER), replace(DRAFT, tuning="X")).made_id
    assert made is not None
    view = kinds.kind_view(store, made)
    assert view.draft.tuning == "X"
    assert view.meaning is not None
    assert view.meaning.reach == "5661 MHz only"


def test_the_list_says_how_often_a_kind_is_used_and_whether_it_is_retired(store: Store, world: World) -> None:
    named_rows.retire(store, deed(ORGANISER), named_rows.KINDS, world.kinds["analogue R"])
    rows = {row.name: row for row in kinds.list_kinds(store)}
    assert rows["analogue 40"].used_by == 6
    assert rows["analogue R"].is_retired
    assert rows["analogue tunable"].reach == "276 frequencies, 5650 to 5925 MHz"
