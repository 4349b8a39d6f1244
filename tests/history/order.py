"""Is there one order that explains what everybody was answered?

A history is linearizable if its operations can be put in one order that keeps real time (what was answered before
another began comes before it) and in which a plain model, one step after the other, gives exactly these answers. The
search is that of Wing and Gong, 'Testing and verifying concurrent objects' (J. Parallel Distrib. Comput. 17, 1993),
with the memo of Lowe, 'Testing for linearizability' (Concurrency Comput. Pract. Exp. 29, 2017). What changes nothing
and was answered as the model says is placed at once, as that takes nothing from the others. Of the rest a hint, such as
the order of the journal, is tried first: where it is right, nothing is ever taken back.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from typing import Any, Protocol

Answer = tuple[Any, ...]


@dataclass(frozen=True)
class Op:
    """What somebody asked and was answered, with the time of each (any clock that never runs back).

    `answer` None: no answer came, so it may have been done at any time since, or never. `made`: the ids of the loans
    that it made, by token: they can't be foretold.
    """

    number: int
    who: str
    kind: str
    facts: Mapping[str, Any]
    key: str
    called: float
    answered: float | None
    answer: Answer | None
    made: Mapping[str, int] = field(default_factory=dict)
    is_sent_twice: bool = False

    def __str__(self) -> str:
        asked = " ".join(str(value) for value in self.facts.values())
        return f"operation {self.number}, {self.who}: {self.kind} {asked}".rstrip()


class State(Protocol):
    """A state of the model, never changed."""

    def step(self, op: Op) -> tuple[Answer, "State"]:
        """What this operation is answered here and what comes of it: the very same state where nothing does."""

    def fingerprint(self) -> Hashable:
        """Alike exactly for states that are alike."""


@dataclass(frozen=True)
class Found:
    """An order, as places in the history. `taken_back`: how often the search had to go back for it."""

    order: tuple[int, ...]
    taken_back: int = 0


@dataclass(frozen=True)
class NoOrder:
    """There is none (or, `is_given_up`, none was found in so many steps). `why`: what can't be placed."""

    why: str
    is_given_up: bool = False


@dataclass
class _Place:
    """One point of the search: what is placed, and which changes can be tried next from here."""

    state: State
    placed: list[int]
    tries: list[tuple[int, State]]
    key: Hashable | None


def one_order(
    ops: Sequence[Op], start: State, hint: Mapping[str, float] | None = None, patience: int = 200_000
) -> Found | NoOrder:
    """Find an order of a history, or say what stands in its way. `hint`: a rank for operation keys."""
    return _Search(sorted(ops, key=lambda op: op.called), hint or {}, patience).run(start)


class _Search:
    def __init__(self, ops: list[Op], hint: Mapping[str, float], patience: int) -> None:
        self.ops = ops
        self.hint = hint
        self.patience = patience
        self.is_placed = bytearray(len(ops))
        self.left = sum(op.answer is not None for op in ops)
        self.first = 0
        self.failed: set[Hashable] = set()
        self.fewest_left = len(ops) + 1
        self.why = ""

    def run(self, start: State) -> Found | NoOrder:
        path = [self._place(start, [])]
        steps = taken_back = 0
        while self.left:
            steps += 1
            if steps > self.patience:
                return NoOrder(self.why, is_given_up=True)
            while path and not path[-1].tries:
                taken_back += 1
                self._fail(path.pop())
            if not path:
                return NoOrder(self.why)
            which, after = path[-1].tries.pop(0)
            self._put(which)
            path.append(self._place(after, [which]))
        return Found(tuple(self.ops[which].number for place in path for which in place.placed), taken_back)

    def _place(self, state: State, placed: list[int]) -> _Place:
        """Place whatever changes nothing, and list the changes that can come next; none where this was tried before."""
        tries: list[tuple[int, State]] = []
        is_looking = True
        while is_looking:
            is_looking = False
            tries = []
            for which in self._candidates():
                op = self.ops[which]
                answer, after = state.step(op)
                if op.answer is not None and answer != op.answer:
                    continue
                if after is not state:
                    tries.append((which, after))
                elif op.answer is not None:
                    self._put(which)
                    placed.append(which)
                    is_looking = True
        # What was answered and has no rank changes nothing but what its own key is answered again.
        tries.sort(key=lambda each: (self.ops[each[0]].answer is None, self.hint.get(self.ops[each[0]].key, -inf)))
        self._remember_what_is_stuck(state)
        # Nothing is kept of a place with one way on: it fails with the place before it.
        key = None
        if len(tries) != 1:
            key = (self._first_left(), bytes(self.is_placed[self.first :]).rstrip(b"\0"), state.fingerprint())
        return _Place(state, placed, [] if key in self.failed else tries, key)

    def _candidates(self) -> list[int]:
        """What may come next: called before any of those left was answered."""
        found: list[int] = []
        until = inf
        for which in range(self._first_left(), len(self.ops)):
            op = self.ops[which]
            if op.called > until:
                break
            if not self.is_placed[which]:
                found.append(which)
                until = min(until, inf if op.answered is None or op.answer is None else op.answered)
        return [which for which in found if self.ops[which].called <= until]

    def _first_left(self) -> int:
        while self.first < len(self.ops) and self.is_placed[self.first]:
            self.first += 1
        return self.first

    def _put(self, which: int) -> None:
        self.is_placed[which] = True
        self.left -= self.ops[which].answer is not None

    def _fail(self, place: _Place) -> None:
        if place.key is not None:
            self.failed.add(place.key)
        for which in place.placed:
            self.is_placed[which] = False
            self.left += self.ops[which].answer is not None
            self.first = min(self.first, which)

    def _remember_what_is_stuck(self, state: State) -> None:
        """Where fewer were left than ever: the one that had to be placed next, and what it would have been answered."""
        if self.left >= self.fewest_left or not self.left:
            return
        self.fewest_left = self.left
        answered = [op for which, op in enumerate(self.ops) if not self.is_placed[which] and op.answered is not None]
        due = min(answered, key=lambda op: op.answered or inf)
        would_be = state.step(due)[0]
        if would_be == due.answer:
            # It fits by itself, and whatever follows doesn't.
            self.why = f"no order for what follows {due}, answered {_words(due.answer)}"
        else:
            self.why = (
                f"{due} was answered {_words(due.answer)}; in no order of what was done before its answer can that be: "
                f"it would have been {_words(would_be)}"
            )


def _words(answer: Answer | None) -> str:
    return repr(" ".join(str(each) for each in answer)) if answer else "nothing"
