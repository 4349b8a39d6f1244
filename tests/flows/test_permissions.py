"""Who may act for whom."""

from collections.abc import Callable

import pytest

from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Forbidden
from meetapp.flows.loans.permissions import check_desk, check_is_self, check_may_act, check_may_take_over
from tests.desk import MO, ORGANISER, STRANGER, Desk

ANA, BO = Actor("pilot", "Ana", pilot_id=1), Actor("pilot", "Bo", pilot_id=2)


@pytest.mark.parametrize(
    ("actor", "is_self_service", "may"),
    [
        (MO, False, True),
        (ORGANISER, False, True),
        (MO, True, True),
        (ANA, False, False),
        (ANA, True, True),
        (BO, True, False),
        (STRANGER, True, False),
        (Actor("pilot", "nobody yet"), True, False),
    ],
    ids=["marshal", "organiser", "marshal in self-service", "pilot", "pilot in self-service", "another pilot",
         "stranger", "pilot without a name"],
)
def test_who_may_handle_anas_token(desk: Desk, actor: Actor, is_self_service: bool, may: bool) -> None:
    desk.set_meet(is_self_service=is_self_service)
    snapshot = desk.snapshot()
    assert allowed(lambda: check_may_act(actor, snapshot, 1)) is may
    assert allowed(lambda: check_may_take_over(actor, snapshot, 1, is_offered=True)) is may
    assert allowed(lambda: check_may_take_over(actor, snapshot, 1, is_offered=False)) is (may and actor is not ANA)


def allowed(check: Callable[[], None]) -> bool:
    try:
        check()
    except Forbidden:
        return False
    return True


def test_a_ground_transmitter_is_for_the_desk(desk: Desk) -> None:
    desk.set_meet(is_self_service=True)
    assert not allowed(lambda: check_may_act(ANA, desk.snapshot(), None))
    assert not allowed(lambda: check_is_self(STRANGER, None))
    assert allowed(lambda: check_desk(MO))
    assert not allowed(lambda: check_desk(ANA))
