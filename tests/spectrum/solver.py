"""The best set by a general-purpose constraint solver: a model written apart, for tests and for the bench.

One integer for each carrier, ascending, with the pool as its domain; every distance of a product to a carrier as an
absolute value; then one objective after the other, each fixed before the next.
"""

from itertools import combinations, pairwise

from ortools.sat.python import cp_model

from meetapp.spectrum.problem import PickProblem


class NotSolved(Exception):
    """The solver's time was up."""


def solved(
    problem: PickProblem, workers: int = 2, seconds_each: float = 300, is_lean: bool = False
) -> tuple[int, ...] | None:
    """The best list of MHz by the same order, proven by the solver; None where no list keeps the spacing.

    For carriers of the reference width. `is_lean` spares the solver the distances that others make certain.
    Raises: NotSolved.
    """
    return _Model(problem, workers, seconds_each, is_lean).solve()


class _Model:
    def __init__(self, problem: PickProblem, workers: int, seconds_each: float, is_lean: bool) -> None:
        assert problem.width_mhz == 20
        self._model = cp_model.CpModel()
        self._solver = cp_model.CpSolver()
        self._solver.parameters.num_workers = workers
        self._solver.parameters.max_time_in_seconds = seconds_each
        self._lowest = problem.pool_mhz[0]
        self._reach = problem.pool_mhz[-1] - self._lowest
        domain = cp_model.Domain.from_values([mhz - self._lowest for mhz in problem.pool_mhz])
        self._carriers = [self._model.new_int_var_from_domain(domain, "") for _ in range(problem.count)]
        self._spacing = self._model.new_int_var(problem.spacing_mhz, max(self._reach, problem.spacing_mhz), "")
        useful = problem.useful_mhz
        self._two, self._three, self._both = (self._model.new_int_var(0, useful, "") for _ in range(3))
        self._objectives = self._objectives_of(problem)
        self._add_distances(is_lean)

    def _objectives_of(self, problem: PickProblem) -> list[cp_model.IntVar]:
        if problem.count < 3:
            return [self._spacing] if problem.count == 2 else []
        first = [self._both, self._two] if problem.signals == "both" else [self._two, self._three]
        return [*first, self._spacing]

    def _add_distances(self, is_lean: bool) -> None:
        x, model = self._carriers, self._model
        for lower, upper in pairwise(x):
            model.add(upper - lower >= self._spacing)
            model.add(upper - lower >= 1)
        for a, b, c in combinations(x, 3):
            for total in (a + c - 2 * b, a + b - 2 * c, b + c - 2 * a)[: 1 if is_lean else 3]:
                self._add_apart(total, self._two)
        for a, b, c, d in combinations(x, 4):
            for total in (a + d - b - c, a + b - c - d, a + c - b - d)[: 1 if is_lean else 3]:
                self._add_apart(total, self._three)
        model.add(self._both <= self._two)
        model.add(self._both <= self._three)

    def _add_apart(self, total: cp_model.LinearExprT, least: cp_model.IntVar) -> None:
        is_above = self._model.new_bool_var("")
        self._model.add(total >= least).only_enforce_if(is_above)
        self._model.add(-total >= least).only_enforce_if(~is_above)

    def solve(self) -> tuple[int, ...] | None:
        for objective in self._objectives:
            self._model.maximize(objective)
            if not self._is_solved():
                return None
            self._model.add(objective == self._solver.value(objective))
        for some in (self._carriers[:4], self._carriers[4:8], self._carriers[8:]):
            self._model.minimize(sum(each * (self._reach + 1) ** (4 - place) for place, each in enumerate(some)))
            if not self._is_solved():
                return None
            for each in some:
                self._model.add(each == self._solver.value(each))
        return tuple(self._solver.value(each) + self._lowest for each in self._carriers)

    def _is_solved(self) -> bool:
        status = self._solver.solve(self._model)
        if status == cp_model.OPTIMAL:
            self._model.clear_hints()
            for each in self._carriers:
                self._model.add_hint(each, self._solver.value(each))
            return True
        if status == cp_model.INFEASIBLE:
            return False
        raise NotSolved
