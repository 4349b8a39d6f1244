"""A meet as plain values, by code of its own: tokens, loans, offers, the line, heats, alarms, and what may be undone.

A state is a dictionary of cells, one for whatever a step may change. A cell's value says since when (the number of the
step), where a row would have a time, so that an undo can see whether anything was changed since.
"""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from tests.history.order import Answer, Op


class Loan(NamedTuple):
    """A token with a pilot. `how`: 'out', 'back', 'missing' or 'void'; `woke_on`: what the transmitter was set to."""

    token: str
    pilot: str
    since: int
    how: str
    until: int | None
    woke_on: str


class Offer(NamedTuple):
    """A loan's token offered to another pilot. `how`: 'stands' or 'over'."""

    loan: int
    to: str
    how: str


class Turns(NamedTuple):
    """A token that two use by turns, who has it and who waits beside. `how`: 'on', 'over' or 'void'."""

    token: str
    holder: str
    partner: str
    how: str


class Stay(NamedTuple):
    """A stand in the line."""

    pilot: str
    since: int
    until: int | None
    is_void: bool


class Heat(NamedTuple):
    """Where a heat stands: 'planned', 'called' or 'flown', and since when."""

    how: str
    called: int | None
    landed: int | None


@dataclass(frozen=True)
class Act:
    """A step that can be undone: by whom, its number, and each cell before and after."""

    who: str
    number: int
    changes: tuple[tuple[Any, Any, Any], ...]
    is_undone: bool = False


@dataclass(frozen=True)
class Plan:
    """What doesn't change: the steps by kind, which tokens break a floor together, who sits in which heat on what, in
    order.
    """

    steps: Mapping[str, Any]
    near: frozenset[frozenset[str]] = frozenset()
    heats: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Meet:
    """A state. `answers`: what each operation key was answered; `acts`: what was done, by key."""

    plan: Plan
    cells: Mapping[Any, Any]
    acts: Mapping[str, Act] = field(default_factory=dict)
    answers: Mapping[str, Answer] = field(default_factory=dict)
    number: int = 0

    @staticmethod
    def begin(plan: Plan, tokens: Iterable[str]) -> "Meet":
        """All tokens on the board, nobody anywhere, no heat flown."""
        cells: dict[Any, Any] = {("token", label): ("usable", 0) for label in tokens}
        # How many were raised so far; below nothing while none is on.
        cells |= {("alarm", "stray"): 0, ("alarm", "down"): 0}
        for place, (heat, seats) in enumerate(plan.heats.items()):
            cells |= {("heat", heat): Heat("planned", None, None), ("place", heat): place}
            cells |= {("gap", heat, pilot): "" for pilot in seats}
        return Meet(plan, cells)

    def fingerprint(self) -> Hashable:
        """Alike for states from which all goes on alike."""
        undone = frozenset((key, act.is_undone) for key, act in self.acts.items())
        return (frozenset(self.cells.items()), undone, frozenset(self.answers))

    def step(self, op: Op) -> tuple[Answer, "Meet"]:
        """What an operation is answered, and the meet after it (this one where nothing changes)."""
        if op.key in self.answers:
            return self.answers[op.key], self
        step = Step(self, op)
        answer = self.plan.steps[op.kind](step, **op.facts)
        if answer[0] == "refused":
            return answer, self
        if step.is_change:
            return answer, step.result(answer)
        # Of what is sent twice the second gets the first's answer, also where there was nothing to do.
        return answer, replace(self, answers={**self.answers, op.key: answer}) if op.is_sent_twice else self

    # What is so now.

    def loans(self) -> dict[int, Loan]:
        """Every loan that counts."""
        return {each[1]: loan for each, loan in self.cells.items() if each[0] == "loan" and loan.how != "void"}

    def out(self) -> dict[int, Loan]:
        """The loans that are out."""
        return {loan_id: loan for loan_id, loan in self.loans().items() if loan.how == "out"}

    def offers(self) -> dict[int, Offer]:
        """The offers that nobody answered yet."""
        return {each[1]: offer for each, offer in self.cells.items() if each[0] == "offer" and offer.how == "stands"}

    def turns(self) -> dict[int, Turns]:
        """The turns that are on."""
        return {each[1]: turns for each, turns in self.cells.items() if each[0] == "turns" and turns.how == "on"}

    def alarms(self) -> frozenset[str]:
        """The alarms that are on."""
        return frozenset(each[1] for each, nth in self.cells.items() if each[0] == "alarm" and nth > 0)

    def line(self) -> list[tuple[int, str, bool]]:
        """Who stands in the line, in order: the stay, the pilot, whether they are passed."""
        stays = [(each[1], stay) for each, stay in self.cells.items() if each[0] == "stay"]
        standing = [(number, stay.pilot) for number, stay in stays if stay.until is None and not stay.is_void]
        return [(number, pilot, self.cells["skip", number]) for number, pilot in sorted(standing)]

    def ready(self) -> list[str]:
        """Who is asked next, in order."""
        line = self.line()
        return [pilot for _stay, pilot, is_passed in line if not is_passed] or [pilot for _stay, pilot, _ in line]

    def heats(self) -> list[str]:
        """The heats in order of flying."""
        return sorted(self.plan.heats, key=lambda heat: self.cells["place", heat])

    def called(self) -> str | None:
        """The heat in the air."""
        return next((heat for heat in self.plan.heats if self.cells["heat", heat].how == "called"), None)

    def seats(self, heat: str) -> dict[str, str]:
        """Who flies in a heat, with the token."""
        return {who: token for who, token in self.plan.heats[heat].items() if not self.cells["gap", heat, who]}

    def to_come(self) -> list[str]:
        """The heats that can be called."""
        return [heat for heat in self.heats() if self.cells["heat", heat].how == "planned" and self.seats(heat)]

    def out_of_heat(self) -> dict[int, Loan]:
        """The loans of the heat in the air."""
        heat = self.called()
        if heat is None:
            return {}
        since = self.cells["heat", heat].called
        return {each: loan for each, loan in self.out().items()
                if loan.pilot in self.seats(heat) and loan.since >= since}  # fmt: skip

    def is_near(self, token: str, without: int = 0) -> bool:
        """Whether a token breaks a floor with what is on air."""
        return any(frozenset((token, loan.token)) in self.plan.near
                   for loan_id, loan in self.out().items() if loan_id != without)  # fmt: skip


