"""A request that is sent again does its work once and gets the same answer."""

import pytest

from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.loans import loans
from meetapp.store import tables as t
from tests.desk import Desk


def order(desk: Desk, who: str, label: str) -> loans.HandOut:
    return loans.HandOut(desk.world.meet, desk.world.pilots[who], desk.world.tokens[label])


def test_the_same_key_with_other_content_is_a_conflict(any_desk: Desk) -> None:
    loans.hand_out(any_desk.store, any_desk.deed("k", "one"), order(any_desk, "Ana", "R1"))
    with pytest.raises(Conflict, match="This form was already sent with other content"):
        loans.hand_out(any_desk.store, any_desk.deed("k", "two"), order(any_desk, "Bo", "R8"))
    assert any_desk.on_air() == {"Ana": ("R1", 5658)}


def test_a_resend_gets_its_answer_after_the_world_went_on(any_desk: Desk) -> None:
    deed = any_desk.deed("k")
    first = loans.hand_out(any_desk.store, deed, order(any_desk, "Ana", "R1"))
    any_desk.take_back("Ana")
    any_desk.hand_out("Bo", "R1")
    assert loans.hand_out(any_desk.store, deed, order(any_desk, "Ana", "R1")) == first
    assert any_desk.on_air() == {"Bo": ("R1", 5658)}


def test_a_refused_request_may_be_sent_again_with_the_same_key(any_desk: Desk) -> None:
    any_desk.missing("R1")
    deed = any_desk.deed("k")
    with pytest.raises(Refused):
        loans.hand_out(any_desk.store, deed, order(any_desk, "Ana", "R1"))
    assert any_desk.kinds() == ["token_missing"]
    any_desk.found("R1")
    loans.hand_out(any_desk.store, deed, order(any_desk, "Ana", "R1"))
    assert any_desk.on_air() == {"Ana": ("R1", 5658)}


def test_what_the_journal_says_and_what_the_tables_say_are_one_transaction(
    any_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_args: object, **_more: object) -> None:
        raise RuntimeError("the process dies here")

    monkeypatch.setattr("meetapp.flows.loans.giving.on_air_answer", fails)
    with pytest.raises(RuntimeError):
        any_desk.hand_out("Ana", "R1")
    assert any_desk.on_air() == {}
    assert any_desk.kinds() == []
    assert any_desk.row(t.PilotTransmitter, any_desk.world.transmitters["Ana"]).wake_mhz is None
