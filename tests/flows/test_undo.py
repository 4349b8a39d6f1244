"""Undo of one's own last action: doing and undoing leaves the meet as it was."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from meetapp.flows import journal
from meetapp.flows.deeds import Answer
from meetapp.flows.desk import check_in
from meetapp.flows.errors import MeetError, NotFound, Refused
from meetapp.flows.loans.undo import undo
from meetapp.flows.snapshot import Snapshot
from meetapp.store import tables as t
from tests.desk import LU, Desk
from tests.world import NOON


def timeless(snapshot: Snapshot) -> Snapshot:
    """A meet apart from the clock and the length of its journal."""
    return replace(snapshot, version=0, now=NOON)


@pytest.fixture
def busy(any_desk: Desk) -> Desk:
    """Ana has R1 by turns with Fay, a camera is on air, Bo (passed once), Cy and Di wait, F5 is missing."""
    any_desk.set_transmitter("Cy", wake_mhz=5880)
    any_desk.set_transmitter("Ana", kind_id=any_desk.world.kinds["analogue tunable"])
    any_desk.hand_out("Ana", "R1")
    any_desk.lend_ground("camera", 5780)
    any_desk.share("Ana", "Fay")
    any_desk.missing("F5")
    any_desk.join("Bo", "Cy", "Di")
    any_desk.not_ready("Bo")
    return any_desk


STEPS: dict[str, tuple[Callable[[Desk], Answer], str]] = {
    "hand out": (
        lambda desk: desk.hand_out("Cy", "R8"),
        "Undone. Fetch tag R8 back from Cy before anybody else powers up.",
    ),
    "hand out to a partner": (
        lambda desk: desk.hand_out("Fay", "R8"),
        "Undone. Fetch tag R8 back from Fay before anybody else powers up.",
    ),
    "ground": (
        lambda desk: desk.lend_ground("gate camera", 5860, override_reason="short"),
        "Undone. gate camera has to go off air again.",
    ),
    "take back": (
        lambda desk: desk.take_back("Ana"),
        "Undone. Give R1 back to Ana: it counts as out without a break.",
    ),
    "ground off": (
        lambda desk: desk.take_back("camera"),
        "Undone. camera counts as on air without a break.",
    ),
    "hand over": (
        lambda desk: desk.hand_over("Ana", "Cy"),
        "Undone. Fetch tag R1 back from Cy and give it to Ana again, before anybody powers up.",
    ),
    "swap": (
        lambda desk: desk.swap("R1"),
        "Undone. Fetch tag R1 back from Fay and give it to Ana again, before anybody powers up.",
    ),
    "end turns": (lambda desk: desk.end_turns("R1"), "Undone. Ana and Fay use R1 by turns again."),
    "change": (
        lambda desk: desk.change("Ana", mhz=5659, power_mw=200),
        "Undone. Ana has to set 5658 MHz again.",
    ),
    "seen": (lambda desk: desk.tick_seen("Ana"), "Undone. The tick for Ana is taken away."),
    "join": (lambda desk: desk.join("Ed"), "Undone. Ed is out of the line again."),
    "leave": (lambda desk: desk.leave("Cy"), "Undone. Cy stands in the line again, at the old place."),
    "not ready": (lambda desk: desk.not_ready("Cy"), "Undone. Cy is ready again."),
    "ready again": (lambda desk: desk.ready_again("Bo"), "Undone. Bo is passed once, as before."),
    "missing while out": (
        lambda desk: desk.missing("R1"),
        "Undone. R1 is not missing: it counts as out with Ana without a break.",
    ),
    "missing from the board": (lambda desk: desk.missing("R8"), "Undone. R8 is not missing."),
    "found": (lambda desk: desk.found("F5"), "Undone. F5 is missing again."),
    "withdraw": (lambda desk: desk.withdraw("R8"), "Undone. R8 is in use again."),
}


@pytest.mark.parametrize("step", STEPS)
def test_doing_and_undoing_leaves_the_meet_as_it_was(busy: Desk, step: str) -> None:
    do, notice = STEPS[step]
    before = busy.snapshot()
    clock = busy.clock.now
    answer = do(busy)
    busy.clock.now = clock
    assert timeless(busy.snapshot()) != timeless(before)
    assert busy.undo(answer).notice == notice
    assert timeless(busy.snapshot()) == timeless(before)
    assert busy.kinds()[-1] == "undone"
    assert busy.rows(t.JournalLine)[-1].undoes_id == answer.undo_id


def test_a_share_is_undone_with_the_partner_back_in_the_line(any_desk: Desk) -> None:
    any_desk.hand_out("Ana", "R1")
    any_desk.join("Bo", "Cy")
    before = any_desk.snapshot()
    any_desk.undo(any_desk.share("Ana", "Cy"))
    assert timeless(any_desk.snapshot()) == timeless(before)


def test_one_after_the_other_from_the_last(any_desk: Desk) -> None:
    first = any_desk.hand_out("Ana", "R1")
    second = any_desk.hand_out("Bo", "R8")
    refused(any_desk, first, "Only your own last action can be undone, and you did something since.")
    any_desk.undo(second)
    any_desk.undo(first)
    assert any_desk.on_air() == {}


def refused(desk: Desk, answer: Answer, sentence: str, error: type[MeetError] = Refused) -> None:
    before = (timeless(desk.snapshot()), desk.kinds())
    with pytest.raises(error) as refusal:
        desk.undo(answer)
    assert refusal.value.message == sentence
    assert (timeless(desk.snapshot()), desk.kinds()) == before


RESTS = "Something rests on this already, so it can't be undone."


def test_an_override_is_undone_with_its_hand_out(any_desk: Desk) -> None:
    any_desk.set_meet(spacing_floor_mhz=83)
    any_desk.hand_out("Ana", "R1")
    answer = any_desk.hand_out("Bo", "F1", override_reason="far end of the field")
    any_desk.undo(answer)
    lines = journal.lines(any_desk.store, any_desk.world.meet)
    assert [(line.kind, line.is_undone) for line in lines] == [
        ("handed_out", False),
        ("handed_out", True),
        ("override", True),
        ("undone", False),
        ("undone", False),
    ]


def test_only_by_whoever_did_it(desk: Desk) -> None:
    answer = desk.hand_out("Ana", "R1")
    refused(desk.acting(LU), answer, "Mo did this.")


def test_only_once(any_desk: Desk) -> None:
    answer = any_desk.hand_out("Ana", "R1")
    any_desk.undo(answer)
    refused(any_desk, answer, "This was undone already.")


def test_the_same_undo_sent_twice_is_done_once(any_desk: Desk) -> None:
    answer = any_desk.hand_out("Ana", "R1")
    deed = any_desk.deed()
    first = undo(any_desk.store, deed, answer.undo_id or 0)
    assert undo(any_desk.store, deed, answer.undo_id or 0) == first
    assert any_desk.kinds() == ["handed_out", "undone"]


def test_what_others_do_in_between_does_not_matter(desk: Desk) -> None:
    answer = desk.hand_out("Ana", "R1")
    desk.acting(LU).hand_out("Bo", "R8")
    desk.undo(answer)
    assert desk.on_air() == {"Bo": ("R8", 5917)}


def test_an_undo_itself_is_not_undone(desk: Desk) -> None:
    desk.undo(desk.hand_out("Ana", "R1"))
    line = desk.rows(t.JournalLine)[-1]
    refused(desk, Answer("", "", undo_id=line.id), "This can't be undone.")


def test_an_unknown_line_is_not_found(desk: Desk) -> None:
    refused(desk, Answer("", "", undo_id=999), "This isn't in the journal.", NotFound)


def test_not_after_the_meet_is_closed(desk: Desk) -> None:
    answer = desk.hand_out("Ana", "R1")
    desk.set_meet(state="closed")
    with pytest.raises(Refused, match="is not open"):
        desk.undo(answer)


LATER: dict[str, tuple[Callable[[Desk], Answer], Callable[[Desk], object]]] = {
    "a hand-out, once the token came back": (
        lambda desk: desk.hand_out("Cy", "R8"),
        lambda desk: desk.take_back("Cy"),
    ),
    "a hand-out, once the picture was seen": (
        lambda desk: desk.hand_out("Cy", "R8"),
        lambda desk: desk.tick_seen("Cy"),
    ),
    "a hand-out, once something else was set": (
        lambda desk: desk.hand_out("Cy", "R8"),
        lambda desk: desk.change("Cy", power_mw=200),
    ),
    "a hand-out, once it was offered on": (lambda desk: desk.hand_out("Cy", "R8"), lambda desk: offer(desk, "Cy")),
    "a hand-out, once a clash was reported": (lambda desk: desk.hand_out("Cy", "R8"), lambda desk: report(desk, "Cy")),
    "a take-back, once the token is out again": (
        lambda desk: desk.take_back("Ana"),
        lambda desk: desk.hand_out("Ed", "R1"),
    ),
    "a take-back, once the token was out and back": (
        lambda desk: desk.take_back("Ana"),
        lambda desk: (desk.hand_out("Ed", "R1"), desk.clock.forward(minutes=1), desk.take_back("Ed")),
    ),
    "a take-back, once the pilot holds another": (
        lambda desk: desk.take_back("Ana"),
        lambda desk: desk.hand_out("Ana", "R8"),
    ),
    "a hand-over, once it went on": (
        lambda desk: desk.hand_over("Ana", "Cy"),
        lambda desk: desk.hand_over("Cy", "Di"),
    ),
    "a missing token, once it was found": (lambda desk: desk.missing("R8"), lambda desk: desk.found("R8")),
    "a found token, once it is out": (lambda desk: desk.found("F5"), lambda desk: desk.hand_out("Cy", "F5")),
    "a place in the line, once it was left": (lambda desk: desk.join("Ed"), lambda desk: desk.leave("Ed")),
    "a place in the line, once it was served": (
        lambda desk: desk.join("Ed"),
        lambda desk: desk.hand_out("Ed", "R8"),
    ),
}
WORDS = {
    "a found token, once it is out": "This can't be undone any more: F5 would be out, but it isn't in use.",
}


@pytest.mark.parametrize("what", LATER)
def test_refused_once_something_rests_on_it(busy: Desk, what: str) -> None:
    do, later = LATER[what]
    answer = do(busy)
    busy.clock.forward(minutes=1)
    later(busy.acting(LU))
    refused(busy, answer, WORDS.get(what, RESTS))


def offer(desk: Desk, who: str) -> None:
    with desk.store.write() as session:
        loan_id = desk.loan_of(who).loan_id
        to = desk.world.pilots["Ed"]
        session.add(t.PassOffer(meet_id=desk.world.meet, loan_id=loan_id, to_pilot_id=to, started_at=desk.clock()))
        session.commit()


def report(desk: Desk, who: str) -> None:
    with desk.store.write() as session:
        loan_id, at = desk.loan_of(who).loan_id, desk.clock()
        session.add(t.ClashReport(meet_id=desk.world.meet, loan_id=loan_id, happened_at=at, entered_at=at, look="gone"))
        session.commit()


def test_a_take_back_once_the_pilot_waits_again(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    answer = desk.take_back("Ana")
    desk.acting(LU).join("Ana")
    refused(desk, answer, "This can't be undone any more: Ana would hold a token and stand in the line.")


def test_a_hand_out_once_it_is_used_by_turns(desk: Desk) -> None:
    answer = desk.hand_out("Ana", "R1")
    desk.acting(LU).share("Ana", "Bo")
    refused(desk, answer, "This can't be undone any more: R1 is used by turns.")


def test_a_join_once_the_line_moved_on_around_it(desk: Desk) -> None:
    desk.join("Ana")
    answer = desk.join("Bo")
    lu = desk.acting(LU)
    lu.join("Cy")
    lu.hand_out("Ana", "R1")
    desk.undo(answer)
    assert desk.in_line() == ["Cy"]
    assert desk.snapshot().line[0].head_since is not None


class TestFloors:
    """What comes back on air is judged against what went on air since."""

    @pytest.fixture
    def tight(self, any_desk: Desk) -> Desk:
        any_desk.set_meet(spacing_floor_mhz=83)
        any_desk.hand_out("Ana", "R1")
        any_desk.clock.forward(minutes=1)
        return any_desk

    def test_a_take_back_is_not_undone_into_a_broken_floor(self, tight: Desk) -> None:
        answer = tight.take_back("Ana")
        tight.clock.forward(minutes=1)
        tight.acting(LU).hand_out("Bo", "F1")
        refused(tight, answer, "R1 can't come back on air now: 82 MHz from 5740 on air, the floor is 83.")

    def test_what_was_overridden_before_comes_back(self, tight: Desk) -> None:
        tight.hand_out("Bo", "F1", override_reason="far end of the field")
        tight.clock.forward(minutes=1)
        before = tight.snapshot()
        tight.undo(tight.take_back("Bo"))
        assert timeless(tight.snapshot()) == timeless(before)

    def test_a_change_is_not_undone_into_a_broken_floor(self, tight: Desk) -> None:
        tight.set_transmitter("Bo", kind_id=tight.world.kinds["analogue tunable"])
        tight.set_meet(spacing_floor_mhz=80)
        tight.hand_out("Bo", "F1", mhz=5738)
        tight.clock.forward(minutes=1)
        answer = tight.change("Bo", mhz=5742)
        tight.clock.forward(minutes=1)
        tight.set_transmitter("Cy", kind_id=tight.world.kinds["analogue tunable"])
        lu = tight.acting(LU)
        lu.take_back("Ana")
        lu.hand_out("Cy", "R1", mhz=5660)
        refused(tight, answer, "F1 can't come back on air now: 78 MHz from 5660 on air, the floor is 80.")


def test_undoing_a_check_in_waits_for_what_the_pilot_did_since(desk: Desk) -> None:
    order = check_in.NewPilot(desk.world.meet, "Gil", kind_id=desk.world.kinds["analogue 40"])
    answer = check_in.check_in_new(desk.store, desk.deed(), order)
    desk.world.pilots["Gil"] = answer.made_id or 0
    desk.clock.forward(minutes=1)
    lu = desk.acting(LU)
    lu.join("Gil")
    lu.leave("Gil")
    refused(desk, answer, RESTS)
