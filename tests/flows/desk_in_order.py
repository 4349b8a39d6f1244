"""What holds at a desk after any step: the model and the database say the same, and no time runs back."""

import os
from collections.abc import Callable
from datetime import timedelta

from hypothesis.stateful import RuleBasedStateMachine, invariant

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.loans.air_words import minutes_out
from meetapp.flows.loans.who_waits import waited_min
from meetapp.flows.snapshot import Snapshot
from meetapp.rules.contradictions import contradictions
from meetapp.rules.waiting_line import overdue_head, ready
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.agreement import disagreements
from tests.desk import Desk
from tests.flows.desk_model import Model, breaks_a_floor
from tests.flows.machine_places import CLEARANCE, KINDS, SPACING, TOKENS, Place, set_machine_zone
from tests.world import NOON, Clock


class DeskInOrder(RuleBasedStateMachine):
    """A desk with a model beside it, and what is looked at after each step. The steps are somebody else's."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        place.put()
        self.url, self.place_zone = place.url, os.environ.get("TZ")
        self.desk = Desk(Store(self.url), place.world, Clock(NOON))
        self.earliest = self.latest = NOON
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
        assert disagreements(self.url) == []
        self.desk.store.close()
        set_machine_zone(self.place_zone)

    @invariant()
    def all_is_in_order(self) -> None:
        snapshot = self.desk.snapshot()
        self.check_the_meet_is_as_the_model_says(snapshot)
        # Nobody and no token twice, nobody both on air and in the line, turns only with their loan.
        assert contradictions(snapshot.rules_field(), snapshot.line, snapshot.sharing) == ()
        self.check_the_floors_are_kept_unless_overridden()
        # Exactly the ready head of the line has a time at the head.
        assert tuple(stand for stand in snapshot.line if stand.head_since is not None) == ready(snapshot.line)[:1]
        loans, lines = self.desk.rows(t.Loan, voided_at=None), self.desk.rows(t.JournalLine)
        open_loans = [row.id for row in loans if row.in_at is None]
        # A setting is current exactly while its loan is open, and the journal alone tells the same.
        settings = self.desk.rows(t.LoanSetting, until_at=None, voided_at=None)
        assert sorted(row.loan_id for row in settings) == open_loans
        assert sorted(replayed(lines)) == open_loans
        self.check_no_time_runs_back(snapshot, lines, loans)

    def check_no_time_runs_back(self, snapshot: Snapshot, lines: list[t.JournalLine], loans: list[t.Loan]) -> None:
        """Lines in order, nothing in the future of the desk, no wait below nothing or longer than there was time."""
        entered = [line.entered_at for line in lines]
        assert entered == sorted(entered)
        assert all(line.happened_at <= line.entered_at for line in lines)
        assert snapshot.now == max([self.desk.clock.now, *entered[-1:]])
        self.earliest = min(self.earliest, snapshot.now)
        self.latest = max(self.latest, snapshot.now)
        ever = (self.latest - self.earliest) // timedelta(minutes=1)
        joined = [stand.joined_at for stand in snapshot.line]
        assert joined == sorted(joined)
        assert all(loan.out_at <= (loan.in_at or snapshot.now) for loan in loans)
        waits = [waited_min(snapshot, stand) for stand in snapshot.line]
        assert waits == sorted(waits, reverse=True)
        assert all(0 <= each <= ever for each in (*waits, *(minutes_out(snapshot, loan) for loan in snapshot.on_air)))
        self.check_who_has_waited_too_long(snapshot)

    def check_who_has_waited_too_long(self, snapshot: Snapshot) -> None:
        """Only the ready head, and only after the limit: counted from when they came there, never from before."""
        limit = timedelta(minutes=20)
        head = next((stand for stand in snapshot.line if stand.head_since is not None), None)
        overdue = overdue_head(snapshot.line, snapshot.now, snapshot.pauses, limit)
        assert head is None or head.joined_at <= (head.head_since or head.joined_at) <= snapshot.now
        is_late = head is not None and head.head_since is not None and snapshot.now - head.head_since > limit
        assert overdue == (head if is_late else None)

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
