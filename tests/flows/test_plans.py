"""Channel plans: own ones are written, published ones read; no plan loses what a kind names."""

import pytest

from meetapp.flows.club import plans
from meetapp.flows.club.plans import PlanDraft, plan_from
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import plans_of
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import World

ORGANISER = Actor("organiser", "Organiser", session_id=1)


def draft(**changed: str) -> PlanDraft:
    typed = {"letter": "x", "name": "Our table", "source": "manual, p. 3", "lines": "2 5700\n1 5660"}
    return PlanDraft(**(typed | changed))


def test_an_own_plan_is_added_behind_the_published_ones(store: Store, world: World) -> None:
    plans.add_plan(store, deed(ORGANISER), draft())
    added = plans.list_plans(store)[-1]
    assert (added.letter, added.channels, added.is_published) == ("X", (("X1", 5660), ("X2", 5700)), False)
    assert added.lines == "1 5660\n2 5700"
    assert journal_kinds(store) == ["plan_added"]


@pytest.mark.parametrize("lines", ["1 5660", "1: 5660 MHz", "x1 5660", "X1;5660", " 1 = 5660 "])
def test_a_channel_may_be_written_in_several_ways(lines: str) -> None:
    assert [(each.label, each.mhz) for each in plan_from(draft(lines=lines)).channels] == [("X1", 5660)]


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"letter": "7"}, "letter", "one or two letters"),
        ({"letter": "ABC"}, "letter", "one or two letters"),
        ({"letter": "Ä"}, "letter", "one or two letters"),
        ({"letter": "r"}, "letter", "There is a channel plan R already"),
        ({"lines": ""}, "lines", "1 to 16 channels, one per line; here are 0"),
        ({"lines": "\n".join(f"{n} {5650 + n}" for n in range(1, 18))}, "lines", "here are 17"),
        ({"lines": "1 5660\n1 5700"}, "lines", "The number 1 stands there twice"),
        ({"lines": "1 5660\n2 5660"}, "lines", "The frequency 5660 stands there twice"),
        ({"lines": "1 566"}, "lines", "566 MHz is not near 5.8 GHz"),
        ({"lines": "0 5660"}, "lines", "'0 5660' has no channel number"),
        ({"lines": "100 5660"}, "lines", "has no channel number"),
        ({"lines": "one 5660"}, "lines", "'one 5660' is no channel"),
        ({"lines": "1 5660 5700"}, "lines", "'1 5660 5700' is no channel"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_plan_that_can_not_be_read_is_refused(
    store: Store, world: World, changed: dict[str, str], field: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        plans.add_plan(store, deed(ORGANISER), draft(**changed))
    assert refused.value.field == field
    assert len(plans.list_plans(store)) == 6
    assert journal_kinds(store) == []


def test_a_published_plan_is_only_read(store: Store, world: World) -> None:
    published = plans.list_plans(store)[0]
    assert published.plan_id is not None
    with pytest.raises(Refused, match="A published channel plan can't be changed"):
        plans.change_plan(store, deed(ORGANISER), published.plan_id, draft())
    assert plans.list_plans(store)[0] == published


def test_a_plan_keeps_what_a_kind_names(store: Store, world: World) -> None:
    plan_id = plans.add_plan(store, deed(ORGANISER), draft()).made_id
    assert plan_id is not None
    with store.write() as session:
        session.get_one(t.TransmitterKind, world.kinds["analogue R"]).goggles = "R X2"
        session.commit()
    for changed in ({"lines": "1 5660"}, {"letter": "Y"}):
        with pytest.raises(Refused, match="The kind 'analogue R' still names") as refused:
            plans.change_plan(store, deed(ORGANISER), plan_id, draft(**changed))
        assert refused.value.field == "lines"
    assert plans.plan_view(store, plan_id).channels == (("X1", 5660), ("X2", 5700))
    plans.change_plan(store, deed(ORGANISER), plan_id, draft(lines="1 5660\n2 5701\n3 5900"))
    with store.read() as session:
        assert [channel.mhz for channel in plans_of(session)[-1].channels] == [5660, 5701, 5900]


def test_a_plan_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    with pytest.raises(NotFound):
        plans.plan_view(store, 99)
    with pytest.raises(NotFound):
        plans.change_plan(store, deed(ORGANISER), 99, draft())
