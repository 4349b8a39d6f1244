"""What each spacing and each number of channels costs in clearance: one row for each set that is the best somewhere."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from meetapp.flows.planning.choosing.question import Asked, Question, asked, read_ground, seating_on
from meetapp.flows.planning.choosing.search_jobs import JobState, SearchJobs, Watch
from meetapp.flows.planning.planned_set import worst_with_expected
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.mixed_room import how_many_fit, widest_spacing
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures
from meetapp.spectrum.result import BestFound, Optimal
from meetapp.spectrum.spacing import largest_count, largest_spacing
from meetapp.spectrum.trade_off import (
    BestOf,
    CountRow,
    Point,
    best_of_all,
    by_spacing,
    count_row,
    serving_best,
)
from meetapp.store.engine import Store

POINT_S = 3
"""How long one point is searched: what is in hand then is shown as not proven."""

FEWEST, MOST = 2, 10
"""The numbers of channels that are looked at, and the one that is asked for: with one there is nothing to compare."""


@dataclass(frozen=True, slots=True)
class TradeRow:
    """A set that is the best for its count and every spacing from `from_mhz` up to its own (`found.spacing_mhz`).

    `unserved`: how many of those expected it can't serve. `best_two_signal_mhz`: the largest two-signal clearance that
    a set of this count can have at the spacing asked for, `widest_mhz` the widest spacing of any (both None in rows by
    spacing). `bound_mhz`: where it isn't proven, no set has more clearance. `is_asked`: the set that the question gets.
    """

    count: int
    from_mhz: int
    mhz: tuple[int, ...]
    found: Measures
    worst: Measures
    unserved: int
    is_proven: bool
    is_asked: bool
    bound_mhz: float | None = None
    best_two_signal_mhz: float | None = None
    widest_mhz: float | None = None

    @property
    def pick_spacing_mhz(self) -> int:
        """The spacing to ask for to get this set: its own, in whole MHz."""
        return int(self.found.spacing_mhz or 0)


@dataclass(frozen=True, slots=True)
class TradeOff:
    """The rows that are worked out so far: the wanted count by spacing, then every count at the spacing asked for."""

    count: int
    spacing_mhz: int
    useful_mhz: int
    by_spacing: tuple[TradeRow, ...]
    by_count: tuple[TradeRow, ...]
    search: JobState
    ran_s: float
    expected: int

    @property
    def is_searching(self) -> bool:
        """Whether there is more to come."""
        return self.search != "done"

    @property
    def rows(self) -> tuple[TradeRow, ...]:
        """All rows in the order of the table, the set that is asked for once."""
        return self.by_spacing + tuple(row for row in self.by_count if row.count != self.count)

    @property
    def wanted(self) -> TradeRow | None:
        """The row of the wanted count at the spacing asked for, with the best of each measure."""
        return next((row for row in self.by_count if row.count == self.count), None)


@dataclass(frozen=True, slots=True)
class _Points:
    """What the job has worked out so far."""

    by_spacing: tuple[Point, ...] = ()
    by_count: tuple[CountRow, ...] = ()


def trade_off(
    store: Store, jobs: SearchJobs, meet_id: int, question: Question, now: datetime, patience_s: float
) -> TradeOff:
    """The trade-off around a question, as far as it is worked out.

    Raises:
        NotFound: there is no such meet.
        Refused: a letter or a frequency that can't be meant, naming the field.
    """
    ground = read_ground(store, meet_id, now)
    about = asked(ground, replace(question, looked_at=()))
    others = tuple(asked(ground, replace(about.question, count=count)) for count in _counts(about))
    plan = about.plan
    key = (
        "trade-off",
        tuple(each.problem for each in (about, *others)),
        plan.people,
        plan.snapshot.pull_mhz,
        plan.snapshot.neighbours,
    )
    progress = jobs.ask(key, lambda watch: _lay_out(about, others, watch), patience_s)
    points = progress.latest or _Points()
    return TradeOff(
        count=question.count,
        spacing_mhz=question.spacing_mhz,
        useful_mhz=plan.useful_clearance_mhz,
        by_spacing=tuple(_spacing_rows(about, points.by_spacing)),
        by_count=tuple(_count_rows(others, points.by_count)),
        search=progress.state,
        ran_s=progress.ran_s,
        expected=len(plan.people),
    )


def _counts(about: Asked) -> tuple[int, ...]:
    most = min(MOST, _most_that_fit(about.problem.pick))
    return tuple(sorted({*range(FEWEST, most + 1), about.question.count}))


def _most_that_fit(pick: PickProblem) -> int:
    """How many fit at the spacing, further ones as narrow as can be."""
    if not pick.widths_mhz:
        return largest_count(pick.pool_mhz, pick.centre_spacing_mhz)
    more = replace(pick, count=MOST, widths_mhz=(pick.widths_mhz + (REFERENCE_WIDTH_MHZ,) * MOST)[:MOST])
    return how_many_fit(more)


def _lay_out(about: Asked, others: tuple[Asked, ...], watch: Watch) -> Iterator[_Points]:
    """Point after point, each with its own time."""
    slices = _Slices(watch)

    def worst(mhz: tuple[int, ...]) -> Measures:
        return worst_with_expected(about.plan, mhz)

    points = _Points()
    pick = about.problem.pick
    for point in by_spacing(pick, _spacings(pick), worst, slices.is_over, _best_for(about)):
        points = replace(points, by_spacing=(*points.by_spacing, point))
        yield points
        slices.begin()
    for other in others:
        row = count_row(other.problem.pick, worst, slices.is_over, _best_for(other))
        points = replace(points, by_count=(*points.by_count, row))
        yield points
        slices.begin()


class _Slices:
    """Gives each point a time of its own."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch
        self.begin()

    def begin(self) -> None:
        """A new slice of time from now on."""
        self._is_over = self._watch.over_after(POINT_S)

    def is_over(self) -> bool:
        """Whether this slice is over."""
        return self._is_over()


