"""Choosing a set in one call: from plans, band and neighbours to the best carriers."""

from collections.abc import Iterable, Sequence

from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, USEFUL_CLEARANCE_MHZ, BadProblem, ChannelPlan
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.result import Result
from meetapp.spectrum.search import IsOver, best_set


def pick(
    count: int,
    spacing_mhz: int,
    *,
    plans: Sequence[ChannelPlan] = (),
    letters: Iterable[str] = (),
    extra_mhz: Iterable[int] = (),
    within: Sequence[Segment] = (),
    avoid: Sequence[Neighbour] = (),
    width_mhz: float = REFERENCE_WIDTH_MHZ,
    widths_mhz: Sequence[float] = (),
    signals: Signals = "both",
    useful_mhz: int = USEFUL_CLEARANCE_MHZ,
    node_budget: int | None = None,
    is_over: IsOver | None = None,
) -> Result:
    """The best `count` carriers from the plans with these letters and from `extra_mhz`: what `meetapp pick` answers.

    Units: MHz. `within`: the whole occupied width lies in one of these segments; none given, no band rule is applied.
    `avoid`: at least half of both widths lies between a carrier and each of these neighbours. `width_mhz` is used for
    these two only; spacing and clearances are distances between the centres of carriers of the reference width.
    `widths_mhz` instead gives each carrier a width of its own, by which everything is measured (see `carriers` and
    `products`); the answer says which frequency got which. `signals`, `useful_mhz` and the order of sets: see
    `problem.order_key`. `node_budget` and `is_over`: when to stop before it is proven, see `search.best_set`.

    Returns: Optimal ("proven best" by these sums; no promise of a clear picture), Impossible with the largest count and
    the widest spacing that can be had, or, where it was stopped, BestFound or Undecided.
    Raises: BadProblem with a sentence for a person.

    >>> from meetapp.data.catalog import published_plans
    >>> best = pick(6, 37, plans=published_plans(), letters="ABEFR")
    >>> best.mhz, best.measures.two_signal_clearance_mhz, best.measures.three_signal_clearance_mhz
    ((5645, 5695, 5765, 5805, 5865, 5945), 20, 10)
    >>> pick(3, 50, plans=published_plans(), letters="R", within=[Segment(5725, 5875)])
    Impossible(largest_count=2, largest_spacing_mhz=37)
    """
    if not widths_mhz:
        pool = pool_mhz(plans, letters, extra_mhz, within, width_mhz, avoid)
        return best_set(PickProblem(pool, count, spacing_mhz, signals, useful_mhz), node_budget, is_over)
    if width_mhz != REFERENCE_WIDTH_MHZ:
        raise BadProblem("widths_mhz", "Give one width for all carriers or one for each, not both.")
    extra = tuple(extra_mhz)
    room = [(width, pool_mhz(plans, letters, extra, within, width, avoid)) for width in sorted(set(widths_mhz))]
    problem = PickProblem(
        room[0][1], count, spacing_mhz, signals, useful_mhz, widths_mhz=tuple(widths_mhz), room_mhz=tuple(room)
    )
    return best_set(problem, node_budget, is_over)
