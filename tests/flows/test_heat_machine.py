"""Any order of steps with heats beside hand-outs: nothing is ever broken, and the journal and the tables agree."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from meetapp.flows.deeds import Answer
from meetapp.flows.errors import MeetError
from meetapp.rules.contradictions import contradictions
from meetapp.rules.heats import Gap, Heat, Seat
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.agreement import disagreements
from tests.desk import LU, MO, Desk
from tests.flows.desk_model import breaks_a_floor
from tests.flows.machine_places import CLEARANCE, KINDS, SPACING, TOKENS, Place, run_any_order
from tests.flows.machine_places import in_file as in_file
from tests.flows.machine_places import on_server as on_server
from tests.heat_desk import HeatDesk
from tests.world import NOON, Clock

NAMES, LABELS = st.sampled_from(sorted(KINDS)), st.sampled_from(sorted(TOKENS))
ACTORS = st.sampled_from([MO, LU])
NUMBERS = st.integers(1, 4)
PLAN = ({"Ana": "R1", "Bo": "F1"}, {"Cy": "R5", "Ed": "R2"}, {"Ana": "R2", "Ed": "R7"}, {"Bo": "R1", "Cy": "R7"})

Over = tuple[tuple[Seat, ...], tuple[Gap, ...]]


class HeatsAtTheDesk(RuleBasedStateMachine):
    """Mo and Lu at one desk of a meet with heats."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        place.put()
        self.desk = Desk(Store(place.url), place.world, Clock(NOON))
        HeatDesk(self.desk).plan(*PLAN)
        HeatDesk(self.desk).tell_of_the_plan()
        self.done: list[tuple[Any, int]] = []
        self.over: dict[int, Over] = {}
        self.is_overridden = False

    def teardown(self) -> None:
        assert disagreements(self.desk.store.url) == []
        self.desk.store.close()

    def step(self, actor: Any, do: Callable[[HeatDesk], Answer]) -> None:
        """Do something, or be refused with a sentence and nothing written."""
        self.desk.clock.forward(seconds=1)
        lines = len(self.desk.kinds())
        try:
            answer = do(HeatDesk(self.desk.acting(actor)))
        except MeetError as error:
            refusal = error
        else:
            if answer.undo_id is not None:
                self.done.append((actor, answer.undo_id))
            return
        assert refusal.message.endswith(".")
        assert len(self.desk.kinds()) == lines

    def heats(self) -> tuple[Heat, ...]:
        return HeatDesk(self.desk).heats()

    @rule(actor=ACTORS, up=st.sets(NAMES, max_size=2), has_reason=st.sampled_from([False, False, True]))
    def call_the_next(self, actor: Any, up: set[str], has_reason: bool) -> None:
        if not HeatDesk(self.desk).field().to_come:
            return
        self.is_overridden |= has_reason
        reason = "far end" if has_reason else ""
        self.step(actor, lambda desk: desk.call(up=up, override_reason=reason))

    @rule(actor=ACTORS, number=NUMBERS, up=st.sets(NAMES, max_size=2))
    def all_down(self, actor: Any, number: int, up: set[str]) -> None:
        self.step(actor, lambda desk: desk.down(number, up=up))

    @rule(actor=ACTORS, name=NAMES)
    def landed(self, actor: Any, name: str) -> None:
        self.step(actor, lambda desk: desk.landed(name))

    @rule(actor=ACTORS, number=NUMBERS, name=NAMES, why=st.sampled_from(["no_show", "broken", "no_token"]))
    def miss(self, actor: Any, number: int, name: str, why: Any) -> None:
        self.step(actor, lambda desk: desk.miss(number, name, why))

    @rule(actor=ACTORS, number=NUMBERS, name=NAMES)
    def hand_out_seat(self, actor: Any, number: int, name: str) -> None:
        self.step(actor, lambda desk: desk.hand_out(number, name))

    @rule(actor=ACTORS, number=NUMBERS, up=st.sets(NAMES, max_size=1))
    def void(self, actor: Any, number: int, up: set[str]) -> None:
        self.step(actor, lambda desk: desk.void(number, up=up))

    @rule(actor=ACTORS, number=NUMBERS)
    def call_off(self, actor: Any, number: int) -> None:
        self.step(actor, lambda desk: desk.call_off(number))

    @rule(actor=ACTORS, name=NAMES)
    def leave(self, actor: Any, name: str) -> None:
        self.step(actor, lambda desk: desk.leave(name))

    @rule(actor=ACTORS, name=NAMES, label=LABELS)
    def hand_out_beside(self, actor: Any, name: str, label: str) -> None:
        self.step(actor, lambda desk: desk.desk.hand_out(name, label))

    @precondition(lambda self: self.desk.snapshot().on_air)
    @rule(actor=ACTORS, data=st.data())
    def take_back(self, actor: Any, data: st.DataObject) -> None:
        name = data.draw(st.sampled_from(sorted(self.desk.on_air())), "holder")
        self.step(actor, lambda desk: desk.desk.take_back(name))

    @rule(actor=ACTORS, label=LABELS, is_missing=st.booleans())
    def missing_or_found(self, actor: Any, label: str, is_missing: bool) -> None:
        self.step(actor, lambda desk: desk.desk.missing(label) if is_missing else desk.desk.found(label))

    @rule(actor=ACTORS, name=NAMES)
    def join_the_line(self, actor: Any, name: str) -> None:
        self.step(actor, lambda desk: desk.desk.join(name))

    @precondition(lambda self: self.done)
    @rule(actor=ACTORS)
    def undo_ones_own_last(self, actor: Any) -> None:
        own = [each for each in self.done if each[0] is actor]
        if not own:
            return
        over = self.over
        self.over = {}
        self.step(actor, lambda desk: desk.desk.undo(Answer("", "", undo_id=own[-1][1])))
        still_over = {heat.heat_id for heat in self.heats() if heat.state in ("flown", "voided")}
        # A landing may be taken back; whatever is over still is as it was.
        self.over = {heat_id: was for heat_id, was in over.items() if heat_id in still_over}

    @invariant()
    def a_flown_heat_never_changes(self) -> None:
        for heat in self.heats():
            if heat.state in ("flown", "voided"):
                assert self.over.setdefault(heat.heat_id, (heat.seats, heat.gaps)) == (heat.seats, heat.gaps)

    @invariant()
    def the_meet_is_in_order(self) -> None:
        snapshot = self.desk.snapshot()
        assert contradictions(snapshot.rules_field(), snapshot.line, snapshot.sharing) == ()
        if not self.is_overridden:
            carriers = [(loan.mhz, loan.width_mhz) for loan in snapshot.on_air]
            for number, carrier in enumerate(carriers):
                assert not breaks_a_floor(carriers[:number], carrier, SPACING, CLEARANCE)

    @invariant()
    def the_heats_agree_with_the_loans(self) -> None:
        field = HeatDesk(self.desk).field()
        assert sum(heat.state == "called" for heat in field.heats) <= 1
        holders = {loan.pilot_id for loan in field.snapshot.on_air}
        assert field.up_late <= holders
        assert len({(heat.round, heat.number) for heat in field.heats}) == len(field.heats)
        for heat in field.heats:
            assert heat.state != "flown" or heat.seats
            assert not {gap.seat.pilot_id for gap in heat.gaps} & heat.pilots

    @invariant()
    def the_journal_tells_the_same(self) -> None:
        lines = self.desk.rows(t.JournalLine)
        undone = {line.undoes_id for line in lines}
        open_loans: set[int] = set()
        called: tuple[int, int] | None = None
        for line in (line for line in lines if line.id not in undone):
            of_heat = (line.facts.get("round"), line.facts.get("number"))
            if line.kind in ("taken_back", "token_missing", "heat_token_back", "heat_landed_late"):
                open_loans.discard(line.facts.get("loan", 0))
            elif line.kind in ("handed_out", "heat_token_out"):
                open_loans.discard(line.facts.get("loan_before", 0))
                open_loans.add(line.facts["loan"])
            elif line.kind == "heat_called":
                called = of_heat  # type: ignore[assignment]
            elif line.kind in ("heat_flown", "heat_call_off", "heat_voided") and of_heat == called:
                called = None
        assert sorted(open_loans) == [row.id for row in self.desk.rows(t.Loan, in_at=None, voided_at=None)]
        assert called == next(((heat.round, heat.number) for heat in self.heats() if heat.state == "called"), None)


def test_any_order_of_steps_with_heats(in_file: Place) -> None:
    run_any_order(lambda: HeatsAtTheDesk(in_file), steps=15, quick=8, deep=300)


@pytest.mark.postgres
def test_any_order_of_steps_with_heats_on_a_server(on_server: Place) -> None:
    run_any_order(lambda: HeatsAtTheDesk(on_server), steps=15, quick=1, deep=100)
