"""The best sets of the published plans: ours, a constraint solver's and plain enumeration's time for the same answer.

`python -m tests.bench.best_sets` (from the checkout, on an idle machine; a minute or two). Each line is one problem
over the 39 frequencies of plans A, B, E, F and R: medians of several runs, side by side. The solver proves the same
order with two workers. Enumeration runs where it has at most `MOST_LISTS` lists to look at. The last lines are medians
of the ratios.
"""

from math import comb
from statistics import median

from meetapp.data.catalog import published_plans
from meetapp.spectrum import Optimal, PickProblem, best_set, pool_mhz
from tests.bench.plain import by_enumeration
from tests.bench.timing import Timed, beside, timed
from tests.spectrum.solver import solved

COUNTS = range(4, 9)
SPACINGS_MHZ = (37, 30, 25)
OUR_RUNS, SOLVER_RUNS = 9, 3
MOST_LISTS = 600_000

Mhz = tuple[int, ...]


def ours(problem: PickProblem) -> Mhz | None:
    """The proven best list by our search."""
    result = best_set(problem)
    return result.mhz if isinstance(result, Optimal) else None


def solvers(problem: PickProblem) -> Mhz | None:
    """The proven best list by the solver."""
    carriers = solved(problem, is_lean=True)
    return None if carriers is None else tuple(carrier.mhz for carrier in carriers)


def row(problem: PickProblem) -> tuple[float, float | None]:
    """Print one line of the table; how many times ours the solver and enumeration take."""
    own = timed(lambda: ours(problem), OUR_RUNS)
    solver = timed(lambda: solvers(problem), SOLVER_RUNS)
    plain: Timed[Mhz | None] | None = None
    if comb(len(problem.pool_mhz), problem.count) <= MOST_LISTS:
        plain = timed(lambda: by_enumeration(problem))
    for other in (solver, plain):
        assert other is None or other.answer == own.answer, (problem, other.answer, own.answer)
    print(
        f"{problem.count:>5} {problem.spacing_mhz:>8} {own.seconds * 1000:>7.1f} ms {beside(solver, own)} "
        f"{beside(plain, own)}",
        flush=True,
    )
    return solver.seconds / own.seconds, None if plain is None else plain.seconds / own.seconds


def main() -> None:
    """Print the table."""
    pool = pool_mhz(published_plans(), "ABEFR")
    print(f"{'count':>5} {'spacing':>8} {'ours':>10} {'solver':>9} {'ratio':>8} {'plain':>9} {'ratio':>8}")
    ratios = [row(PickProblem(pool, count, spacing)) for count in COUNTS for spacing in SPACINGS_MHZ]
    solver_ratios = [solver for solver, _ in ratios]
    plain_ratios = [plain for _, plain in ratios if plain is not None]
    print(f"solver / ours: median {median(solver_ratios):.0f}, least {min(solver_ratios):.0f}")
    print(f"enumeration / ours: median {median(plain_ratios):.0f}, least {min(plain_ratios):.0f}")


if __name__ == "__main__":
    main()
