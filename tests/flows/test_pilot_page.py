"""A pilot's own page says at each moment what to set or what to wait for."""

from datetime import timedelta

import pytest
from sqlmodel import Session, select

from meetapp.flows.desk import pauses
from meetapp.flows.desk.desk import desk_view
from meetapp.flows.desk.live import live_version
from meetapp.flows.errors import MeetError, NotFound, Refused
from meetapp.flows.loans import line, loans, sharing
from meetapp.flows.loans.loans import HandOut
from meetapp.flows.pilot import pilot_page
from meetapp.flows.pilot.own_view import MyView, my_view
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import DESK, as_pilot, deed, journal_kinds
from tests.world import NOON, World, add_pilot


def view(store: Store, world: World, name: str, minutes: int = 0) -> MyView:
    return my_view(store, world.pilots[name], NOON + timedelta(minutes=minutes))


def hand_out(store: Store, world: World, name: str, token: str, minutes: int = 0) -> int:
    order = HandOut(world.meet, world.pilots[name], world.tokens[token])
    answer = loans.hand_out(store, deed(now=NOON + timedelta(minutes=minutes)), order)
    assert answer.made_id is not None
    return answer.made_id


def join(store: Store, world: World, *names: str) -> None:
    for minute, name in enumerate(names):
        line.join_line(store, deed(now=NOON + timedelta(minutes=minute)), world.meet, world.pilots[name])


def change(store: Store, row: type, **values: object) -> None:
    """Set values on the only row, or on every row, of a table."""
    with store.write() as session:
        for each in session.exec(select(row)):
            for name, value in values.items():
                setattr(each, name, value)
            session.add(each)
        session.commit()


def test_who_holds_a_token_sees_what_to_set_and_how(store: Store, world: World) -> None:
    change(store, t.TransmitterKind, setting_hint="Hold the button for 3 s.")
    change(store, t.Meet, power_ceiling_mw=200)
    hand_out(store, world, "Ana", "R1")
    join(store, world, "Bo", "Cy")
    mine = view(store, world, "Ana", minutes=34)
    assert mine.state == "holding"
    assert mine.holding is not None
    assert (mine.holding.token_label, mine.holding.out_min, mine.holding.waiting) == ("R1", 34, 2)
    to_set = mine.holding.to_set
    assert (to_set.label, to_set.mhz, to_set.on_transmitter) == ("R1", 5658, "")
    assert to_set.setting_hint == "Hold the button for 3 s."
    assert to_set.wake_words == "wake channel unknown: nobody else is on air now"
    assert to_set.power_words == (
        "Set 25 mW.",
        "The club's ceiling is 200 mW.",
        "The band profile names 25 mW here.",
        "Local rules and the licence may be lower.",
    )


def test_a_transmitter_tuned_in_mhz_is_told_the_channel_and_its_own_words(store: Store, world: World) -> None:
    with store.write() as session:
        add_tunable_gus(session, world)
    hand_out(store, world, "Gus", "F1")
    mine = view(store, world, "Gus")
    assert mine.holding is not None
    assert (mine.holding.to_set.label, mine.holding.to_set.on_transmitter) == ("F1", "5740 MHz")


def add_tunable_gus(session: Session, world: World) -> None:
    gus = add_pilot(session, world, "Gus", "analogue tunable")
    session.add(
        t.Attendance(
            meet_id=world.meet, pilot_id=gus, transmitter_id=world.transmitters["Gus"], checked_in_at=NOON
        )
    )
    session.commit()


def test_once_seen_on_own_goggles_the_wake_channel_no_longer_matters(store: Store, world: World) -> None:
    loan_id = hand_out(store, world, "Ana", "R1")
    loans.mark_seen(store, deed(), world.meet, loan_id)
    mine = view(store, world, "Ana")
    assert mine.holding is not None
    assert mine.holding.to_set.wake_words == ""


