"""One token at the desk: where it is, missing, found, withdrawn."""

import pytest

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, loans_of, post, press_twice
from tests.world import Clock, World


def state(store: Store, world: World, label: str) -> str:
    with store.read() as session:
        return session.get_one(t.Token, world.tokens[label]).state


def test_a_missing_token_says_who_had_it_last_and_since_when(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    clock.forward(minutes=30)
    marshal.open(f"/desk/tokens/{world.tokens['R1']}")
    assert "out with Ana since 14:00" in marshal.text
    press_twice(marshal, "It is missing")
    assert marshal.path == f"/desk/tokens/{world.tokens['R1']}"
    assert "Ana had it last" in marshal.text
    assert "never came back" in marshal.text
    assert state(store, world, "R1") == "missing"
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
    assert (loan.ended_missing, loan.in_at) == (True, clock())
    assert journal_kinds(store).count("token_missing") == 1
    marshal.press("Found: it hangs on the board")
    assert "never came back" not in marshal.text
    assert "went missing, found since" in marshal.text


def test_a_missing_token_is_found(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/tokens/{world.tokens['R1']}/missing")
    marshal.open(f"/desk/tokens/{world.tokens['R1']}")
    press_twice(marshal, "Found: it hangs on the board")
    assert state(store, world, "R1") == "usable"
    assert journal_kinds(store) == ["token_missing", "token_found"]


def test_a_token_is_withdrawn_and_comes_back_in_use(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open(f"/desk/tokens/{world.tokens['R1']}")
    press_twice(marshal, "Withdraw it")
    assert state(store, world, "R1") == "withdrawn"
    marshal.open("/desk")
    tag = marshal.page.find("svg", {"aria-label": "Token R1, 5658 MHz, code T1, withdrawn"})
    assert tag is not None
    marshal.open(f"/desk/tokens/{world.tokens['R1']}")
    marshal.press("Back in use")
    assert state(store, world, "R1") == "usable"


@pytest.mark.parametrize("step", ["withdraw"])
def test_a_token_that_is_out_is_not_withdrawn(step: str, marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    post(marshal, f"/desk/tokens/{world.tokens['R1']}/{step}")
    assert marshal.page.find(id="desk") is not None
    assert "Ana" in marshal.text
    assert state(store, world, "R1") == "usable"


def test_a_token_covered_by_a_wide_carrier_says_by_whose(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Ed"]).kind_id = world.kinds["digital wide"]
        near = t.Token(code="X1", label="F8", nominal_mhz=5880, state_since=session.get_one(t.Meet, 1).opened_at)
        wide = t.Token(code="X2", label="W8", nominal_mhz=5914, state_since=session.get_one(t.Meet, 1).opened_at)
        session.add_all([near, wide])
        session.flush()
        session.add_all([t.MeetToken(meet_id=world.meet, token_id=token.id) for token in (near, wide)])
        world.tokens |= {"F8": near.id, "W8": wide.id}
        session.commit()
    post(marshal, f"/desk/pilots/{world.pilots['Ed']}/hand-out", token_id=world.tokens["W8"])
    marshal.open("/desk")
    assert "blocked by 5914 MHz (Ed)" in marshal.text
    marshal.open(f"/desk/tokens/{world.tokens['F8']}")
    assert "blocked by 5914 MHz (Ed)" in marshal.text


def test_a_token_of_another_meet_is_not_on_this_desk(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        token = t.Token(code="Z9", label="L1", nominal_mhz=5362, state_since=session.get_one(t.Meet, 1).opened_at)
        session.add(token)
        session.commit()
        token_id = token.id
    marshal.open(f"/desk/tokens/{token_id}")
    assert marshal.status == 404
    post(marshal, f"/desk/tokens/{token_id}/withdraw")
    assert marshal.status == 404
