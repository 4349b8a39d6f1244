"""Closing a meet: everything is settled in one step, then nothing changes any more."""

from datetime import timedelta

import pytest

from meetapp.flows.desk import alarms, pauses
from meetapp.flows.errors import Refused
from meetapp.flows.planning import chosen_set, closing, expected, meets, opening
from meetapp.flows.planning.meets import MeetDraft
from meetapp.store import tables as t
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day, organisers
from tests.world import NOON


def test_what_is_out_is_listed_with_who_has_it(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.lend_ground("line camera", 5780)
    desk.join("Bo")
    page = closing.closing_page(desk.store, desk.world.meet)
    assert [(loan.who, loan.token_label) for loan in page.still_out] == [("Ana", "R1"), ("line camera", "")]
    assert page.waiting == 1


def test_closing_settles_every_loan_and_ends_what_runs(any_desk: Desk) -> None:
    desk = any_desk
    fly_a_day(desk)
    page = closing.closing_page(desk.store, desk.world.meet)
    assert {loan.who for loan in page.still_out} == {"Bo", "Cy", "line camera"}
    assert page.alarms == ("Stray transmitter", "Everybody down")
    back_or_not: dict[int, closing.Settled] = {
        loan.loan_id: "missing" if loan.who == "Cy" else "back" for loan in page.still_out
    }
    closing.close_meet(desk.store, organisers(desk), desk.world.meet, back_or_not)
    meet = desk.row(t.Meet, desk.world.meet)
    assert (meet.state, meet.closed_at) == ("closed", desk.clock())
    assert desk.row(t.Token, desk.world.tokens["F1"]).state == "missing"
    assert desk.row(t.Token, desk.world.tokens["F5"]).state == "usable"
    for table, end in (
        (t.Loan, "in_at"),
        (t.LoanSetting, "until_at"),
        (t.LineEntry, "left_at"),
        (t.Sharing, "ended_at"),
        (t.Alarm, "ended_at"),
        (t.Pause, "ended_at"),
    ):
        assert [row for row in desk.rows(table) if row.voided_at is None and getattr(row, end) is None] == []
    last = desk.kinds()[-6:]
    assert sorted(last) == sorted(
        ["taken_back", "token_missing", "ground_off", "alarm_over", "alarm_over", "meet_closed"]
    )
    assert last[-1] == "meet_closed"


def test_a_running_pause_ends_with_the_meet(desk: Desk) -> None:
    pauses.pause(desk.store, desk.deed(), desk.world.meet, "wind")
    desk.clock.forward(minutes=7)
    close_it(desk)
    [pause] = desk.rows(t.Pause)
    assert pause.ended_at == NOON + timedelta(minutes=7)
    assert desk.kinds()[-2:] == ["resumed", "meet_closed"]


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        pytest.param({}, "R1 is out with Ana since 14:00: is it back or missing?", id="not said"),
        pytest.param({"R1": "back"}, "without a token is out with line camera since 14:00", id="ground not said"),
        pytest.param({"R1": "back", "": "missing"}, "no token here that could be missing", id="no token"),
    ],
)
def test_an_unsettled_loan_keeps_the_meet_open(desk: Desk, answers: dict[str, closing.Settled], words: str) -> None:
    desk.hand_out("Ana", "R1")
    desk.lend_ground("line camera", 5780)
    page = closing.closing_page(desk.store, desk.world.meet)
    settled = {loan.loan_id: answers[loan.token_label] for loan in page.still_out if loan.token_label in answers}
    before = desk.kinds()
    with pytest.raises(Refused, match=words) as refused:
        closing.close_meet(desk.store, organisers(desk), desk.world.meet, settled)
    assert refused.value.field is not None
    assert refused.value.field.startswith("loan-")
    assert desk.row(t.Meet, desk.world.meet).state == "open"
    assert desk.kinds() == before
    assert len(desk.on_air()) == 2


def test_a_resent_close_answers_the_same(desk: Desk) -> None:
    deed = organisers(desk, "the-same-key")
    first = closing.close_meet(desk.store, deed, desk.world.meet, {})
    assert closing.close_meet(desk.store, deed, desk.world.meet, {}) == first
    assert desk.kinds().count("meet_closed") == 1


def test_nothing_changes_in_a_closed_meet(desk: Desk) -> None:
    fly_a_day(desk)
    close_it(desk)
    store, meet, world = desk.store, desk.world.meet, desk.world
    before = desk.kinds()
    draft = MeetDraft("New name", NOON.date(), world.site, 4, 2, 20, None, "both", False)
    attempts = [
        lambda: desk.hand_out("Ana", "R8"),
        lambda: desk.join("Ana"),
        lambda: desk.found("R1"),
        lambda: pauses.pause(store, desk.deed(), meet, "wind"),
        lambda: alarms.raise_alarm(store, desk.deed(), "stray"),
        lambda: closing.close_meet(store, organisers(desk), meet, {}),
        lambda: opening.open_meet(store, organisers(desk), meet),
        lambda: opening.new_desk_access(store, organisers(desk), meet, "a-link"),
        lambda: meets.change_meet(store, organisers(desk), meet, draft),
        lambda: expected.set_expected(store, organisers(desk), meet, {}),
        lambda: chosen_set.set_tokens(store, organisers(desk), meet, [], with_usual_floors=False),
        lambda: chosen_set.accept_set(store, organisers(desk), chosen_set.AcceptedSet(meet, (5658,), 37, 37, None)),
    ]
    for attempt in attempts:
        with pytest.raises(Refused):
            attempt()
    assert desk.kinds() == before
