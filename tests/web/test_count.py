"""Counting the tokens: what hangs against what the loans say, and what to do about each difference."""

import pytest
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import Clock, World


def count(marshal: Surfer, world: World, *labels: str) -> None:
    marshal.open("/desk/count")
    marshal.press("Compare", hanging=[world.tokens[label] for label in labels])


def facts(store: Store) -> dict[str, object]:
    with store.read() as session:
        lines = select(t.JournalLine).where(t.JournalLine.kind == "tokens_counted")
        return session.exec(lines.order_by(col(t.JournalLine.id).desc())).first().facts  # type: ignore[union-attr]


def test_all_hang_and_all_agree(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/count")
    press_twice(marshal, "Compare", hanging=list(world.tokens.values()))
    assert "4 tokens hang on the board: all agree." in marshal.text
    assert journal_kinds(store) == ["tokens_counted"]


def test_a_token_that_should_hang_says_who_had_it_last_and_can_be_marked_missing(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    clock.forward(minutes=8)
    post(marshal, f"{marshal.path}/take-back")
    count(marshal, world, "F1", "F5")
    assert "2 tokens hang on the board; 2 do not agree." in marshal.text
    assert "Ana had it last and gave it back at 14:08: ask them." in marshal.text
    assert "nobody has had it at this meet" in marshal.text
    marshal.press("Mark missing : R1")
    assert marshal.path == "/desk/count"
    assert "Mark missing : R1" not in marshal.text
    assert "Mark missing : R8" in marshal.text
    with store.read() as session:
        assert session.get_one(t.Token, world.tokens["R1"]).state == "missing"


def test_a_token_whose_hand_out_was_undone_says_to_whom_it_went(marshal: Surfer, world: World, clock: Clock) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    post(marshal, f"{marshal.path}/take-back")
    clock.forward(minutes=5)
    post(marshal, f"/desk/pilots/{world.pilots['Bo']}/hand-out", token_id=world.tokens["R1"])
    marshal.press("Undo")
    count(marshal, world, "F1", "F5", "R8")
    assert "It was handed out to Bo at 14:05, and that was undone: ask them." in marshal.text


def test_a_token_that_hangs_though_it_is_out_says_with_whom(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    count(marshal, world, "R1", "F1", "F5", "R8")
    assert "it is out with Ana since 14:00" in marshal.text
    marshal.press("Take back : R1")
    assert "All agree" in marshal.text
    assert "taken_back" in journal_kinds(store)


def test_a_missing_token_that_hangs_is_found(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/tokens/{world.tokens['R1']}/missing")
    count(marshal, world, "R1", "F1", "F5", "R8")
    assert "It is marked missing, but it hangs on the board." in marshal.text
    marshal.press("Found : R1")
    assert "All agree" in marshal.text
    with store.read() as session:
        assert session.get_one(t.Token, world.tokens["R1"]).state == "usable"


def test_a_withdrawn_token_that_hangs_is_taken_off(marshal: Surfer, world: World) -> None:
    post(marshal, f"/desk/tokens/{world.tokens['R1']}/withdraw")
    count(marshal, world, "R1", "F1", "F5", "R8")
    assert "take it off the board" in marshal.text


def test_what_is_handed_out_after_the_count_is_no_difference(marshal: Surfer, world: World) -> None:
    count(marshal, world, "R1", "F1", "F5", "R8")
    result = str(marshal.response.url)
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    marshal.open(result)
    assert "All agree" in marshal.text


def test_the_count_stands_in_the_journal_as_counted(marshal: Surfer, world: World, store: Store) -> None:
    count(marshal, world, "R1", "F1")
    assert facts(store) == {
        "count": 2,
        "hanging": sorted([world.tokens["R1"], world.tokens["F1"]]),
        "differing": sorted([world.tokens["F5"], world.tokens["R8"]]),
        "mismatches": 2,
    }
    marshal.open("/desk/journal")
    assert "Tokens counted: 2 on the board, 2 not agreeing" in marshal.text


@pytest.mark.parametrize(
    ("hanging", "sentence"),
    [
        pytest.param(["1", "4711"], "One of these tokens doesn't belong to this meet.", id="no token of the meet"),
        pytest.param(["1", "R1"], "The tokens must be a whole number.", id="a label"),
        pytest.param(["0"], "The tokens must be at least 1.", id="no number"),
    ],
)
def test_a_count_that_needs_correcting_keeps_the_ticks(
    hanging: list[str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    marshal.open("/desk/count")
    marshal.press("Compare", hanging=hanging)
    assert marshal.status == 422
    assert sentence in marshal.text
    ticked = [box["value"] for box in marshal.page.find_all("input", {"name": "hanging", "checked": True})]
    assert ticked == [value for value in hanging if value == "1"]
    assert journal_kinds(store) == []


@pytest.mark.parametrize("line", ["4711", "0", "-3", "99999999999999999999"])
def test_a_count_that_never_was_is_not_there(line: str, marshal: Surfer) -> None:
    marshal.open(f"/desk/count?counted={line}")
    assert marshal.status == 404


def test_a_meet_without_tokens_says_where_they_come_from(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        for row in session.exec(select(t.MeetToken)):
            session.delete(row)
        session.commit()
    marshal.open("/desk/count")
    assert "This meet has no tokens." in marshal.text
