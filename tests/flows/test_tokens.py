"""The club's tokens: taken over as they are, made new, corrected while nothing rests on them."""

import re

import pytest
from sqlmodel import select

from meetapp.flows.club import tokens
from meetapp.flows.club.token_codes import CODE_LETTERS, read_alike
from meetapp.flows.club.token_drafts import TokenDraft
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.loans import token_states
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.desk import Desk
from tests.world import World

ORGANISER = Actor("organiser", "Organiser", session_id=1)


def printed(store: Store) -> set[tuple[str, str, int]]:
    """What stands on every tag."""
    return {(row.code, row.label, row.nominal_mhz) for row in tokens.list_tokens(store).rows}


def test_tags_are_taken_over_as_they_are(store: Store, world: World) -> None:
    before = printed(store)
    tokens.take_over(store, deed(ORGANISER), "k7 R3 5732\n\nB-2, Blue, 5800 MHz\n22\tF4\n")
    assert printed(store) - before == {("K7", "R3", 5732), ("B-2", "Blue", 5800), ("22", "F4", 5800)}
    assert journal_kinds(store) == ["tokens_taken_over"]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("K7", "Write code, label and MHz"),
        ("K7 R3 5732 and more", "Write code, label and MHz"),
        ("K7 Blue", "'Blue' is no channel of the club's plans, so say its MHz too"),
        ("K7 R3 573", "573 MHz is not near 5.8 GHz"),
        ("K7 R3 5732.5", "'5732.5' is no frequency in whole MHz"),
        ("K7 R3 soon", "'soon' is no frequency in whole MHz"),
        ("K/7 R3 5732", "up to 12 letters, digits and hyphens"),
        ("-K7 R3 5732", "up to 12 letters, digits and hyphens"),
        ("KKKKKKKKKKKKK R3 5732", "up to 12 letters"),
        ("Ä7 R3 5732", "up to 12 letters"),
        ("K7 Elephants 5732", "up to 8 characters"),
        ("x1 R3 5732", "reads like the one in line 1"),
        ("XI R3 5732", "reads like the one in line 1"),
    ],
    ids=lambda value: value[:30],
)
def test_a_line_that_can_not_be_read_is_named_and_no_tag_is_taken(
    store: Store, world: World, line: str, words: str
) -> None:
    before = printed(store)
    with pytest.raises(Refused) as refused:
        tokens.take_over(store, deed(ORGANISER), f"X1 F2 5760\n{line}")
    assert refused.value.field == "lines"
    assert refused.value.message.startswith("Line 2, '")
    assert words in refused.value.message
    assert printed(store) == before
    assert journal_kinds(store) == []


def test_every_line_that_is_wrong_is_named_at_once(store: Store, world: World) -> None:
    with pytest.raises(Refused) as refused:
        tokens.take_over(store, deed(ORGANISER), "X1 F2 5760\nK7 Blue\nT1 R3\nX2 F4 5800\nx1 R3")
    for words in (
        "Line 2, 'K7 Blue': 'Blue' is no channel",
        "Line 3, 'T1 R3': The code T1 reads like T1, which is R1's already.",
        "Line 5, 'x1 R3': The code X1 reads like the one in line 1.",
    ):
        assert words in refused.value.message
    assert "Line 1" not in refused.value.message
    assert "Line 4" not in refused.value.message


def test_a_token_is_in_since_it_last_came_back(desk: Desk) -> None:
    def since(label: str) -> object:
        return next(row.since for row in tokens.list_tokens(desk.store).rows if row.label == label)

    desk.clock.forward(minutes=15)
    desk.hand_out("Ana", "R1")
    desk.clock.forward(minutes=6)
    came_back_at = desk.clock()
    answer = desk.take_back("Ana")
    assert since("R1") == came_back_at
    desk.clock.forward(minutes=1)
    desk.undo(answer)
    desk.clock.forward(minutes=5)
    desk.take_back("Ana")
    assert since("R1") == desk.clock()
    desk.clock.forward(minutes=5)
    desk.missing("R1")
    desk.clock.forward(minutes=5)
    desk.found("R1")
    assert since("R1") == desk.clock()


@pytest.mark.parametrize(
    ("text", "words"), [(" \n", "Type one token per line"), ("K7 R3\n" * 61, "61 tokens are too many at once")]
)
def test_nothing_or_too_much_is_refused(store: Store, world: World, text: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        tokens.take_over(store, deed(ORGANISER), text)


def test_a_code_that_reads_like_another_tags_is_refused(store: Store, world: World) -> None:
    for code in ("t1", "TI", "Tl"):
        with pytest.raises(Refused, match="reads like T1, which is R1's already"):
            tokens.take_over(store, deed(ORGANISER), f"{code} F2 5760")


def test_a_withdrawn_code_is_never_used_again(store: Store, world: World) -> None:
    token_states.withdraw(store, deed(ORGANISER), None, world.tokens["R1"])
    with pytest.raises(Refused, match="The code T1 was withdrawn, and a withdrawn code is never used again"):
        tokens.take_over(store, deed(ORGANISER), "T1 F2 5760")


def test_new_tokens_get_codes_that_nobody_can_misread(store: Store, world: World) -> None:
    before = printed(store)
    tokens.make_tokens(store, deed(ORGANISER), "F8 r3, 5671")
    made = printed(store) - before
    # F8 and R7 are both 5880 MHz; the label that was asked for stays.
    assert {(label, mhz) for _code, label, mhz in made} == {("F8", 5880), ("R3", 5732), ("5671", 5671)}
    assert all(re.fullmatch(f"[{CODE_LETTERS}]{{4}}", code) for code, _label, _mhz in made)
    assert not set("01OI") & set(CODE_LETTERS)
    assert journal_kinds(store) == ["tokens_made"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Say what it can make|plan letters"),
        ("R3 Q7", "'Q7' is no plan"),
        ("5650-5925", "That would be 276 tokens"),
        ("R3 R1", "There is a token for 5658 MHz already: R1, code T1"),
    ],
    ids=["empty", "no channel", "too many", "there already"],
)
def test_new_tokens_that_can_not_be_are_refused(store: Store, world: World, text: str, words: str) -> None:
    before = printed(store)
    with pytest.raises(Refused, match=words) as refused:
        tokens.make_tokens(store, deed(ORGANISER), text)
    assert refused.value.field == "channels"
    assert printed(store) == before


