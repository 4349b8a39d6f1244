"""The best sets on the 1 MHz raster 5650-5925 (276 frequencies): `python -m tests.bench.rasters [seconds]`.

Ours beside a constraint solver that proves the same order with two workers and straightforward backtracking, which
only has to prove the clearance. The solver is stopped after `seconds` (60) for each thing that it compares, the
backtracking runs only on the first line. Then harder problems: the best found and the proven bound on the first
clearance after 2 s and after the seconds given, and when it was proven if it was. From the checkout, on an idle
machine; some minutes.
"""

import sys
from collections.abc import Iterable, Sequence
from itertools import chain
from time import perf_counter

from meetapp.data.catalog import published_plans
from meetapp.spectrum import BestFound, Optimal, PickProblem, Result, best_set, improving
from meetapp.spectrum.serving import ServingAnswer, ServingProblem, ServingSet, expected_pilot, improving_serving_set
from meetapp.spectrum.tuning import parse_tuning
from tests.bench.plain import Backtracking
from tests.bench.timing import beside, timed
from tests.spectrum.solver import NotSolved, solved

RASTER = tuple(range(5650, 5926))
COMPARED = ((6, 37), (7, 30), (8, 25))
OUR_RUNS = 9
HARDER = ((6, 20), (7, 20), (8, 20), (7, 10), (8, 10), (8, 0), (9, 20), (9, 10), (10, 10))
MIXED: tuple[tuple[float, ...], ...] = (
    (20, 20, 20, 40),
    (20, 20, 20, 20, 40),
    (17.5, 20, 20, 27, 40),
    (20, 20, 20, 20, 40, 40),
    (20, 20, 20, 20, 20, 20, 40),
)
KITS = ("5650-5700", "R", "F", "E", "5650-5925", "A", "B", "R1 R2 R3")
FIRST_LOOK_S = 2.0


def reached(answer: Result | ServingAnswer) -> str:
    """What is known, in a few words."""
    match answer:
        case Optimal():
            return f"{_measures(answer)}, proven"
        case BestFound():
            return f"{_measures(answer)}, bound {answer.bound_mhz:g}"
        case ServingSet():
            of = "" if answer.is_most_proven else f" (bound {answer.most_served})"
            return f"serves {len(answer.seats)}{of}, {reached(answer.found)}"
    return type(answer).__name__


def _measures(result: Optimal | BestFound) -> str:
    found = result.measures
    return f"{found.clearance_mhz:g} / {found.two_signal_clearance_mhz:g} / {found.spacing_mhz:g}"


def compare(count: int, spacing: int, seconds: float, has_backtracking: bool) -> None:
    """Print one line: ours, the solver's and backtracking's time."""
    problem = PickProblem(RASTER, count, spacing)
    own = timed(lambda: best_set(problem), OUR_RUNS)
    assert isinstance(own.answer, Optimal)
    solver = timed(lambda: _by_solver(problem, seconds))
    assert solver.answer in (None, own.answer.mhz)
    backtracking = Backtracking(problem)
    plain = timed(backtracking.best_set) if has_backtracking else None
    assert plain is None or backtracking.clearance_mhz == own.answer.measures.clearance_mhz
    print(
        f"{count:>5} {spacing:>8} {own.seconds * 1000:>7.1f} ms {beside(solver, own, solver.answer is None)} "
        f"{beside(plain, own)}  {reached(own.answer)}",
        flush=True,
    )


def _by_solver(problem: PickProblem, seconds: float) -> tuple[int, ...] | None:
    try:
        return tuple(carrier.mhz for carrier in solved(problem, seconds_each=seconds, is_lean=True) or ())
    except NotSolved:
        return None


def watch(name: str, answers: Iterable[Result | ServingAnswer], seconds: float) -> None:
    """One problem, looked at after a while and at the end."""
    started = perf_counter()
    early = ""
    answer: Result | ServingAnswer | None = None
    for answer in answers:
        since = perf_counter() - started
        if not early and since >= FIRST_LOOK_S:
            early = f"after {FIRST_LOOK_S:g} s {reached(answer)}; "
        if since >= seconds:
            break
    assert answer is not None
    print(f"{name}: {early}after {perf_counter() - started:.2f} s {reached(answer)}", flush=True)


def serving(count: int, spacing: int, kits: Sequence[str]) -> ServingProblem:
    """So many tokens for pilots with these kits, all in one heat if they can."""
    pilots = (expected_pilot(number, parse_tuning(kit, published_plans())) for number, kit in enumerate(kits))
    return ServingProblem(PickProblem(RASTER, count, spacing), tuple(pilots), count)


def main() -> None:
    """Print it all."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    print(f"{'count':>5} {'spacing':>8} {'ours':>10} {'solver':>9} {'ratio':>8} {'plain':>9} {'ratio':>8}")
    for count, spacing in COMPARED:
        compare(count, spacing, seconds, has_backtracking=(count, spacing) == COMPARED[0])
    print("\nclearance / two-signal clearance / spacing in MHz")
    for count, spacing in chain(COMPARED, HARDER):
        watch(f"{count} at {spacing}", improving(PickProblem(RASTER, count, spacing)), seconds)
    for widths in MIXED:
        problem = PickProblem(RASTER, len(widths), 25, widths_mhz=widths)
        watch(f"{' '.join(f'{width:g}' for width in widths)} wide at 25", improving(problem), seconds)
    for count, spacing in ((6, 37), (6, 25), (8, 25)):
        answers = improving_serving_set(serving(count, spacing, KITS))
        watch(f"{count} at {spacing} for {len(KITS)} pilots", answers, seconds)


if __name__ == "__main__":
    main()
