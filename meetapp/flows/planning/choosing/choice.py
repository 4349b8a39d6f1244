"""The answer to a question: the best set for those who come, how far it is proven, and what else there is.

The search runs behind the page (`search_jobs`) on values read beforehand: no transaction is open meanwhile.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from meetapp.flows.planning.choosing.question import (
    Asked,
    Question,
    asked,
    pick_for,
    read_ground,
    seating_of,
    seating_on,
)
from meetapp.flows.planning.choosing.search_jobs import JobState, Progress, SearchJobs
from meetapp.flows.planning.choosing.searching import Searched, search
from meetapp.flows.planning.choosing.shown_set import ShownSet, shown_set
from meetapp.flows.planning.choosing.ways_for import WayLine, way_lines
from meetapp.flows.planning.choosing.ways_out import would_give
from meetapp.flows.planning.planned_set import SetFigures, figures
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.serving import ServingSet
from meetapp.store.engine import Store

PATIENCE_S = 2
"""How long a page waits for its answer before it shows what there is."""

Outcome = Literal["proven", "not proven", "undecided", "impossible"]


@dataclass(frozen=True, slots=True)
class SetLine:
    """One alternative in a table; `unserved` counts the expected pilots whom it can't serve."""

    found: SetFigures
    unserved: int
    is_shown: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer to a question.

    `outcome` and `most_served` (proven: no set serves more of those in reach) are of the best set, `shown` may be
    another one (`is_best` False; None: there is no set). `bound_mhz`: no set that serves as many has more clearance.
    `search`: how far the search is, and `ran_s` how long it has run. `left_out_by_band` and `left_out_by_neighbours`
    count the frequencies that fell out of the pool. `would_give`: what would have to give, where the count can't be
    done. `ranked` holds proven sets only; `is_cut_short`: there may be more of them.
    """

    outcome: Outcome
    search: JobState
    ran_s: float
    limit_s: float
    pool_size: int
    left_out_by_band: int
    left_out_by_neighbours: int
    counted_as_if: tuple[str, ...]
    shown: ShownSet | None = None
    is_best: bool = False
    bound_mhz: float | None = None
    is_most_served_proven: bool = False
    most_served: int = 0
    in_reach: int = 0
    ways: tuple[WayLine, ...] = ()
    ranked: tuple[SetLine, ...] = ()
    is_cut_short: bool = False
    largest_count: int | None = None
    largest_spacing_mhz: float | None = None
    would_give: tuple[str, ...] = ()

    @property
    def is_searching(self) -> bool:
        """Whether more may come of it."""
        return self.search != "done"


def choose(
    store: Store,
    jobs: SearchJobs,
    meet_id: int,
    question: Question,
    now: datetime,
    patience_s: float = PATIENCE_S,
) -> Choice:
    """The best set for the question with its alternatives, or what would have to give; or how far the search is.

    Raises:
        NotFound: there is no such meet.
        Refused: a letter or a frequency that can't be meant, naming the field.
    """
    about = asked(read_ground(store, meet_id, now), question)
    progress = jobs.ask(("set", about.problem), lambda watch: search(about.problem, watch), patience_s)
    searched = progress.latest or Searched(Undecided(0))
    choice = _with_pool(about, progress)
    match searched.answer:
        case Impossible() as impossible:
            return replace(
                choice,
                outcome="impossible",
                largest_count=impossible.largest_count,
                largest_spacing_mhz=impossible.largest_spacing_mhz,
                would_give=tuple(would_give(about, impossible)),
            )
        case ServingSet() as best:
            return _with_set(choice, about, searched, best)
        case Undecided():
            return choice


def _with_pool(about: Asked, progress: Progress[Searched]) -> Choice:
    pool = len(about.pool_mhz)
    ground, question, pilots = about.ground, about.question, about.problem.pilots
    return Choice(
        outcome="undecided",
        search=progress.state,
        ran_s=progress.ran_s,
        limit_s=progress.limit_s,
        pool_size=pool,
        left_out_by_band=len(pick_for(ground, replace(question, within_band=False), pilots).pool_mhz) - pool,
        left_out_by_neighbours=len(pick_for(ground, question, pilots, avoid=False).pool_mhz) - pool,
        counted_as_if=tuple(
            person.board_name for person in about.plan.people if person.pilot_id in question.with_any_kit
        ),
        in_reach=len(about.pilots),
    )


def _with_set(choice: Choice, about: Asked, searched: Searched, best: ServingSet) -> Choice:
    looked_at = tuple(sorted(set(about.question.looked_at)))
    is_best = not looked_at or looked_at == best.found.mhz
    shown = shown_set(about, seating_of(about, best) if is_best else seating_on(about, looked_at))
    return replace(
        choice,
        outcome="proven" if isinstance(best.found, Optimal) else "not proven",
        shown=shown,
        is_best=is_best,
        bound_mhz=best.found.bound_mhz if isinstance(best.found, BestFound) else None,
        is_most_served_proven=best.is_most_proven,
        most_served=best.most_served,
        ways=tuple(way_lines(about, searched)) if about.question.for_expected and searched.is_set_settled else (),
        ranked=tuple(_line(about, each, shown.found.mhz) for each in searched.next_best),
        is_cut_short=searched.is_cut_short,
    )


def _line(about: Asked, other: ServingSet, shown: tuple[int, ...]) -> SetLine:
    seating = seating_of(about, other)
    found = figures(about.plan, other.found.mhz, seating.widths_mhz)
    return SetLine(found, len(about.plan.people) - len(seating.seat_of), other.found.mhz == shown)
