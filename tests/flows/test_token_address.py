"""What a tag offers to whoever scans it or types its code."""

from datetime import timedelta

import pytest
from sqlmodel import Session, select

from meetapp.flows.errors import NotFound
from meetapp.flows.loans import line, loans, token_states
from meetapp.flows.loans.loans import HandOut
from meetapp.flows.pilot.token_address import PilotTag, desk_tag, folded, pilot_tag, token_id_of
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, run_by_pilots
from tests.world import NOON, World


def hand_out(store: Store, world: World, name: str, token: str) -> None:
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots[name], world.tokens[token]))


def join(store: Store, world: World, *names: str) -> None:
    for second, name in enumerate(names):
        line.join_line(store, deed(now=NOON + timedelta(seconds=second)), world.meet, world.pilots[name])


def only_makes(session: Session, world: World, name: str, tuning: str) -> None:
    kind = t.TransmitterKind(name=f"{name}'s", tuning=tuning, width_mhz=20, power_steps_mw="25")
    session.add(kind)
    session.flush()
    session.get_one(t.PilotTransmitter, world.transmitters[name]).kind_id = kind.id
    session.commit()


def mine(store: Store, world: World, name: str, code: str = "T1") -> PilotTag:
    return pilot_tag(store, code, world.pilots[name], NOON)


@pytest.mark.parametrize(
    ("code", "typed"),
    [
        pytest.param("K7B1", "k7b1", id="small letters"),
        pytest.param("K7B1", "K7BI", id="I for 1"),
        pytest.param("K7B1", "k7bl", id="small L for 1"),
        pytest.param("QO4X", "Q04X", id="0 for O"),
        pytest.param("A-12", "a12", id="without the dash"),
        pytest.param("A12", " a 12 ", id="with spaces"),
    ],
)
def test_a_code_is_found_as_people_type_it(code: str, typed: str, store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.Token, world.tokens["F1"]).code = code
        session.commit()
    assert token_id_of(store, typed) == world.tokens["F1"]


def test_of_two_codes_that_look_alike_the_exact_one_is_meant(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.Token, world.tokens["F1"]).code = "KO1"
        session.get_one(t.Token, world.tokens["F5"]).code = "K01"
        session.commit()
    assert token_id_of(store, "ko1") == world.tokens["F1"]
    assert token_id_of(store, "k01") == world.tokens["F5"]
    with pytest.raises(NotFound):
        token_id_of(store, "kol")


@pytest.mark.parametrize("typed", ["", " ", "--", "NOPE", "T" * 300, "T1'"])
def test_a_code_that_is_none_is_not_found(typed: str, store: Store, world: World) -> None:
    if folded(typed) == "T1":
        assert token_id_of(store, typed) == world.tokens["R1"]
        return
    with pytest.raises(NotFound, match="No token has the code"):
        token_id_of(store, typed)


def test_the_desk_is_offered_the_first_of_the_line_who_can_use_it(store: Store, world: World) -> None:
    with store.write() as session:
        only_makes(session, world, "Bo", "F5")
    join(store, world, "Bo", "Cy", "Di")
    view = desk_tag(store, "T1", NOON + timedelta(minutes=8))
    assert view.tag.state == "in"
    assert [taker.board_name for taker in view.takers] == ["Cy", "Di"]
    assert view.takers[0].reason == "sets R1, waits 7 min"
    assert [taker.board_name for taker in view.others] == ["Ana", "Ed", "Fay"]


