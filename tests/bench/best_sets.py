"""How long the best sets of the published plans take: `python tests/bench/best_sets.py` (from the checkout).

One line for each pool, ranking and count: the slowest spacing from 20 to 40 MHz, its seconds and carriers tried.
"""

import time

from meetapp.data.catalog import published_plans
from meetapp.spectrum import Optimal, PickProblem, best_set, pool_mhz
from meetapp.spectrum.problem import Signals

SPACINGS_MHZ = range(20, 41)
RANKINGS: tuple[Signals, ...] = ("both", "two")


def slowest(pool: tuple[int, ...], signals: Signals, count: int) -> tuple[float, int, int]:
    """Seconds, carriers tried and spacing of the slowest problem."""
    timed = []
    for spacing in SPACINGS_MHZ:
        started = time.perf_counter()
        result = best_set(PickProblem(pool, count, spacing, signals))
        seconds = time.perf_counter() - started
        timed.append((seconds, result.nodes if isinstance(result, Optimal) else 0, spacing))
    return max(timed)


def main() -> None:
    """Print the table."""
    for letters in ("ABEFR", "ABEFRL"):
        pool = pool_mhz(published_plans(), letters)
        for signals in RANKINGS:
            for count in range(1, 9):
                seconds, nodes, spacing = slowest(pool, signals, count)
                print(f"{count} of {len(pool)}, {signals:<5} {seconds:6.3f} s {nodes:7} nodes at {spacing} MHz")


if __name__ == "__main__":
    main()
