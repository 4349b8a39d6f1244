"""Choosing a meet's channels: the best set by the exact search, whom it serves, and the alternatives.

The search runs on values read beforehand: no transaction is open meanwhile.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from sqlmodel import Session, col, select

from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.planning.planned_set import Plan, SetFigures, figures, read_plan, usual_floors
from meetapp.flows.readings import refusing
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, ChannelPlan, check_mhz, labels_at
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.search import best_per_spacing, next_best
from meetapp.spectrum.spacing import largest_count
from meetapp.store import tables as t
from meetapp.store.engine import Store

NODE_BUDGET = 150_000
"""About a second of search in plain Python for each question; what is then in hand is shown as not proven."""

NEXT_BEST_SETS = 5
USUAL_SPACING_MHZ = 37
"""The spacing that the form starts with: the step of plan R. Common practice, no published source."""

_LETTERS_THAT_DIFFER = ("L",)
"""What L stands for differs between transmitters (seen in open firmware), so it isn't ticked from the start."""

Outcome = Literal["proven", "not proven", "undecided", "impossible"]


@dataclass(frozen=True, slots=True)
class Question:
    """What the organiser asks for. `only_owned`: choose among the club's usable tokens, whatever plans are ticked.

    `looked_at`: a set to show in place of the best one (an alternative), empty for the best.
    """

    count: int
    spacing_mhz: int
    signals: Signals
    letters: tuple[str, ...]
    extra_mhz: tuple[int, ...] = ()
    only_owned: bool = False
    within_band: bool = True
    looked_at: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class ChoosingPage:
    """What the form needs. `plans`: (letter, text) pairs, `ticked` those ticked at first.

    `width_mhz` is the widest transmitter expected, `widest` its name (empty: nobody is expected with one).
    """

    meet_id: int
    meet_name: str
    state: str
    fly_at_once: int
    signals: str
    pull_mhz: int
    coming: int
    plans: tuple[tuple[str, str], ...]
    ticked: tuple[str, ...]
    owned: int
    band_name: str
    neighbours: tuple[str, ...]
    width_mhz: float
    widest: str


@dataclass(frozen=True, slots=True)
class ShownSet:
    """One set in full. `channels`: (label, MHz) pairs, the label empty where no plan has the frequency.

    `made_mhz`: those for which the club owns no usable token yet. `usual`: the floors it would start with.
    """

    channels: tuple[tuple[str, int], ...]
    found: SetFigures
    made_mhz: tuple[int, ...]
    usual: Floors