def _best_for(about: Asked) -> BestOf:
    return serving_best(about.problem) if about.problem.pilots else best_of_all


def _spacings(pick: PickProblem) -> range:
    """Every spacing from where carriers of the reference width would overlap, or from the one asked for."""
    widest = widest_spacing(pick) if pick.widths_mhz else largest_spacing(pick.pool_mhz, pick.count)
    highest = int((widest or 0) - (0 if pick.widths_mhz else pick.extra_width_mhz))
    return range(min(REFERENCE_WIDTH_MHZ, pick.spacing_mhz), highest + 1)


def _spacing_rows(about: Asked, points: tuple[Point, ...]) -> Iterator[TradeRow]:
    """One row for each set, with the first spacing that it is the best for."""
    before: tuple[int, ...] = ()
    for point in points:
        if isinstance(point.answer, Optimal | BestFound) and point.answer.mhz != before:
            before = point.answer.mhz
            last = max(each.spacing_mhz for each in points if getattr(each.answer, "mhz", ()) == before)
            yield _row(about, point, is_asked=point.spacing_mhz <= about.question.spacing_mhz <= last)


def _count_rows(others: tuple[Asked, ...], rows: tuple[CountRow, ...]) -> Iterator[TradeRow]:
    for about, row in zip(others, rows, strict=False):
        if isinstance(row.best.answer, Optimal | BestFound):
            two_signal = row.best_two_signal.answer
            yield replace(
                _row(about, row.best, is_asked=False),
                best_two_signal_mhz=two_signal.measures.two_signal_clearance_mhz
                if isinstance(two_signal, Optimal | BestFound)
                else None,
                widest_mhz=row.widest_spacing_mhz,
            )


def _row(about: Asked, point: Point, *, is_asked: bool) -> TradeRow:
    answer = point.answer
    assert isinstance(answer, Optimal | BestFound)
    assert point.worst_case is not None
    return TradeRow(
        count=point.count,
        from_mhz=point.spacing_mhz,
        mhz=answer.mhz,
        found=answer.measures,
        worst=point.worst_case,
        unserved=len(about.plan.people) - len(seating_on(about, answer.mhz).seat_of),
        is_proven=isinstance(answer, Optimal),
        is_asked=is_asked,
        bound_mhz=answer.bound_mhz if isinstance(answer, BestFound) else None,
    )
