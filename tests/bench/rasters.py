"""The best sets on the 1 MHz raster 5650-5925 (276 frequencies): `python -m tests.bench.rasters [seconds]`.

First six carriers at a spacing of 37 beside straightforward backtracking (about a minute or two), which only has to
prove the clearance. Then harder problems: the best found and the proven bound on the clearance after 2 s and after the
seconds given (60), and when it was proven if it was.
"""

import sys
from time import perf_counter

from meetapp.spectrum import BestFound, Optimal, PickProblem, Result, best_set, improving
from tests.bench.plain import Backtracking

RASTER = tuple(range(5650, 5926))
HARDER = ((7, 30), (8, 25), (6, 20), (7, 15), (8, 15), (8, 10), (8, 5), (9, 20), (9, 15), (10, 10))
FIRST_LOOK_S = 2.0


def reached(result: Result) -> str:
    """What is known, in a few words."""
    match result:
        case Optimal():
            return f"{_measures(result)}, proven"
        case BestFound():
            return f"{_measures(result)}, bound {result.bound_mhz:g}"
    return type(result).__name__


def _measures(result: Optimal | BestFound) -> str:
    found = result.measures
    return f"{found.clearance_mhz:g} / {found.two_signal_clearance_mhz:g} / {found.spacing_mhz:g}"


def beside_backtracking() -> None:
    """Six carriers at a spacing of 37."""
    problem = PickProblem(RASTER, 6, 37)
    started = perf_counter()
    result = best_set(problem)
    own = perf_counter() - started
    started = perf_counter()
    plain = Backtracking(problem)
    plain.best_set()
    seconds = perf_counter() - started
    assert isinstance(result, Optimal)
    assert result.measures.clearance_mhz == plain.clearance_mhz
    print(f"6 carriers at 37: {reached(result)}; ours {own * 1000:.1f} ms, backtracking {seconds:.1f} s")
    print(f"backtracking / ours: {seconds / own:.0f}\n", flush=True)


def watch(count: int, spacing: int, seconds: float) -> None:
    """One problem, looked at after a while and at the end."""
    started = perf_counter()
    early = ""
    result: Result | None = None
    for result in improving(PickProblem(RASTER, count, spacing)):
        since = perf_counter() - started
        if not early and since >= FIRST_LOOK_S:
            early = f"after {FIRST_LOOK_S:g} s {reached(result)}; "
        if since >= seconds:
            break
    assert result is not None
    print(f"{count} at {spacing}: {early}after {perf_counter() - started:.2f} s {reached(result)}", flush=True)


def main() -> None:
    """Print it all."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    beside_backtracking()
    print("clearance / two-signal clearance / spacing in MHz")
    for count, spacing in HARDER:
        watch(count, spacing, seconds)


if __name__ == "__main__":
    main()
