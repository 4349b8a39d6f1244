"""The best sets by brute force: every list, every product, by the definitions of the third order."""

from functools import cache
from itertools import combinations, permutations

from hypothesis import strategies as st

from meetapp.spectrum.problem import PickProblem

Mhz = tuple[int, ...]


@cache
def brute_measures(mhz: Mhz, width: float) -> tuple[float | None, float | None, float | None]:
    excess = width - 20
    spacing = [abs(a - b) - excess for a, b in combinations(mhz, 2)]
    two = [abs(2 * a - b - victim) - 2 * excess for a, b, victim in permutations(mhz, 3)]
    three = [abs(a + b - c - victim) - 2 * excess for a, b, c, victim in permutations(mhz, 4)]
    return min(spacing, default=None), min(two, default=None), min(three, default=None)


def brute_key(problem: PickProblem, mhz: Mhz) -> tuple[float, float, float, Mhz]:
    spacing, two, three = brute_measures(mhz, problem.width_mhz)
    counted_two = problem.useful_mhz if two is None else min(two, problem.useful_mhz)
    counted_three = problem.useful_mhz if three is None else min(three, problem.useful_mhz)
    if problem.signals == "two":
        return -counted_two, -counted_three, -(spacing or 0), mhz
    return -min(counted_two, counted_three), -counted_two, -(spacing or 0), mhz


def brute_ranking(problem: PickProblem) -> list[Mhz]:
    """Every set that keeps the spacing, the best first."""
    keeping = []
    for mhz in combinations(sorted(set(problem.pool_mhz)), problem.count):
        spacing = brute_measures(mhz, problem.width_mhz)[0]
        if spacing is None or spacing >= problem.spacing_mhz:
            keeping.append(mhz)
    return sorted(keeping, key=lambda mhz: brute_key(problem, mhz))


@st.composite
def small_pools(draw: st.DrawFn, span: int, at_least: int) -> list[int]:
    """Up to twelve frequencies: any, in equal steps, or the same seen from either end."""
    shape = draw(st.sampled_from(["any", "any", "equal steps", "mirrored"]))
    if shape == "equal steps":
        step = draw(st.integers(1, max(1, span // 12)))
        return [5645 + step * place for place in range(draw(st.integers(at_least, 12)))]
    pool = draw(st.lists(st.integers(5645, 5645 + span), min_size=at_least, max_size=10, unique=True))
    if shape == "mirrored":
        return list({each for mhz in pool[:6] for each in (mhz, 2 * 5645 + span - mhz)})
    return pool