def test_the_desk_is_not_offered_those_below_a_floor_first(store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().spacing_floor_mhz = 100
        session.commit()
    hand_out(store, world, "Ana", "R1")
    join(store, world, "Bo")
    view = desk_tag(store, "T2", NOON)
    assert view.takers == ()
    assert "Bo" in [taker.board_name for taker in view.others]


def test_the_desk_is_not_offered_others_for_what_is_held_back(store: Store, world: World) -> None:
    """Bo makes R1 alone and stands at the head past the limit of 20 minutes."""
    with store.write() as session:
        only_makes(session, world, "Bo", "R1")
    join(store, world, "Bo", "Cy")
    soon, late = (desk_tag(store, "T1", NOON + timedelta(minutes=minutes)) for minutes in (5, 25))
    assert [taker.board_name for taker in soon.takers] == ["Bo", "Cy"]
    assert [taker.board_name for taker in late.takers] == ["Bo"]


def test_a_token_that_is_out_shows_its_holder_and_who_could_take_over(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    join(store, world, "Bo")
    view = desk_tag(store, "T1", NOON + timedelta(minutes=34))
    assert view.tag.loan is not None
    assert (view.tag.state, view.tag.loan.who, view.tag.out_min) == ("out", "Ana", 34)
    assert [candidate.person.board_name for candidate in view.over_to] == ["Bo"]


def test_missing_and_withdrawn_say_since_when(store: Store, world: World) -> None:
    later = NOON + timedelta(minutes=1)
    token_states.mark_missing(store, deed(now=NOON), world.meet, world.tokens["R1"])
    token_states.withdraw(store, deed(now=later), world.meet, world.tokens["F1"])
    missing, withdrawn = desk_tag(store, "T1", NOON).tag, desk_tag(store, "T2", NOON).tag
    assert (missing.state, missing.since) == ("missing", NOON)
    assert (withdrawn.state, withdrawn.since) == ("withdrawn", later)


def test_a_token_that_plays_no_part_today_says_why(store: Store, world: World) -> None:
    with store.write() as session:
        session.add(t.Token(code="T9", label="R4", nominal_mhz=5769, state_since=NOON))
        session.commit()
    assert desk_tag(store, "T9", NOON).tag.why_idle == "it isn't in today's set"
    with store.write() as session:
        session.exec(select(t.Meet)).one().state = "closed"
        session.commit()
    assert desk_tag(store, "T1", NOON).tag.why_idle == "no meet is open"


def test_at_a_meet_kept_by_the_desk_a_pilot_is_sent_there(store: Store, world: World) -> None:
    view = mine(store, world, "Ana")
    assert (view.is_self_service, view.is_mine, view.to_set) == (False, False, None)


def test_the_holder_sees_what_to_set(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    view = mine(store, world, "Ana")
    assert view.is_mine
    assert view.to_set is not None
    assert (view.to_set.label, view.to_set.mhz) == ("R1", 5658)


def test_in_self_service_a_pilot_sees_what_they_would_set(store: Store, world: World) -> None:
    run_by_pilots(store)
    view = mine(store, world, "Ana")
    assert view.to_set is not None
    assert (view.to_set.label, view.why_not) == ("R1", "")
    assert view.to_set.power_words[0] == "Set 25 mW."


@pytest.mark.parametrize(
    ("what", "why"),
    [
        pytest.param("can't make it", "Ana's can't make it", id="the transmitter can't make it"),
        pytest.param("holds one", "Ana holds F5", id="holds another token"),
        pytest.param("not here", "you aren't checked in", id="not checked in"),
        pytest.param("floor", "the floor is 100", id="below a floor"),
    ],
)
def test_in_self_service_a_pilot_is_told_why_not(what: str, why: str, store: Store, world: World) -> None:
    run_by_pilots(store)
    with store.write() as session:
        if what == "can't make it":
            only_makes(session, world, "Ana", "F5")
        elif what == "not here":
            here = select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Ana"])
            session.exec(here).one().checked_in_at = None
        elif what == "floor":
            session.exec(select(t.Meet)).one().spacing_floor_mhz = 100
        session.commit()
    if what == "holds one":
        hand_out(store, world, "Ana", "F5")
    if what == "floor":
        hand_out(store, world, "Bo", "F1")
    view = mine(store, world, "Ana")
    assert view.to_set is None
    assert why in view.why_not