def test_the_head_of_the_line_sees_the_free_token_and_what_to_set(store: Store, world: World) -> None:
    join(store, world, "Ana", "Bo")
    mine = view(store, world, "Ana", minutes=5)
    assert mine.state == "next"
    assert mine.standing is not None
    assert (mine.standing.number, mine.standing.of, mine.standing.waited_min) == (1, 2, 5)
    assert mine.standing.free_label in world.tokens
    assert mine.standing.to_set is not None


def test_those_behind_see_their_number_and_who_is_out_the_longest(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    hand_out(store, world, "Bo", "R8", minutes=12)
    join(store, world, "Cy", "Di", "Ed")
    mine = view(store, world, "Ed", minutes=30)
    assert mine.state == "waiting"
    assert mine.standing is not None
    assert (mine.standing.number, mine.standing.of) == (3, 3)
    assert [(out.label, out.who, out.out_min) for out in mine.longest_out] == [("R1", "Ana", 30), ("R8", "Bo", 18)]


def test_the_head_with_every_token_out_is_next_but_waits(store: Store, world: World) -> None:
    for name, token in zip(("Ana", "Bo", "Cy", "Di"), world.tokens, strict=True):
        hand_out(store, world, name, token)
    join(store, world, "Ed")
    mine = view(store, world, "Ed")
    assert mine.state == "next"
    assert mine.standing is not None
    assert mine.standing.to_set is None
    assert "none of the tokens" in mine.standing.why_none


def test_one_behind_is_asked_where_the_head_can_take_nothing_now(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.TransmitterKind, world.kinds["analogue R"]).tuning = "R8"
        session.get_one(t.PilotTransmitter, world.transmitters["Bo"]).kind_id = world.kinds["analogue R"]
        session.commit()
    hand_out(store, world, "Ana", "R8")
    join(store, world, "Bo", "Cy", "Di")
    bo, cy, di = (view(store, world, name) for name in ("Bo", "Cy", "Di"))
    assert (bo.state, cy.state, di.state) == ("next", "next", "waiting")
    assert bo.standing is not None
    assert cy.standing is not None
    assert (bo.standing.to_set, bool(bo.standing.why_none)) == (None, True)
    assert (cy.standing.number, cy.standing.free_label) == (2, "R1")


def test_a_skipped_pilot_is_told_so_and_the_next_one_is_asked(store: Store, world: World) -> None:
    join(store, world, "Ana", "Bo")
    line.not_ready(store, deed(as_pilot(world.pilots["Ana"])), world.meet, world.pilots["Ana"])
    ana, bo = view(store, world, "Ana"), view(store, world, "Bo")
    assert ana.standing is not None
    assert (ana.state, ana.standing.is_skipped, ana.standing.number) == ("waiting", True, 1)
    assert bo.state == "next"


def test_a_pause_is_in_sight_and_its_waiting_does_not_count(store: Store, world: World) -> None:
    join(store, world, "Ana", "Bo")
    pauses.pause(store, deed(now=NOON + timedelta(minutes=5)), world.meet, "wind")
    mine = view(store, world, "Ana", minutes=20)
    assert (mine.paused_since, mine.pause_reason) == (NOON + timedelta(minutes=5), "wind")
    assert mine.standing is not None
    assert mine.standing.waited_min == 5


def test_two_who_share_by_turns_see_whose_turn_it_is(store: Store, world: World) -> None:
    loan_id = hand_out(store, world, "Ana", "R1")
    sharing.share(store, deed(), world.meet, loan_id, world.pilots["Bo"])
    ana, bo = view(store, world, "Ana", minutes=7), view(store, world, "Bo", minutes=7)
    assert ana.holding is not None
    assert ana.holding.turns_with == "Bo"
    assert bo.state == "turns"
    assert bo.turns is not None
    other = bo.turns.other
    assert (other.who, other.label, other.out_min, bo.turns.token_id) == ("Ana", "R1", 7, world.tokens["R1"])


def test_who_is_not_here_yet_or_has_told_no_transmitter_is_told_what_to_do(store: Store, world: World) -> None:
    change(store, t.Attendance, checked_in_at=None, transmitter_id=None)
    assert view(store, world, "Ana").state == "away"
    change(store, t.Attendance, checked_in_at=NOON)
    assert view(store, world, "Ana").state == "no_transmitter"


def test_a_closed_meet_is_named_to_those_who_came(store: Store, world: World) -> None:
    change(store, t.Meet, state="closed", closed_at=NOON)
    mine = view(store, world, "Ana")
    assert (mine.state, mine.meet_name, mine.meet_id) == ("closed", "June meet", None)
    with store.write() as session:
        gus = add_pilot(session, world, "Gus")
        session.commit()
    assert my_view(store, gus, NOON).state == "no_meet"


def test_a_retired_pilot_has_no_page(store: Store, world: World) -> None:
    change(store, t.Pilot, retired_at=NOON)
    with pytest.raises(NotFound):
        view(store, world, "Ana")


def test_the_word_of_what_is_shown_changes_with_the_journal_and_the_minute(store: Store, world: World) -> None:
    first = live_version(store, NOON)
    assert live_version(store, NOON + timedelta(seconds=59)) == first
    assert live_version(store, NOON + timedelta(seconds=60)) != first
    join(store, world, "Ana")
    assert live_version(store, NOON) != first


def say_here(store: Store, world: World, name: str) -> None:
    pilot_id = world.pilots[name]
    pilot_page.say_here(store, deed(as_pilot(pilot_id)), world.meet, pilot_id)


def test_a_pilot_checks_themself_in_and_comes_back_after_going_home(store: Store, world: World) -> None:
    change(store, t.Attendance, checked_in_at=NOON - timedelta(hours=2), left_at=NOON - timedelta(hours=1))
    assert view(store, world, "Ana").state == "away"
    say_here(store, world, "Ana")
    assert view(store, world, "Ana").state == "free"
    assert journal_kinds(store) == ["here_by_self"]


def bring(store: Store, world: World, name: str, brought: Brought) -> None:
    pilot_id = world.pilots[name]
    pilot_page.bring_transmitter(store, deed(as_pilot(pilot_id)), world.meet, pilot_id, brought)


def test_a_pilot_says_which_transmitter_they_use_today(store: Store, world: World) -> None:
    bring(store, world, "Ana", Brought(kind_id=world.kinds["analogue R"]))
    assert view(store, world, "Ana").transmitter == "analogue R"
    assert len(pilot_page.transmitter_view(store, world.pilots["Ana"], NOON).own) == 2


@pytest.mark.parametrize(
    ("brought", "sentence"),
    [
        pytest.param(Brought(), "Say which transmitter", id="nothing chosen"),
        pytest.param(Brought(transmitter_id=9999), "isn't on the list", id="not there"),
        pytest.param(Brought(kind_id=9999), "kind of transmitter isn't there", id="no such kind"),
    ],
)
def test_a_transmitter_that_cannot_be_is_refused(
    brought: Brought, sentence: str, store: Store, world: World
) -> None:
    with pytest.raises(Refused, match=sentence):
        bring(store, world, "Ana", brought)
    assert journal_kinds(store) == []


def test_during_a_loan_the_transmitter_stays(store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    with pytest.raises(Refused, match="You hold R1"):
        bring(store, world, "Ana", Brought(kind_id=world.kinds["analogue R"]))


def test_at_a_closed_meet_nobody_says_that_they_are_here(store: Store, world: World) -> None:
    change(store, t.Meet, state="closed", closed_at=NOON)
    with pytest.raises(MeetError, match="not open"):
        say_here(store, world, "Ana")


def test_those_who_wait_for_a_token_are_those_whom_the_desk_counts(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Cy"]).kind_id = world.kinds["analogue R"]
        session.commit()
    hand_out(store, world, "Ana", "F5")
    join(store, world, "Bo", "Cy", "Di")
    mine = view(store, world, "Ana")
    (row,) = desk_view(store, world.meet, NOON, DESK).on_air
    assert mine.holding is not None
    assert mine.holding.waiting == row.waiting == 2