def test_a_withdrawn_token_makes_room_for_a_new_one(store: Store, world: World) -> None:
    token_states.withdraw(store, deed(ORGANISER), None, world.tokens["R1"])
    tokens.make_tokens(store, deed(ORGANISER), "R1")
    rows = tokens.list_tokens(store).rows
    assert [(row.label, row.state) for row in rows if row.label == "R1"] == [("R1", "in"), ("R1", "withdrawn")]


def test_a_resent_form_makes_the_tokens_once(store: Store, world: World) -> None:
    for _ in range(2):
        tokens.make_tokens(store, deed(ORGANISER, key="a-key-of-a-form"), "F2 F4")
    assert len(printed(store)) == 6


def test_the_list_says_who_has_a_token_since_when(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    rows = {row.label: row for row in tokens.list_tokens(desk.store).rows}
    assert (rows["R1"].state, rows["R1"].holder, rows["R1"].since) == ("out", "Ana", desk.clock())
    assert (rows["F1"].state, rows["F1"].holder) == ("in", "")


def test_odd_tags_carry_a_remark(store: Store, world: World) -> None:
    tokens.take_over(store, deed(ORGANISER), "K7 R3 5740\nK8 Blue 5820")
    remarks = {row.code: row.remark for row in tokens.list_tokens(store).rows}
    assert "another token for 5740 MHz" in remarks["K7"]
    assert "another token for 5740 MHz" in remarks["T2"]
    assert "another token for 5820 MHz" in remarks["K8"]
    token_states.withdraw(store, deed(ORGANISER), None, world.tokens["F1"])
    remarks = {row.code: row.remark for row in tokens.list_tokens(store).rows}
    assert remarks["K7"] == "In the club's plans R3 is 5732 MHz: look at the tag again."
    assert remarks["T1"] == ""


def test_what_stands_on_a_tag_is_corrected_before_anything_rests_on_it(store: Store, world: World) -> None:
    tokens.take_over(store, deed(ORGANISER), "K7 R3 5740")
    token_id = next(row.token_id for row in tokens.list_tokens(store).rows if row.code == "K7")
    assert tokens.token_view(store, token_id).fixed_why == ""
    tokens.change_token(store, deed(ORGANISER), token_id, TokenDraft("k9", "R3", 5732))
    assert ("K9", "R3", 5732) in printed(store)
    assert journal_kinds(store) == ["tokens_taken_over", "token_corrected"]


@pytest.mark.parametrize(
    ("draft", "field"),
    [
        (TokenDraft("T1", "R3", 5732), "code"),
        (TokenDraft("K 7", "R3", 5732), "code"),
        (TokenDraft("K7", "Elephants", 5732), "label"),
        (TokenDraft("K7", "R3", 57), "nominal_mhz"),
    ],
)
def test_a_correction_that_can_not_be_is_refused(store: Store, world: World, draft: TokenDraft, field: str) -> None:
    tokens.take_over(store, deed(ORGANISER), "K7 R3 5732")
    token_id = next(row.token_id for row in tokens.list_tokens(store).rows if row.code == "K7")
    with pytest.raises(Refused) as refused:
        tokens.change_token(store, deed(ORGANISER), token_id, draft)
    assert refused.value.field == field
    assert ("K7", "R3", 5732) in printed(store)


def test_a_tag_of_a_meet_keeps_what_stands_on_it(store: Store, world: World) -> None:
    with pytest.raises(Refused, match="belongs to the meet 'June meet'"):
        tokens.change_token(store, deed(ORGANISER), world.tokens["R1"], TokenDraft("T1", "R1", 5660))


def test_a_tag_that_was_handed_out_keeps_what_stood_on_it(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.take_back("Ana")
    assert tokens.token_view(desk.store, desk.world.tokens["R1"]).loan_count == 1
    with pytest.raises(Refused, match="It has been handed out"):
        tokens.change_token(desk.store, deed(ORGANISER), desk.world.tokens["R1"], TokenDraft("T1", "R1", 5660))


def test_codes_are_unique_in_the_database_too(store: Store, world: World) -> None:
    with store.read() as session:
        codes = session.exec(select(t.Token.code)).all()
    assert len({read_alike(code) for code in codes}) == len(codes)


def test_a_token_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    with pytest.raises(NotFound):
        tokens.token_view(store, 99)
