"""The board: who is on air on what, what is free, who is next, and why something isn't free."""

from datetime import timedelta

import pytest
from sqlmodel import select

from meetapp.flows.desk import pauses
from meetapp.flows.loans import line, loans, sharing, token_states
from meetapp.flows.loans.loans import GroundLoan, HandOut
from meetapp.flows.pilot.board import NEXT_SHOWN, board_view
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed
from tests.world import NOON, World, add_pilot


def hand_out(store: Store, world: World, name: str, token: str) -> int:
    answer = loans.hand_out(store, deed(), HandOut(world.meet, world.pilots[name], world.tokens[token]))
    assert answer.made_id is not None
    return answer.made_id


def join(store: Store, world: World, *names: str) -> None:
    for second, name in enumerate(names):
        line.join_line(store, deed(now=NOON + timedelta(seconds=second)), world.meet, world.pilots[name])


def here(store: Store, world: World, name: str, kind: str) -> None:
    with store.write() as session:
        pilot_id = add_pilot(session, world, name, kind)
        transmitter_id = world.transmitters[name]
        session.add(
            t.Attendance(meet_id=world.meet, pilot_id=pilot_id, transmitter_id=transmitter_id, checked_in_at=NOON)
        )
        session.commit()


def test_those_on_air_stand_in_order_of_frequency(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R8")
    hand_out(store, world, "Bo", "R1")
    slots = board_view(store, NOON + timedelta(minutes=34, seconds=1)).slots
    assert [(slot.label, slot.mhz, slot.who, slot.note) for slot in slots] == [
        ("R1", 5658, "Bo", "34 min"),
        ("R8", 5917, "Ana", "34 min"),
    ]


def test_what_hangs_on_the_board_is_free(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R8")
    assert board_view(store, NOON).free == ("R1", "F1", "F5")


def test_a_camera_counts_as_on_air_by_its_name(store: Store, world: World) -> None:
    loans.lend_ground(store, deed(), GroundLoan(world.meet, "finish camera", 5700, 20))
    board = board_view(store, NOON)
    assert [(slot.label, slot.who) for slot in board.slots] == [("5700", "finish camera")]


def test_two_by_turns_are_both_named(store: Store, world: World) -> None:
    loan_id = hand_out(store, world, "Ana", "R1")
    sharing.share(store, deed(), world.meet, loan_id, world.pilots["Bo"])
    assert board_view(store, NOON).slots[0].note == "0 min, by turns with Bo"


def test_the_next_ones_stand_in_the_order_they_are_asked(store: Store, world: World) -> None:
    join(store, world, "Ana", "Bo", "Cy", "Di", "Ed", "Fay")
    line.not_ready(store, deed(), world.meet, world.pilots["Ana"])
    board = board_view(store, NOON)
    assert board.next_names == ("Bo", "Cy", "Di")
    assert board.next_more == 5 - NEXT_SHOWN
    assert board.next_word.endswith("is free for Bo")


def test_a_head_that_cannot_be_served_is_told_why(store: Store, world: World) -> None:
    for name, token in zip(("Ana", "Bo", "Cy", "Di"), world.tokens, strict=True):
        hand_out(store, world, name, token)
    join(store, world, "Ed")
    board = board_view(store, NOON)
    assert board.free == ()
    assert board.next_word == "Ed can make none of the tokens that are in"


def test_a_wide_carrier_blocks_its_neighbours_in_words(store: Store, world: World) -> None:
    here(store, world, "Gus", "digital wide")
    with store.write() as session:
        token = t.Token(code="T9", label="R5", nominal_mhz=5805, state_since=NOON)
        session.add(token)
        session.flush()
        session.add(t.MeetToken(meet_id=world.meet, token_id=token.id))
        world.tokens["R5"] = token.id
        session.commit()
    hand_out(store, world, "Gus", "R5")
    board = board_view(store, NOON)
    assert board.free == ("R1", "F1", "R8")
    assert board.not_now == (("F5", "blocked by Gus"),)


def test_what_would_break_a_floor_is_not_called_free(store: Store, world: World) -> None:
    loans.lend_ground(store, deed(), GroundLoan(world.meet, "camera", 5790, 20))
    board = board_view(store, NOON)
    assert board.free == ("R1", "F1", "R8")
    assert board.not_now == (("F5", "too near camera"),)


def test_a_token_whose_products_would_disturb_names_those_on_air(store: Store, world: World) -> None:
    """2 x 5740 - 5658 = 5822 falls 2 MHz from F5 (5820), and the floor is 10."""
    with store.write() as session:
        session.exec(select(t.Meet)).one().clearance_floor_mhz = 10
        session.commit()
    hand_out(store, world, "Ana", "R1")
    hand_out(store, world, "Bo", "F1")
    assert board_view(store, NOON).not_now == (("F5", "would disturb with Ana and Bo"),)


def test_a_token_beside_a_neighbour_names_it(store: Store, world: World) -> None:
    with store.write() as session:
        session.add(t.Neighbour(site_id=world.site, label="club house Wi-Fi", centre_mhz=5825, width_mhz=20))
        session.commit()
    assert board_view(store, NOON).not_now == (("F5", "too near club house Wi-Fi"),)


def test_what_is_held_back_says_for_whom(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.TransmitterKind, world.kinds["analogue R"]).tuning = "R8"
        session.commit()
    here(store, world, "Gus", "analogue R")
    hand_out(store, world, "Ana", "F1")
    join(store, world, "Gus", "Bo")
    board = board_view(store, NOON + timedelta(minutes=21, seconds=1))
    assert board.not_now == (("R8", "held back for Gus, 21 min in the line"),)
    assert board.free == ("R1", "F5")


def test_missing_tokens_are_named_and_withdrawn_ones_left_out(store: Store, world: World) -> None:
    token_states.mark_missing(store, deed(), world.meet, world.tokens["F5"])
    token_states.withdraw(store, deed(), world.meet, world.tokens["R8"])
    board = board_view(store, NOON)
    assert (board.free, board.missing) == (("R1", "F1"), ("F5",))


def test_a_pause_and_lower_floors_stay_in_sight(store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().lower_floors_reason = "only four tokens in the car"
        session.commit()
    pauses.pause(store, deed(), world.meet, "wind")
    board = board_view(store, NOON)
    assert (board.paused_since, board.pause_reason) == (NOON, "wind")
    assert board.lower_floors_reason == "only four tokens in the car"


@pytest.mark.parametrize("state", ["planned", "closed"])
def test_without_an_open_meet_the_board_is_empty(state: str, store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().state = state
        session.commit()
    assert board_view(store, NOON).meet_name is None


def test_why_the_next_one_waits_names_them_once(store: Store, world: World) -> None:
    with store.write() as session:
        kind = session.get_one(t.TransmitterKind, world.kinds["analogue R"])
        kind.tuning = "A"
        session.get_one(t.PilotTransmitter, world.transmitters["Bo"]).kind_id = kind.id
        session.commit()
    join(store, world, "Bo")
    assert board_view(store, NOON).next_word == "Bo can make none of the tokens that are in"