@dataclass(frozen=True, slots=True)
class SetLine:
    """One alternative in a table; `unserved` counts the expected pilots whom it can't serve."""

    found: SetFigures
    unserved: int
    is_shown: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer to a question.

    `shown` None: there is no set. `is_best`: the shown set is the first of the ranking. `left_out_by_band` and
    `left_out_by_neighbours` count the frequencies that fell out of the pool. `would_give`: what would have to give,
    where the count can't be done. `ranked` and `by_spacing` hold proven sets only; `is_cut_short`: the search stopped
    at its budget, so there may be more of them.
    """

    outcome: Outcome
    pool_size: int
    left_out_by_band: int
    left_out_by_neighbours: int
    shown: ShownSet | None
    is_best: bool
    ranked: tuple[SetLine, ...]
    by_spacing: tuple[SetLine, ...]
    is_cut_short: bool = False
    largest_count: int | None = None
    largest_spacing_mhz: float | None = None
    would_give: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Ground:
    """Everything the sums need, read at one moment."""

    plan: Plan
    owned_mhz: tuple[int, ...]
    meet: t.Meet
    published: tuple[str, ...]


def choosing_page(store: Store, meet_id: int, now: datetime) -> ChoosingPage:
    """Read what the form needs."""
    ground = _read_ground(store, meet_id, now)
    plan, meet = ground.plan, ground.meet
    return ChoosingPage(
        meet_id=meet.id,
        meet_name=meet.name,
        state=meet.state,
        fly_at_once=meet.fly_at_once,
        signals=meet.signals,
        pull_mhz=meet.pull_mhz,
        coming=len(plan.people),
        plans=tuple((each.letter, _plan_text(each)) for each in plan.snapshot.plans),
        ticked=tuple(letter for letter in ground.published if letter not in _LETTERS_THAT_DIFFER),
        owned=len(ground.owned_mhz),
        band_name=plan.band_name,
        neighbours=tuple(
            f"{each.label} ({each.centre_mhz} MHz, {each.width_mhz:g} MHz wide)" for each in plan.snapshot.neighbours
        ),
        width_mhz=plan.width_mhz,
        widest=plan.widest.name if plan.widest else "",
    )


def _plan_text(plan: ChannelPlan) -> str:
    return f"{plan.letter} ({len(plan.channels)} channels)"


def _read_ground(store: Store, meet_id: int, now: datetime) -> _Ground:
    with store.read() as session:
        meet = find_meet(session, meet_id)
        published = select(t.ChannelPlanRow.letter).where(col(t.ChannelPlanRow.is_published))
        return _Ground(
            plan=read_plan(session, meet, now),
            owned_mhz=_owned_mhz(session),
            meet=meet,
            published=tuple(session.exec(published.order_by(col(t.ChannelPlanRow.position)))),
        )


def _owned_mhz(session: Session) -> tuple[int, ...]:
    usable = select(t.Token.nominal_mhz).where(t.Token.state == "usable").distinct()
    return tuple(sorted(session.exec(usable)))


def choose(store: Store, meet_id: int, question: Question, now: datetime) -> Choice:
    """The best set for the question with its alternatives, or what would have to give.

    Raises:
        Refused: a letter or a frequency that can't be meant, naming the field.
    """
    ground = _read_ground(store, meet_id, now)
    pool = _pool(ground, question)
    with refusing("count"):
        problem = PickProblem(
            pool, question.count, question.spacing_mhz, question.signals, ground.plan.useful_clearance_mhz
        )
    ranking = next_best(problem, NEXT_BEST_SETS, NODE_BUDGET)
    choice = Choice(
        outcome=_outcome(ranking[0]),
        pool_size=len(pool),
        left_out_by_band=len(_pool(ground, replace(question, within_band=False))) - len(pool),
        left_out_by_neighbours=len(_pool(ground, question, avoid=False)) - len(pool),
        shown=None,
        is_best=False,
        ranked=(),
        by_spacing=(),
    )
    if not isinstance(ranking[0], Optimal | BestFound):
        return _with_ways_out(choice, ground, question, ranking[0])
    best = ranking[0].mhz
    looked_at = _looked_at(question) or best
    spaced = [result for _spacing, result in best_per_spacing(problem, NODE_BUDGET)]
    proven = [result for result in ranking if isinstance(result, Optimal)]
    line = _line_maker(ground.plan, looked_at)
    return replace(
        choice,
        shown=_shown(ground, looked_at, question.spacing_mhz),
        is_best=looked_at == best,
        ranked=tuple(line(result.mhz) for result in proven),
        by_spacing=tuple(line(result.mhz) for result in spaced if isinstance(result, Optimal)),
        is_cut_short=len(proven) < len(ranking) or any(isinstance(result, BestFound) for result in spaced),
    )


def _outcome(first: Result) -> Outcome:
    match first:
        case Optimal():
            return "proven"
        case BestFound():
            return "not proven"
        case Undecided():
            return "undecided"
        case Impossible():
            return "impossible"


def _pool(
    ground: _Ground, question: Question, *, avoid: bool = True, width_mhz: float | None = None
) -> tuple[int, ...]:
    snapshot = ground.plan.snapshot
    with refusing("extra_mhz"):
        for mhz in question.extra_mhz:
            check_mhz("extra_mhz", mhz)
    with refusing("letters"):
        return pool_mhz(
            snapshot.plans,
            () if question.only_owned else question.letters,
            ground.owned_mhz if question.only_owned else question.extra_mhz,
            snapshot.site_segments if question.within_band else (),
            width_mhz or ground.plan.width_mhz,
            snapshot.neighbours if avoid else (),
        )


def _looked_at(question: Question) -> tuple[int, ...]:
    with refusing("looked_at"):
        for mhz in question.looked_at:
            check_mhz("looked_at", mhz)
    return tuple(sorted(set(question.looked_at)))


def look_at(store: Store, meet_id: int, mhz: Sequence[int], now: datetime) -> ShownSet:
    """One set in full, by itself.

    Raises:
        Refused: a frequency that can't be meant (field 'mhz').
    """
    with refusing("mhz"):
        for each in mhz:
            check_mhz("mhz", each)
    return _shown(_read_ground(store, meet_id, now), tuple(sorted(set(mhz))), USUAL_SPACING_MHZ)


def _shown(ground: _Ground, mhz: tuple[int, ...], spacing_asked_mhz: float) -> ShownSet:
    found = figures(ground.plan, mhz)
    plans = ground.plan.snapshot.plans
    return ShownSet(
        channels=tuple((next(iter(labels_at(each, plans)), ""), each) for each in mhz),
        found=found,
        made_mhz=tuple(each for each in mhz if each not in ground.owned_mhz),
        usual=usual_floors(ground.plan, found, spacing_asked_mhz),
    )


def _line_maker(plan: Plan, shown: tuple[int, ...]) -> Callable[[tuple[int, ...]], SetLine]:
    def line(mhz: tuple[int, ...]) -> SetLine:
        found = figures(plan, mhz)
        return SetLine(found, len(found.unserved), mhz == shown)

    return line


def _with_ways_out(choice: Choice, ground: _Ground, question: Question, first: Result) -> Choice:
    if not isinstance(first, Impossible):
        return choice
    return replace(
        choice,
        largest_count=first.largest_count,
        largest_spacing_mhz=first.largest_spacing_mhz,
        would_give=tuple(_would_give(ground, question, first)),
    )


def _would_give(ground: _Ground, question: Question, first: Impossible) -> Iterator[str]:
    """Each demand that alone would make room for more, with how many then fit at the same spacing."""

    def fits(pool: Sequence[int]) -> int:
        return largest_count(pool, question.spacing_mhz)

    every_letter = tuple(plan.letter for plan in ground.plan.snapshot.plans)
    wider = replace(question, letters=every_letter, only_owned=False)
    others = (
        ("without the band profile (no band rule applied)", _pool(ground, replace(question, within_band=False))),
        ("without keeping away from the neighbours", _pool(ground, question, avoid=False)),
        (
            f"counted with {REFERENCE_WIDTH_MHZ} MHz of width in place of {ground.plan.width_mhz:g}",
            _pool(ground, question, width_mhz=REFERENCE_WIDTH_MHZ),
        ),
        ("with every channel plan of the club", _pool(ground, wider)),
    )
    for what, pool in others:
        if (count := fits(pool)) > first.largest_count:
            yield f"{what[:1].upper()}{what[1:]}, {count} fit at {question.spacing_mhz} MHz."