class Step:
    """The inside of one step: cells are set here, and become the next state together."""

    def __init__(self, meet: Meet, op: Op) -> None:
        self.meet = replace(meet, cells=dict(meet.cells), number=meet.number + 1)
        self.op = op
        self.before: dict[Any, Any] = {}
        self.acts = meet.acts
        self.is_undoable = True

    @property
    def is_change(self) -> bool:
        """Whether anything is otherwise than before."""
        return bool(self.before)

    def set(self, cell: Any, value: Any) -> None:
        """Give a cell another value."""
        cells: dict[Any, Any] = self.meet.cells  # type: ignore[assignment]
        if cells.get(cell) != value:
            self.before.setdefault(cell, cells.get(cell))
            cells[cell] = value

    def result(self, answer: Answer) -> Meet:
        """The next state."""
        acts = self.acts
        if self.is_undoable:
            changes = tuple((cell, before, self.meet.cells[cell]) for cell, before in self.before.items())
            acts = {**acts, self.op.key: Act(self.op.who, self.meet.number, changes)}
        return replace(self.meet, acts=acts, answers={**self.meet.answers, self.op.key: answer})

    # What several steps do.

    def send_out(self, token: str, pilot: str) -> None:
        """A loan begins. Who stood in the line leaves it, and whoever was passed is asked again."""
        number = self.op.made.get(token, -self.meet.number * 10 - len(self.before))
        woke_on = self.meet.cells.get(("wake", pilot), "")
        self.set(("loan", number), Loan(token, pilot, self.meet.number, "out", None, woke_on))
        self.set(("wake", pilot), token)
        self.end_turns(partner=pilot)
        if self.leave(pilot):
            for stay, _pilot, _is_passed in self.meet.line():
                self.set(("skip", stay), False)

    def bring_back(self, loan_id: int, how: str = "back") -> None:
        """A loan ends, and with it what was offered of it and the turns on its token."""
        self.end_turns(token=self.meet.cells["loan", loan_id].token)
        for number, offer in self.meet.offers().items():
            if offer.loan == loan_id:
                self.set(("offer", number), offer._replace(how="over"))
        self.set(("loan", loan_id), self.meet.cells["loan", loan_id]._replace(how=how, until=self.meet.number))

    def end_turns(self, token: str = "", partner: str = "") -> None:
        """The turns on a token end, or those in which somebody is the one who waits."""
        for number, turns in self.meet.turns().items():
            if token == turns.token or partner == turns.partner:
                self.set(("turns", number), turns._replace(how="over"))

    def stand_again(self, loan: Loan) -> None:
        """Nobody flew with this loan: who left the line with it has the same place again, and isn't passed."""
        stays = {each[1]: stay for each, stay in self.meet.cells.items() if each[0] == "stay" and not stay.is_void}
        for number, stay in stays.items():
            if stay.pilot == loan.pilot and stay.until == loan.since:
                self.set(("stay", number), stay._replace(until=None))
                self.set(("skip", number), False)

    def leave(self, pilot: str) -> bool:
        """Somebody leaves the line; whether they stood in it."""
        stay = next((stay for stay, who, _is_passed in self.meet.line() if who == pilot), None)
        if stay is None:
            return False
        self.set(("stay", stay), self.meet.cells["stay", stay]._replace(until=self.meet.number))
        return True
