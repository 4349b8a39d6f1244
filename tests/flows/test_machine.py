"""Any order of steps at the desk, against a plain model: the same outcome each time, and nothing ever broken."""

import atexit
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.errors import MeetError
from meetapp.flows.loans import loans
from meetapp.flows.snapshot import Snapshot
from meetapp.rules.contradictions import contradictions
from meetapp.rules.waiting_line import ready
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.agreement import disagreements
from tests.desk import LU, MO, Desk
from tests.flows.desk_model import Loan, Model, breaks_a_floor
from tests.world import NOON, Clock, World, add_pilot, make_club, open_meet

DEEP = settings.get_current_profile_name() == "deep"
KINDS = {
    "Ana": "analogue 40",
    "Bo": "analogue tunable",
    "Cy": "analogue R",
    "Di": "digital wide",
    "Ed": "analogue 40",
}
TOKENS = {"R1": 5658, "R2": 5695, "F1": 5740, "R5": 5806, "R7": 5880}
SPACING, CLEARANCE = 37, 8
NAMES, LABELS = st.sampled_from(sorted(KINDS)), st.sampled_from(sorted(TOKENS))
ACTORS = st.sampled_from([MO, LU])


@cache
def made_once() -> tuple[Path, World]:
    """A database file with the club and the open meet, to be copied for each run; gone when the tests are."""
    folder = tempfile.mkdtemp(prefix="meetapp-machine-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    path = Path(folder, "made.db")
    store, world = Store(sqlite_url(path)), World()
    t.metadata.create_all(store.engine)
    with store.write() as session:
        make_club(session, world)
        for name, kind in KINDS.items():
            add_pilot(session, world, name, kind)
        open_meet(session, world, TOKENS, spacing=SPACING, clearance=CLEARANCE)
        session.get_one(t.Meet, world.meet).head_limit_min = 10_000
        session.commit()
    store.close()
    return path, world


class AtTheDesk(RuleBasedStateMachine):
    """Mo and Lu at one desk; the model says what each step has to do."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="meetapp-machine-"))
        made, world = made_once()
        self.path = Path(shutil.copy(made, self.folder / "club.db"))
        self.desk = Desk(Store(sqlite_url(self.path)), world, Clock(NOON))
        self.model = Model(self.possible_settings(), dict.fromkeys(KINDS, 20.0) | {"Di": 40.0}, SPACING, CLEARANCE,
                           dict.fromkeys(TOKENS, "usable"))
        self.last: tuple[Desk, Answer, Model, Snapshot] | None = None
        self.sent: tuple[Callable[[Deed], Answer], Deed, Answer] | None = None
        self.done: list[tuple[Desk, int]] = []

    def possible_settings(self) -> dict[tuple[str, str], int]:
        snapshot = self.desk.snapshot()
        people = {person.name: person for person in snapshot.people.values()}
        return {
            (name, label): setting.mhz
            for name in KINDS
            for label, mhz in TOKENS.items()
            if (setting := snapshot.setting(people[name], mhz)) is not None
        }

    def teardown(self) -> None:
        assert disagreements(sqlite_url(self.path)) == []
        self.desk.store.close()
        shutil.rmtree(self.folder)

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
        assert replace(after, version=0, now=before.now) == replace(before, version=0)
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

    @rule()
    def restart(self) -> None:
        self.desk.store.close()
        fresh = Store(sqlite_url(self.path))
        self.desk.store = fresh
        self.done = [(replace(desk, store=fresh), line_id) for desk, line_id in self.done]
        if self.last is not None:
            desk, *rest = self.last
            self.last = (replace(desk, store=fresh), *rest)  # type: ignore[assignment]

    @invariant()
    def all_is_in_order(self) -> None:
        snapshot = self.desk.snapshot()
        self.check_the_meet_is_as_the_model_says(snapshot)
        # Nobody and no token twice, nobody both on air and in the line, turns only with their loan.
        assert contradictions(snapshot.rules_field(), snapshot.line, snapshot.sharing) == ()
        self.check_the_floors_are_kept_unless_overridden()
        # Exactly the ready head of the line has a time at the head.
        assert tuple(stand for stand in snapshot.line if stand.head_since is not None) == ready(snapshot.line)[:1]
        open_loans = [row.id for row in self.desk.rows(t.Loan, in_at=None, voided_at=None)]
        # A setting is current exactly while its loan is open, and the journal alone tells the same.
        settings = self.desk.rows(t.LoanSetting, until_at=None, voided_at=None)
        assert sorted(row.loan_id for row in settings) == open_loans
        assert sorted(replayed(self.desk.rows(t.JournalLine))) == open_loans

    def check_the_meet_is_as_the_model_says(self, snapshot: Snapshot) -> None:
        on_air = {loan.who: (loan.token_label or None, loan.mhz, loan.power_mw) for loan in snapshot.on_air}
        assert on_air == {who: (loan.label, loan.mhz, loan.power_mw) for who, loan in self.model.loans.items()}
        assert self.line_of(snapshot) == self.model.line
        assert self.turns_of(snapshot) == self.model.turns
        states = {token.label: token.state for token in snapshot.tokens}
        assert states == {
            label: "out" if self.model.is_out(label) else "in" if state == "usable" else state
            for label, state in self.model.tokens.items()
        }

    def check_the_floors_are_kept_unless_overridden(self) -> None:
        if any(loan.is_overridden for loan in self.model.loans.values()):
            return
        carriers = self.model.carriers()
        for number, carrier in enumerate(carriers):
            assert not breaks_a_floor(carriers[:number], carrier, SPACING, CLEARANCE)

    def line_of(self, snapshot: Snapshot) -> list[tuple[str, bool]]:
        return [(snapshot.people[stand.pilot_id].name, stand.is_skipped) for stand in snapshot.line]

    def turns_of(self, snapshot: Snapshot) -> dict[str, tuple[str, str]]:
        labels = {token.token_id: token.label for token in snapshot.tokens}
        people = snapshot.people
        return {labels[token]: (people[a].name, people[b].name) for token, (a, b) in snapshot.sharing.items()}


def replayed(lines: list[t.JournalLine]) -> set[int]:
    """The open loans by the journal alone: every line that wasn't undone, in order."""
    undone = {line.undoes_id for line in lines}
    open_loans: set[int] = set()
    for line in lines:
        if line.id in undone:
            continue
        if line.kind in ("taken_back", "ground_off", "token_missing"):
            open_loans.discard(line.facts.get("loan", 0))
        elif line.kind in ("handed_out", "ground_lent", "handed_over", "turns_swapped"):
            open_loans.discard(line.facts.get("loan_before", 0))
            open_loans.add(line.facts["loan"])
    return open_loans


AtTheDesk.TestCase.settings = settings(
    max_examples=400 if DEEP else 12,
    stateful_step_count=40 if DEEP else 20,
    deadline=None,
    derandomize=not DEEP,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
test_any_order_of_steps_at_the_desk = AtTheDesk.TestCase
