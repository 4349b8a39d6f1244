"""Pilots who keep the tokens themselves: the same floors, the same journal; passing on is confirmed by both."""

from datetime import timedelta

import pytest
from sqlmodel import select

from meetapp.flows.deeds import Answer
from meetapp.flows.errors import Forbidden, MeetError, NotFound, Refused
from meetapp.flows.loans import line, loans, pass_offers
from meetapp.flows.loans.loans import HandOut
from meetapp.flows.pilot import self_service
from meetapp.flows.pilot.own_view import my_view
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import as_pilot, deed, journal_kinds, run_by_pilots
from tests.world import NOON, World, add_pilot


@pytest.fixture
def own_keeping(store: Store, world: World) -> World:
    """The test meet, kept by the pilots themselves."""
    run_by_pilots(store)
    return world


def take(store: Store, world: World, name: str, token: str, minutes: int = 0) -> Answer:
    pilot_id = world.pilots[name]
    now = NOON + timedelta(minutes=minutes)
    return self_service.take(store, deed(as_pilot(pilot_id, name), now), pilot_id, world.tokens[token])


def taken_loan(store: Store, world: World, name: str, token: str) -> int:
    answer = take(store, world, name, token)
    assert answer.made_id is not None
    return answer.made_id


def offer(store: Store, world: World, name: str, to: str) -> int:
    pilot_id = world.pilots[name]
    answer = pass_offers.offer(store, deed(as_pilot(pilot_id)), world.meet, pilot_id, world.pilots[to])
    assert answer.made_id is not None
    return answer.made_id


def holder_of(store: Store, world: World, token: str) -> str | None:
    with store.read() as session:
        open_loan = select(t.Loan).where(t.Loan.token_id == world.tokens[token], t.Loan.in_at == None)  # noqa: E711
        loan = session.exec(open_loan).one_or_none()
    names = {pilot_id: name for name, pilot_id in world.pilots.items()}
    return names[loan.pilot_id or 0] if loan else None


def test_a_pilot_takes_a_token_and_is_told_what_to_set(store: Store, own_keeping: World) -> None:
    answer = take(store, own_keeping, "Ana", "R1")
    assert answer.location == "/my"
    assert "Set R1 (5658 MHz), 25 mW." in answer.notice
    assert holder_of(store, own_keeping, "R1") == "Ana"
    assert journal_kinds(store) == ["handed_out"]


def test_at_a_meet_kept_by_the_desk_a_pilot_takes_nothing(store: Store, world: World) -> None:
    with pytest.raises(Forbidden, match="the desk hands out the tokens"):
        take(store, world, "Ana", "R1")
    assert journal_kinds(store) == []


def test_nobody_takes_a_token_for_somebody_else(store: Store, own_keeping: World) -> None:
    ana = as_pilot(own_keeping.pilots["Ana"])
    with pytest.raises(Forbidden, match="for yourself only"):
        self_service.take(store, deed(ana), own_keeping.pilots["Bo"], own_keeping.tokens["R1"])


def test_a_token_that_is_out_says_with_whom_and_since_when(store: Store, own_keeping: World) -> None:
    take(store, own_keeping, "Ana", "R1")
    # 12:00 UTC is 14:00 at the field (Europe/Berlin in June).
    with pytest.raises(Refused, match="R1 is out with Ana since 14:00"):
        take(store, own_keeping, "Bo", "R1")


def test_below_a_floor_a_pilot_waits(store: Store, own_keeping: World) -> None:
    with store.write() as session:
        near = t.Token(code="T9", label="R2", nominal_mhz=5695, state_since=NOON)
        session.add(near)
        session.flush()
        session.add(t.MeetToken(meet_id=own_keeping.meet, token_id=near.id))
        meet = session.exec(select(t.Meet)).one()
        meet.spacing_floor_mhz = 40
        session.add(meet)
        session.commit()
        own_keeping.tokens["R2"] = near.id
    take(store, own_keeping, "Ana", "R1")
    with pytest.raises(Refused, match="37 MHz from 5658 on air, the floor is 40"):
        take(store, own_keeping, "Bo", "R2")


