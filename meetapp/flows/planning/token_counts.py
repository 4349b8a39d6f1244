"""How many tokens: for each count the expected wait and the share of time in the air, beside the clearance it leaves.

The searches and the simulation run on values read beforehand: no transaction is open meanwhile.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import count, pairwise
from random import Random

from meetapp.flows.planning import choosing
from meetapp.flows.planning.choosing.question import Asked, Ground, Question, asked, read_ground, seating_of
from meetapp.flows.planning.planned_set import Plan, SetFigures, figures
from meetapp.flows.readings import refusing
from meetapp.flows.snapshot import Person
from meetapp.spectrum.problem import Signals
from meetapp.spectrum.queue_simulation import SimulatedWait, simulated_wait
from meetapp.spectrum.queueing import MeanTimes, QueueFigures, finite_source_queue
from meetapp.spectrum.result import Impossible, Optimal, Undecided
from meetapp.spectrum.search import IsOver
from meetapp.spectrum.serving import ServingSet, serving_set
from meetapp.store.engine import Store

USUAL_TIMES = MeanTimes(flight_min=8, ground_min=25)
"""What the form starts with. Assumed, no source: a flight with setting and landing, then charging and mending."""

USUAL_PILOTS = 12
"""What the form starts with where nobody is expected yet."""

MOST_TOKENS = 10
LOOKS = 100
"""How often each search is asked whether it is over, before it is: about a second of plain Python."""

SEED = 1
"""Any number: the same question gets the same answer."""


@dataclass(frozen=True, slots=True)
class CountsQuestion:
    """So many pilots, with these times, and tokens so far apart."""

    pilots: int
    times: MeanTimes
    spacing_mhz: int


@dataclass(frozen=True, slots=True)
class CountsPage:
    """What the form starts with. `expected`: how many are expected or there."""

    meet_id: int
    meet_name: str
    fly_at_once: int
    expected: int
    pilots: int
    times: MeanTimes
    spacing_mhz: int


@dataclass(frozen=True, slots=True)
class MixedKit:
    """What the simulation says for the kit of those who come: the wait, and the share of time in the air (0 to 1)."""

    wait: SimulatedWait
    air_share: float


@dataclass(frozen=True, slots=True)
class CountRow:
    """One number of tokens: what the formula says, the best set, and the same with the kit of those who come.

    `is_proven`: no other set serves more of those expected, and none that serves as many is better. `mixed` None:
    nobody is expected with a transmitter that can use the set. `left_out`: how many of the pilots can use no token of
    it (the others are simulated without them). `is_usual`: as many as fly at once at this meet.
    """

    queue: QueueFigures
    found: SetFigures
    is_proven: bool
    mixed: MixedKit | None
    left_out: int
    is_usual: bool

    @property
    def tokens(self) -> int:
        """How many tokens."""
        return self.queue.tokens


@dataclass(frozen=True, slots=True)
class CountsAnswer:
    """The rows from one token up. `steps`: in words what the last token planned and one more bring.

    `stopped_at`: the first count for which there is no set, `widest_mhz` the widest spacing that it can have (None
    where there is none); both None where the rows end for another reason. `kits`: how many of those expected have a
    known transmitter. `letters`: the plans chosen from.
    """

    question: CountsQuestion
    rows: tuple[CountRow, ...]
    steps: tuple[str, ...]
    kits: int
    letters: tuple[str, ...]
    stopped_at: int | None = None
    widest_mhz: float | None = None


def counts_page(store: Store, meet_id: int, now: datetime) -> CountsPage:
    """Read what the form starts with."""
    view = choosing.choosing_page(store, meet_id, now)
    return CountsPage(
        view.meet_id,
        view.meet_name,
        view.fly_at_once,
        view.coming,
        view.coming or USUAL_PILOTS,
        USUAL_TIMES,
        choosing.USUAL_SPACING_MHZ,
    )


def token_counts(store: Store, meet_id: int, question: CountsQuestion, now: datetime) -> CountsAnswer:
    """A row for each number of tokens, as far as there are pilots to hold them and room to keep them apart.

    Raises:
        Refused: pilots, times or a spacing that no sum can be done with, naming the field.
    """
    letters = choosing.choosing_page(store, meet_id, now).ticked
    field = _Field(question, read_ground(store, meet_id, now), letters)
    rows: list[CountRow] = []
    missed: Impossible | Undecided | None = None
    with refusing():
        for tokens in range(1, min(question.pilots, MOST_TOKENS) + 1):
            about = field.asked(tokens)
            answer = serving_set(about.problem, _over_after(LOOKS))
            if not isinstance(answer, ServingSet):
                missed = answer
                break
            rows.append(_row(field, about, answer))
    return CountsAnswer(
        question,
        tuple(rows),
        tuple(_step(fewer, more) for fewer, more in pairwise(rows) if fewer.is_usual or more.is_usual),
        len(field.kitted),
        letters,
        stopped_at=len(rows) + 1 if missed else None,
        widest_mhz=missed.largest_spacing_mhz if isinstance(missed, Impossible) else None,
    )


def _step(fewer: CountRow, more: CountRow) -> str:
    """What one more token brings and what it takes."""
    before, after = fewer.found.measures.clearance_mhz, more.found.measures.clearance_mhz
    wait = f"From {fewer.tokens} to {more.tokens} tokens: the wait goes from {fewer.queue.wait_min:.1f} to "
    wait += f"{more.queue.wait_min:.1f} min"
    if fewer.mixed and more.mixed:
        wait += f" (with this kit from {fewer.mixed.wait.wait_min:.1f} to {more.mixed.wait.wait_min:.1f})"
    if before is None or after is None:
        return f"{wait}; with so few there is little or nothing that products could meet."
    return f"{wait}{_clearance_words(before, after)}"


def _clearance_words(before: float, after: float) -> str:
    """What becomes of the clearance, in MHz.

    >>> _clearance_words(35, 20), _clearance_words(0, 0)
    (', the clearance from 35 to 20 MHz.', '; the clearance stays at 0 MHz.')
    """
    if before == after:
        return f"; the clearance stays at {before:g} MHz."
    return f", the clearance from {before:g} to {after:g} MHz."


@dataclass(frozen=True, slots=True)
class _Field:
    """Everything the sums need, read at one moment."""

    question: CountsQuestion
    ground: Ground
    letters: tuple[str, ...]

    @property
    def plan(self) -> Plan:
        """The meet with those who are expected."""
        return self.ground.plan

    @property
    def kitted(self) -> tuple[Person, ...]:
        """Those who are expected with a transmitter that is known."""
        return tuple(person for person in self.plan.people if person.kit is not None)

    def asked(self, tokens: int) -> Asked:
        """The question that the choice of channels starts with, for so many tokens."""
        signals: Signals = "two" if self.ground.meet.signals == "two" else "both"
        return asked(self.ground, Question(tokens, self.question.spacing_mhz, signals, self.letters))


def _over_after(looks: int) -> IsOver:
    """Ends a search after so many looks, on a slow machine as on a fast one."""
    looked = count(1)
    return lambda: next(looked) >= looks


def _row(field: _Field, about: Asked, answer: ServingSet) -> CountRow:
    question, best = field.question, answer.found
    found = figures(field.plan, best.mhz, seating_of(about, answer).widths_mhz)
    can_use = _kit_of_all(field, best.mhz)
    flying = [tokens for tokens in can_use if tokens]
    return CountRow(
        queue=finite_source_queue(question.pilots, len(best.mhz), question.times),
        found=found,
        is_proven=isinstance(best, Optimal),
        mixed=_mixed(flying, question.times) if flying else None,
        left_out=len(can_use) - len(flying),
        is_usual=len(best.mhz) == field.ground.meet.fly_at_once,
    )


def _mixed(can_use: Sequence[frozenset[int]], times: MeanTimes) -> MixedKit:
    wait = simulated_wait(can_use, times, Random(SEED).random)
    return MixedKit(wait, times.flight_min / (times.flight_min + times.ground_min + wait.wait_min))


def _kit_of_all(field: _Field, mhz: Sequence[int]) -> list[frozenset[int]]:
    """For each of the pilots asked about the tokens that their kit can use: those expected, evenly repeated or thinned
    to that many."""
    people, pilots, snapshot = field.kitted, field.question.pilots, field.plan.snapshot
    if not people:
        return []
    own = [frozenset(each for each in mhz if snapshot.setting(person, each)) for person in people]
    return [own[place * len(own) // pilots] for place in range(pilots)]
