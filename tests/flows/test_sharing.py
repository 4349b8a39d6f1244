"""Two pilots who use one token by turns."""

import pytest

from meetapp.flows.desk.loan_page import share_page
from meetapp.flows.errors import Forbidden, Refused
from tests.desk import Desk


@pytest.fixture
def turns(any_desk: Desk) -> Desk:
    """Ana has R1 and shares it with Bo, who stood in the line before Cy."""
    any_desk.hand_out("Ana", "R1")
    any_desk.join("Bo", "Cy")
    any_desk.share("Ana", "Bo")
    return any_desk


def partners(desk: Desk) -> dict[str, tuple[str, str]]:
    names = {pilot_id: name for name, pilot_id in desk.world.pilots.items()}
    snapshot = desk.snapshot()
    labels = {token.token_id: token.label for token in snapshot.tokens}
    return {labels[token]: (names[one], names[two]) for token, (one, two) in snapshot.sharing.items()}


def test_the_partner_leaves_the_line(turns: Desk) -> None:
    assert partners(turns) == {"R1": ("Ana", "Bo")}
    assert turns.in_line() == ["Cy"]
    assert turns.kinds()[-1] == "sharing_started"


def test_a_swap_hands_the_token_over_and_the_turns_go_on(turns: Desk) -> None:
    answer = turns.swap("R1")
    assert turns.on_air() == {"Bo": ("R1", 5658)}
    assert partners(turns) == {"R1": ("Bo", "Ana")}
    assert turns.in_line() == ["Cy"]
    assert answer.notice.startswith("Bo has R1. Set R1 (5658 MHz)")
    turns.swap("R1")
    assert turns.on_air() == {"Ana": ("R1", 5658)}


def test_a_token_back_on_the_board_ends_the_turns(turns: Desk) -> None:
    answer = turns.take_back("Ana")
    assert answer.notice == "R1 is back from Ana. The turns with Bo are over."
    assert partners(turns) == {}


def test_a_token_handed_over_to_a_third_ends_the_turns(turns: Desk) -> None:
    turns.hand_over("Ana", "Cy")
    assert partners(turns) == {}
    assert turns.on_air() == {"Cy": ("R1", 5658)}


def test_a_token_of_their_own_ends_the_partners_turns(turns: Desk) -> None:
    turns.hand_out("Bo", "R8")
    assert partners(turns) == {}


def test_a_missing_token_ends_the_turns(turns: Desk) -> None:
    turns.missing("R1")
    assert partners(turns) == {}


def test_ended_the_holder_keeps_the_token(turns: Desk) -> None:
    answer = turns.end_turns("R1")
    assert answer.notice == "The turns on R1 are over; Ana keeps it."
    assert partners(turns) == {}
    assert turns.on_air() == {"Ana": ("R1", 5658)}
    assert turns.end_turns("R1").notice == "Nobody uses R1 by turns."


@pytest.mark.parametrize(
    ("who", "partner", "sentence"),
    [
        ("Ana", "Cy", "R1 is used by turns already."),
        ("Di", "Bo", "Bo uses R1 by turns already."),
        ("Di", "Ana", "Ana holds R1 since 14:00."),
        ("Di", "Di", "Di has R8."),
        ("camera", "Cy", "camera is a ground transmitter: it takes no turns."),
    ],
    ids=["three", "twice a partner", "holds another", "with oneself", "a camera"],
)
def test_refusals(turns: Desk, who: str, partner: str, sentence: str) -> None:
    turns.hand_out("Di", "R8")
    turns.lend_ground("camera", 5780)
    with pytest.raises(Refused) as refused:
        turns.share(who, partner)
    assert refused.value.message == sentence
    assert partners(turns) == {"R1": ("Ana", "Bo")}


def test_a_partner_whose_transmitter_cannot_is_refused(desk: Desk) -> None:
    desk.set_transmitter("Bo", kind_id=desk.world.kinds["analogue R"])
    desk.hand_out("Ana", "F5")
    with pytest.raises(Refused, match="F5 is not for Bo: analogue R can't make it"):
        desk.share("Ana", "Bo")


def test_a_partner_whose_transmitter_is_too_strong_is_refused(desk: Desk) -> None:
    desk.hand_out("Ana", "F5")
    desk.set_meet(power_ceiling_mw=10)
    with pytest.raises(Refused, match="F5 is not for Bo: analogue 40 can't go below 25 mW, and the ceiling"):
        desk.share("Ana", "Bo")
    assert partners(desk) == {}


def test_the_page_lists_the_line_first_and_says_who_cannot(desk: Desk) -> None:
    desk.set_transmitter("Bo", kind_id=desk.world.kinds["analogue R"])
    desk.set_kind("digital wide", power_steps_mw="25", tuning="F")
    desk.set_transmitter("Cy", kind_id=desk.world.kinds["digital wide"])
    desk.hand_out("Ana", "F5", power_mw=25)
    desk.hand_out("Di", "R1")
    desk.share("Di", "Fay")
    desk.set_kind("digital wide", power_steps_mw="600")
    desk.set_meet(power_ceiling_mw=200)
    desk.join("Ed", "Bo")
    page = share_page(desk.store, desk.world.meet, desk.loan_of("Ana").loan_id, desk.clock())
    assert [(each.person.board_name, each.words, each.is_able) for each in page.people] == [
        ("Ed", "number 1 in the line, sets F5", True),
        ("Bo", "number 2 in the line, analogue R can't make it", False),
        ("Cy", "not in the line, digital wide can't go below 600 mW, and the ceiling of this meet is 200 mW", False),
        ("Fay", "not in the line, uses R1 by turns already", False),
    ]


def test_a_swap_without_turns_is_refused(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    with pytest.raises(Refused, match="Nobody uses R1 by turns"):
        desk.swap("R1")


def test_a_swap_keeps_the_floors(desk: Desk) -> None:
    desk.set_meet(spacing_floor_mhz=82)
    desk.set_transmitter("Bo", kind_id=desk.world.kinds["digital wide"])
    desk.hand_out("Ana", "R1")
    desk.share("Ana", "Bo")
    desk.hand_out("Cy", "F1")
    with pytest.raises(Refused, match="80 MHz from 5740 on air"):
        desk.swap("R1")
    desk.swap("R1", override_reason="both at the far end")
    assert desk.loan_of("Bo").override_reason == "both at the far end"


def test_in_self_service_the_holder_swaps_and_either_ends(desk: Desk) -> None:
    desk.set_meet(is_self_service=True)
    desk.hand_out("Ana", "R1")
    desk.share("Ana", "Bo")
    with pytest.raises(Forbidden):
        desk.as_pilot("Bo").swap("R1")
    desk.as_pilot("Ana").swap("R1")
    with pytest.raises(Forbidden):
        desk.as_pilot("Cy").end_turns("R1")
    desk.as_pilot("Ana").end_turns("R1")
    assert partners(desk) == {}


def test_only_the_desk_starts_turns(desk: Desk) -> None:
    desk.set_meet(is_self_service=True)
    desk.hand_out("Ana", "R1")
    with pytest.raises(Forbidden):
        desk.as_pilot("Ana").share("Ana", "Bo")