def test_what_is_held_back_for_an_overdue_head_is_refused_with_the_reason(store: Store, own_keeping: World) -> None:
    """Gus can make R1 alone and has waited past the limit of 20 minutes: R1 is his when it comes back."""
    with store.write() as session:
        kind = t.TransmitterKind(name="one channel", tuning="R1", width_mhz=20, power_steps_mw="25")
        session.add(kind)
        session.flush()
        own_keeping.kinds["one channel"] = kind.id
        gus = add_pilot(session, own_keeping, "Gus", "one channel")
        transmitter_id = own_keeping.transmitters["Gus"]
        session.add(
            t.Attendance(
                meet_id=own_keeping.meet, pilot_id=gus, transmitter_id=transmitter_id, checked_in_at=NOON
            )
        )
        session.commit()
    line.join_line(store, deed(), own_keeping.meet, gus)
    with pytest.raises(Refused, match="held back for Gus, who has waited 25 min"):
        take(store, own_keeping, "Ana", "R1", minutes=25)
    assert take(store, own_keeping, "Ana", "R8", minutes=25).made_id
    assert take(store, own_keeping, "Gus", "R1", minutes=26).made_id


def bring_back(store: Store, world: World, name: str, loan_id: int) -> Answer:
    return self_service.bring_back(store, deed(as_pilot(world.pilots[name])), loan_id)


def test_only_the_holder_brings_a_token_back(store: Store, own_keeping: World) -> None:
    loan_id = taken_loan(store, own_keeping, "Ana", "R1")
    with pytest.raises(Forbidden):
        bring_back(store, own_keeping, "Bo", loan_id)
    assert holder_of(store, own_keeping, "R1") == "Ana"
    assert bring_back(store, own_keeping, "Ana", loan_id).location == "/my"
    assert holder_of(store, own_keeping, "R1") is None


def test_an_offered_token_stays_until_the_other_one_takes_it(store: Store, own_keeping: World) -> None:
    loan_id = taken_loan(store, own_keeping, "Ana", "R1")
    bo = own_keeping.pilots["Bo"]
    offer(store, own_keeping, "Ana", "Bo")
    assert holder_of(store, own_keeping, "R1") == "Ana"
    [waiting] = my_view(store, bo, NOON).offers
    assert (waiting.from_name, waiting.token_label, waiting.loan_id) == ("Ana", "R1", loan_id)
    assert waiting.setting is not None
    answer = self_service.take_over(store, deed(as_pilot(bo)), bo, loan_id)
    assert "Set R1 (5658 MHz)" in answer.notice
    assert holder_of(store, own_keeping, "R1") == "Bo"
    assert my_view(store, bo, NOON).offers == ()
    assert journal_kinds(store) == ["handed_out", "pass_offered", "handed_over"]


def test_taking_over_sent_twice_is_done_once(store: Store, own_keeping: World) -> None:
    loan_id = taken_loan(store, own_keeping, "Ana", "R1")
    offer(store, own_keeping, "Ana", "Bo")
    bo = own_keeping.pilots["Bo"]
    sent = deed(as_pilot(bo))
    first = self_service.take_over(store, sent, bo, loan_id)
    assert self_service.take_over(store, sent, bo, loan_id) == first
    assert journal_kinds(store).count("handed_over") == 1


def test_what_was_not_offered_is_not_taken_over(store: Store, own_keeping: World) -> None:
    loan_id = taken_loan(store, own_keeping, "Ana", "R1")
    offer(store, own_keeping, "Ana", "Bo")
    cy = own_keeping.pilots["Cy"]
    with pytest.raises(Forbidden):
        self_service.take_over(store, deed(as_pilot(cy)), cy, loan_id)


