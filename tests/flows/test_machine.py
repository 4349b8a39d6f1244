"""Any order of steps at the desk, against a plain model: the same outcome each time, and nothing ever broken.

Clocks are set, time zones change and the server starts again in between, on a file and on PostgreSQL.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from meetapp.flows.deeds import Answer
from meetapp.flows.desk.desk import desk_view
from meetapp.flows.errors import MeetError
from meetapp.flows.loans import loans
from meetapp.store import tables as t
from meetapp.store.backup import back_up, restore
from meetapp.store.engine import Store, file_of, is_file
from tests.desk import LU, MO, Desk
from tests.flows.desk_in_order import DeskInOrder
from tests.flows.desk_model import Loan, Model
from tests.flows.machine_places import (
    KINDS,
    MIGRATIONS,
    TOKENS,
    Place,
    run_any_order,
    set_machine_zone,
)
from tests.flows.machine_places import in_file as in_file
from tests.flows.machine_places import on_server as on_server

NAMES, LABELS = st.sampled_from(sorted(KINDS)), st.sampled_from(sorted(TOKENS))
ACTORS = st.sampled_from([MO, LU])
CLOCK_STEPS = st.sampled_from(
    [timedelta(seconds=-5), timedelta(minutes=-7), timedelta(hours=-3), timedelta(minutes=25), timedelta(days=1)]
)
ZONES = st.sampled_from(["Europe/Berlin", "Pacific/Kiritimati", "America/St_Johns", "UTC"])


class AtTheDesk(DeskInOrder):
    """Mo and Lu at one desk; the model says what each step has to do."""

    def step(self, desk: Desk, do: Callable[[], Answer], after: Model | None) -> None:
        """Do something that the model allows (giving `after`) or refuses (None)."""
        self.desk.clock.forward(seconds=1)
        before = desk.snapshot()
        answer = self.outcome(do)
        if isinstance(answer, MeetError):
            assert after is None, f"refused, though nothing speaks against it: {answer.sentence}"
            return
        assert after is not None, f"done, though it had to be refused: {answer.notice}"
        assert (answer.undo_id is None) == (after is self.model)
        if answer.undo_id is not None:
            self.last = (desk, answer, self.model, before)
            self.done.append((desk, answer.undo_id))
        self.model = after

    def outcome(self, do: Callable[[], Answer]) -> Answer | MeetError:
        """What it gave, or what it was refused with: a sentence, and nothing written."""
        lines = len(self.desk.kinds())
        try:
            return do()
        except MeetError as error:
            refusal = error
        assert refusal.message.endswith(".")
        assert len(self.desk.kinds()) == lines
        return refusal

    def holder(self, data: st.DataObject) -> str:
        return data.draw(st.sampled_from(sorted(self.model.loans)), "holder")

    def by(self, actor: Any) -> Desk:
        return self.desk.acting(actor)

    @rule(actor=ACTORS, who=NAMES, label=LABELS, has_reason=st.sampled_from([False, False, False, True]))
    def hand_out(self, actor: Any, who: str, label: str, has_reason: bool) -> None:
        desk, reason, ids = self.by(actor), "far end" if has_reason else "", self.desk.world
        order = loans.HandOut(ids.meet, ids.pilots[who], ids.tokens[label], override_reason=reason)
        deed = desk.deed()

        def do() -> Answer:
            answer = loans.hand_out(self.desk.store, deed, order)
            self.sent = (lambda again: loans.hand_out(self.desk.store, again, order), deed, answer)
            return answer

        self.step(desk, do, self.model.handed_out(who, label, has_reason))

    @precondition(lambda self: "camera" not in self.model.loans)
    @rule(actor=ACTORS, mhz=st.sampled_from([5780, 5843]))
    def camera(self, actor: Any, mhz: int) -> None:
        desk = self.by(actor)
        do = lambda: desk.lend_ground("camera", mhz, power_mw=25, override_reason="always on")  # noqa: E731
        self.step(desk, do, self.model.camera_on(mhz))

    @precondition(lambda self: self.model.loans)
    @rule(actor=ACTORS, data=st.data())
    def take_back(self, actor: Any, data: st.DataObject) -> None:
        desk, who = self.by(actor), self.holder(data)
        self.step(desk, lambda: desk.take_back(who), self.model.taken_back(who))

    @precondition(lambda self: self.model.loans)
    @rule(actor=ACTORS, to=NAMES, data=st.data())
    def hand_over(self, actor: Any, to: str, data: st.DataObject) -> None:
        desk, who = self.by(actor), self.holder(data)
        self.step(desk, lambda: desk.hand_over(who, to), self.model.handed_over(who, to))

    @precondition(lambda self: "Bo" in self.model.loans)
    @rule(actor=ACTORS, mhz=st.integers(5654, 5661))
    def change(self, actor: Any, mhz: int) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.change("Bo", mhz=mhz), self.model.changed("Bo", mhz))

    @rule(actor=ACTORS, who=NAMES)
    def join(self, actor: Any, who: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.join(who), self.model.joined(who))

    @rule(actor=ACTORS, who=NAMES)
    def leave(self, actor: Any, who: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.leave(who), self.model.left(who))

    @rule(actor=ACTORS, who=NAMES, is_passed=st.booleans())
    def not_ready_or_ready(self, actor: Any, who: str, is_passed: bool) -> None:
        desk = self.by(actor)
        say = desk.not_ready if is_passed else desk.ready_again
        self.step(desk, lambda: say(who), self.model.passed(who, is_passed))

    @precondition(lambda self: self.model.loans)
    @rule(actor=ACTORS, partner=NAMES, data=st.data())
    def share(self, actor: Any, partner: str, data: st.DataObject) -> None:
        desk, who = self.by(actor), self.holder(data)
        self.step(desk, lambda: desk.share(who, partner), self.model.shared(who, partner))

    @rule(actor=ACTORS, label=LABELS)
    def swap(self, actor: Any, label: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.swap(label), self.model.swapped(label))

    @rule(actor=ACTORS, label=LABELS)
    def end_turns(self, actor: Any, label: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.end_turns(label), self.model.ended(label))

    @rule(actor=ACTORS, label=LABELS)
    def missing(self, actor: Any, label: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.missing(label), self.model.missing(label))

    @rule(actor=ACTORS, label=LABELS)
    def found(self, actor: Any, label: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.found(label), self.model.found(label))

    @rule(actor=ACTORS, label=LABELS)
    def withdraw(self, actor: Any, label: str) -> None:
        desk = self.by(actor)
        self.step(desk, lambda: desk.withdraw(label), self.model.withdrawn(label))

    @precondition(lambda self: self.last is not None)
    @rule()
    def undo_what_was_just_done(self) -> None:
        """It has to work, and to leave the meet exactly as it was."""
        assert self.last is not None
        desk, answer, model, before = self.last
        desk.undo(answer)
        after = desk.snapshot()
        assert replace(after, version=0, now=before.now, zone=before.zone) == replace(before, version=0)
        self.model, self.last = model, None
        self.done.pop()

    @precondition(lambda self: self.done)
    @rule(actor=ACTORS)
    def undo_ones_own_last(self, actor: Any) -> None:
        """Others may have gone on since: it is refused, or the meet is in order afterwards."""
        own = [each for each in self.done if each[0].actor is actor]
        if not own:
            return
        self.desk.clock.forward(seconds=1)
        desk, line_id = own[-1]
        if isinstance(self.outcome(lambda: desk.undo(Answer("", "", undo_id=line_id))), MeetError):
            return
        self.done.remove(own[-1])
        self.last = None
        self.model = self.model_now()

    def model_now(self) -> Model:
        """The model as the database says it is."""
        snapshot = self.desk.snapshot()
        after = self.model.copy()
        after.tokens = {token.label: "usable" if token.state in ("in", "out") else token.state
                        for token in snapshot.tokens}
        after.loans = {
            loan.who: Loan(loan.token_label or None, loan.mhz, loan.power_mw, bool(loan.override_reason))
            for loan in snapshot.on_air
        }
        after.line = self.line_of(snapshot)
        after.turns = self.turns_of(snapshot)
        return after

    @precondition(lambda self: self.sent is not None)
    @rule()
    def send_again(self) -> None:
        assert self.sent is not None
        send, deed, first = self.sent
        lines = len(self.desk.kinds())
        assert send(deed) == first
        assert len(self.desk.kinds()) == lines

    @rule(span=CLOCK_STEPS)
    def set_the_clock(self, span: timedelta) -> None:
        """The desk's page says nothing that is below nothing."""
        self.desk.clock.now += span
        view = desk_view(self.desk.store, self.desk.world.meet, self.desk.clock(), MO)
        minutes = [*(each.waited_min for each in view.line), *(row.out_min for row in view.on_air)]
        assert min([*minutes, view.paused_min]) >= 0

    @rule(name=ZONES, is_the_sites=st.booleans())
    def move_to_another_zone(self, name: str, is_the_sites: bool) -> None:
        if is_the_sites:
            self.desk.set_row(t.Site, self.desk.world.site, time_zone=name)
        else:
            set_machine_zone(name)

    @precondition(lambda self: is_file(self.url))
    @rule()
    def back_up_and_restore(self) -> None:
        club = file_of(self.url)
        copy = club.with_name(f"copy-{len(list(club.parent.iterdir()))}.db")
        back_up(club, copy, MIGRATIONS)
        self.desk.store.close()
        restore(copy, club, MIGRATIONS, self.desk.clock())
        self.restart()

    @rule()
    def restart(self) -> None:
        self.desk.store.close()
        fresh = Store(self.url)
        self.desk.store = fresh
        self.done = [(replace(desk, store=fresh), line_id) for desk, line_id in self.done]
        if self.last is not None:
            desk, *rest = self.last
            self.last = (replace(desk, store=fresh), *rest)  # type: ignore[assignment]

def test_any_order_of_steps_at_the_desk(in_file: Place) -> None:
    run_any_order(lambda: AtTheDesk(in_file), steps=20, quick=10, deep=400)


@pytest.mark.postgres
def test_any_order_of_steps_at_the_desk_of_a_server(on_server: Place) -> None:
    run_any_order(lambda: AtTheDesk(on_server), steps=20, quick=2, deep=200)
