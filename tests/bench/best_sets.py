"""The best sets of the published plans: ours, a constraint solver's and plain enumeration's time for the same answer.

`python -m tests.bench.best_sets` (from the checkout; some minutes). Each line is one problem over the 39 frequencies of
plans A, B, E, F and R: medians of several runs, side by side. The solver proves the same order with two workers.
Enumeration runs where it has at most `MOST_LISTS` lists to look at. The last lines are medians of the ratios.
"""

from collections.abc import Callable
from math import comb
from statistics import median
from time import perf_counter

from meetapp.data.catalog import published_plans
from meetapp.spectrum import Optimal, PickProblem, best_set, pool_mhz
from tests.bench.plain import by_enumeration
from tests.spectrum.solver import solved

COUNTS = range(4, 9)
SPACINGS_MHZ = (37, 30, 25)
OUR_RUNS, SOLVER_RUNS = 9, 3
MOST_LISTS = 600_000

Mhz = tuple[int, ...]


def timed(answer: Callable[[], Mhz | None], runs: int) -> tuple[Mhz | None, float]:
    """The answer and the median of the seconds."""
    seconds = []
    for _ in range(runs):
        started = perf_counter()
        mhz = answer()
        seconds.append(perf_counter() - started)
    return mhz, median(seconds)


def ours(problem: PickProblem) -> Mhz | None:
    """The proven best list by our search."""
    result = best_set(problem)
    return result.mhz if isinstance(result, Optimal) else None


def solvers(problem: PickProblem) -> Mhz | None:
    """The proven best list by the solver."""
    carriers = solved(problem, is_lean=True)
    return None if carriers is None else tuple(carrier.mhz for carrier in carriers)


def main() -> None:
    """Print the table."""
    pool = pool_mhz(published_plans(), "ABEFR")
    solver_ratios, plain_ratios = [], []
    print(f"{'count':>5} {'spacing':>8} {'ours':>10} {'solver':>10} {'ratio':>8} {'enumeration':>12} {'ratio':>9}")
    for count in COUNTS:
        for spacing in SPACINGS_MHZ:
            problem = PickProblem(pool, count, spacing)
            mhz, own = timed(lambda problem=problem: ours(problem), OUR_RUNS)
            by_solver, solver = timed(lambda problem=problem: solvers(problem), SOLVER_RUNS)
            assert by_solver == mhz, (problem, by_solver, mhz)
            solver_ratios.append(solver / own)
            line = f"{count:>5} {spacing:>8} {own * 1000:>7.1f} ms {solver:>8.2f} s {solver / own:>8.0f}"
            if comb(len(pool), count) <= MOST_LISTS:
                by_plain, plain = timed(lambda problem=problem: by_enumeration(problem), 1)
                assert by_plain == mhz, (problem, by_plain, mhz)
                plain_ratios.append(plain / own)
                line += f" {plain:>10.2f} s {plain / own:>9.0f}"
            print(line, flush=True)
    print(f"solver / ours: median {median(solver_ratios):.0f}, least {min(solver_ratios):.0f}")
    print(f"enumeration / ours: median {median(plain_ratios):.0f}, least {min(plain_ratios):.0f}")


if __name__ == "__main__":
    main()