@pytest.mark.parametrize("answer", ["withdrawn", "refused", "brought back"])
def test_an_offer_that_ended_is_not_taken_any_more(answer: str, store: Store, own_keeping: World) -> None:
    loan_id = taken_loan(store, own_keeping, "Ana", "R1")
    offer_id = offer(store, own_keeping, "Ana", "Bo")
    ana, bo = own_keeping.pilots["Ana"], own_keeping.pilots["Bo"]
    if answer == "withdrawn":
        pass_offers.withdraw(store, deed(as_pilot(ana)), own_keeping.meet, ana, offer_id)
    elif answer == "refused":
        pass_offers.refuse(store, deed(as_pilot(bo)), own_keeping.meet, bo, offer_id)
    else:
        bring_back(store, own_keeping, "Ana", loan_id)
    assert my_view(store, bo, NOON).offers == ()
    with pytest.raises(MeetError):
        self_service.take_over(store, deed(as_pilot(bo)), bo, loan_id)
    with pytest.raises(NotFound, match="no longer stands"):
        pass_offers.refuse(store, deed(as_pilot(bo)), own_keeping.meet, bo, offer_id)


def test_only_those_whom_an_offer_is_between_answer_it(store: Store, own_keeping: World) -> None:
    taken_loan(store, own_keeping, "Ana", "R1")
    offer_id = offer(store, own_keeping, "Ana", "Bo")
    cy = own_keeping.pilots["Cy"]
    with pytest.raises(Forbidden):
        pass_offers.withdraw(store, deed(as_pilot(cy)), own_keeping.meet, cy, offer_id)
    with pytest.raises(Forbidden):
        pass_offers.refuse(store, deed(as_pilot(cy)), own_keeping.meet, cy, offer_id)


def test_a_token_is_offered_to_one_at_a_time(store: Store, own_keeping: World) -> None:
    taken_loan(store, own_keeping, "Ana", "R1")
    offer(store, own_keeping, "Ana", "Bo")
    with pytest.raises(Refused, match="R1 is offered to Bo already"):
        offer(store, own_keeping, "Ana", "Cy")


@pytest.mark.parametrize(
    ("to", "sentence"),
    [
        pytest.param("Ana", "You hold R1 yourself", id="to oneself"),
        pytest.param("Bo", "Bo holds R8 since 14:00", id="holds another"),
        pytest.param("Cy", "Cy isn't here", id="gone home"),
        pytest.param("Gus", "Gus can't set R1", id="the transmitter can't"),
    ],
)
def test_an_offer_to_somebody_who_cannot_take_it(
    to: str, sentence: str, store: Store, own_keeping: World
) -> None:
    world = own_keeping
    taken_loan(store, world, "Ana", "R1")
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Bo"], world.tokens["R8"]))
    with store.write() as session:
        gone = session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Cy"])).one()
        gone.left_at = NOON
        gus = add_pilot(session, world, "Gus", "digital wide")
        transmitter_id = world.transmitters["Gus"]
        session.add(t.Attendance(meet_id=world.meet, pilot_id=gus, transmitter_id=transmitter_id, checked_in_at=NOON))
        kind = session.get_one(t.TransmitterKind, world.kinds["digital wide"])
        kind.tuning = "5914"
        session.commit()
    with pytest.raises(Refused, match=sentence):
        offer(store, world, "Ana", to)
    assert "pass_offered" not in journal_kinds(store)


def test_who_holds_nothing_offers_nothing(store: Store, own_keeping: World) -> None:
    with pytest.raises(Refused, match="You hold no token"):
        offer(store, own_keeping, "Ana", "Bo")


def test_at_a_meet_kept_by_the_desk_nothing_is_passed_on(store: Store, world: World) -> None:
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Ana"], world.tokens["R1"]))
    with pytest.raises(Refused, match="the desk hands tokens over"):
        offer(store, world, "Ana", "Bo")
    with pytest.raises(Refused, match="the desk hands tokens over"):
        pass_offers.pass_on_view(store, world.pilots["Ana"], NOON)


def test_those_in_the_line_are_named_first(store: Store, own_keeping: World) -> None:
    taken_loan(store, own_keeping, "Ana", "R1")
    line.join_line(store, deed(), own_keeping.meet, own_keeping.pilots["Ed"])
    takers = pass_offers.pass_on_view(store, own_keeping.pilots["Ana"], NOON).takers
    assert [taker.board_name for taker in takers] == ["Ed", "Bo", "Cy", "Di", "Fay"]
    assert takers[0].reason == "first in the line"
