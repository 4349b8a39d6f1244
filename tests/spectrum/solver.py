"""The best set by a general-purpose constraint solver: a model written apart, for tests and for the bench.

One integer for each carrier, ascending, with the pool as its domain; where widths differ, one switch for each carrier
and width; every distance of a product to a carrier as an absolute value; then one objective after the other, each
fixed before the next. Measures are counted in quarters of a MHz where widths differ, else in MHz.
"""

from collections.abc import Sequence
from itertools import combinations, pairwise

from ortools.sat.python import cp_model

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.serving import ServingProblem

_AT_ONCE = 4
"""So many carriers of a list are put into one objective at most, or its numbers get too large for the solver."""


class NotSolved(Exception):
    """The solver's time was up."""


def solved(
    problem: PickProblem, workers: int = 2, seconds_each: float | None = None, is_lean: bool = False
) -> tuple[Carrier, ...] | None:
    """The best carriers by the same order, proven by the solver; None where none keep the spacing.

    For carriers of the reference width or of several widths. `is_lean` spares the solver the distances that others
    make certain. `seconds_each`: for each thing compared; None as long as it takes. Raises: NotSolved.
    """
    return _Model(problem, workers, seconds_each, is_lean).solve()


def solved_serving(problem: ServingProblem) -> tuple[Carrier, ...] | None:
    """The best carriers of those that serve most of the pilots, proven by the solver as above."""
    model = _Model(problem.pick, workers=2, seconds_each=None, is_lean=False)
    model.serve_first(problem)
    return model.solve()


class _Model:
    def __init__(self, problem: PickProblem, workers: int, seconds_each: float | None, is_lean: bool) -> None:
        assert problem.width_mhz == 20
        self._model = cp_model.CpModel()
        self._solver = cp_model.CpSolver()
        self._solver.parameters.num_workers = workers
        if seconds_each is not None:
            self._solver.parameters.max_time_in_seconds = seconds_each
        self._problem = problem
        self._unit = 4 if problem.widths_mhz else 1
        self._lowest = problem.pool_mhz[0]
        self._reach = problem.pool_mhz[-1] - self._lowest
        self._widths = sorted(set(problem.widths_mhz or [20]))
        domain = self._domain(problem.pool_mhz)
        self._carriers = [self._model.new_int_var_from_domain(domain, "") for _ in range(problem.count)]
        self._has_width = [[self._model.new_bool_var("") for _ in self._widths] for _ in range(problem.count)]
        most = self._unit * (2 * self._reach + 700)
        self._spacing = self._model.new_int_var(self._unit * problem.spacing_mhz, most, "")
        useful = self._unit * problem.useful_mhz
        self._two, self._three, self._both = (self._model.new_int_var(-most, useful, "") for _ in range(3))
        self._objectives = self._objectives_of(problem)
        self._add_widths()
        self._add_distances(is_lean)

    def _domain(self, pool_mhz: Sequence[int]) -> cp_model.Domain:
        return cp_model.Domain.from_values([mhz - self._lowest for mhz in pool_mhz])

    def _objectives_of(self, problem: PickProblem) -> list[cp_model.IntVar]:
        if problem.count < 3:
            return [self._spacing] if problem.count == 2 else []
        first = [self._both, self._two] if problem.signals == "both" else [self._two, self._three]
        return [*first, self._spacing]

    def _add_widths(self) -> None:
        widths = self._problem.widths_mhz or (20,) * self._problem.count
        for kind, width in enumerate(self._widths):
            self._model.add(sum(switches[kind] for switches in self._has_width) == widths.count(width))
            room = self._domain(self._problem.room_for(width))
            for carrier, switches in zip(self._carriers, self._has_width, strict=True):
                self._model.add_linear_expression_in_domain(carrier, room).only_enforce_if(switches[kind])
        for switches in self._has_width:
            self._model.add_exactly_one(switches)

    def _add_distances(self, is_lean: bool) -> None:
        model, unit = self._model, self._unit
        excess = [
            sum(int(2 * (width - 20)) * switch for width, switch in zip(self._widths, switches, strict=True))
            for switches in self._has_width
        ]
        x = list(zip(self._carriers, excess, strict=True))
        for (a, ha), (b, hb) in pairwise(x) if len(self._widths) == 1 else combinations(x, 2):
            model.add(unit * (b - a) >= self._spacing + ha + hb)
            model.add(b - a >= 1)
        for (a, ha), (b, hb), (c, hc) in combinations(x, 3):
            three = [(a + c - 2 * b, hb), (a + b - 2 * c, hc), (b + c - 2 * a, ha)]
            for total, twice in three[: 1 if is_lean else 3]:
                self._add_apart(unit * total, self._two + ha + hb + hc + twice)
        for (a, ha), (b, hb), (c, hc), (d, hd) in combinations(x, 4):
            for total in (a + d - b - c, a + b - c - d, a + c - b - d)[: 1 if is_lean else 3]:
                self._add_apart(unit * total, self._three + ha + hb + hc + hd)
        model.add(self._both <= self._two)
        model.add(self._both <= self._three)

    def _add_apart(self, total: cp_model.LinearExprT, least: cp_model.LinearExprT) -> None:
        is_above = self._model.new_bool_var("")
        self._model.add(total >= least).only_enforce_if(is_above)
        self._model.add(-total >= least).only_enforce_if(~is_above)

    def serve_first(self, problem: ServingProblem) -> None:
        """Compare first how many pilots have a seat: on one carrier each that they can take, one in each heat."""
        seats = [[self._model.new_bool_var("") for _ in self._carriers] for _ in problem.pilots]
        for pilot, own in zip(problem.pilots, seats, strict=True):
            reach = [mhz for mhz in self._problem.pool_mhz if any(abs(mhz - m) <= problem.pull_mhz for m in pilot.mhz)]
            for carrier, seat in zip(self._carriers, own, strict=True):
                self._model.add_linear_expression_in_domain(carrier, self._domain(reach)).only_enforce_if(seat)
            self._model.add_at_most_one(own)
        heats = -(-len(problem.pilots) // min(problem.heat_size, self._problem.count))
        for on_carrier in zip(*seats, strict=True):
            self._model.add(sum(on_carrier) <= heats)
        served = self._model.new_int_var(0, len(problem.pilots), "")
        self._model.add(served == sum(seat for own in seats for seat in own))
        self._objectives.insert(0, served)

    def solve(self) -> tuple[Carrier, ...] | None:
        for objective in self._objectives:
            self._model.maximize(objective)
            if not self._is_solved():
                return None
            self._model.add(objective == self._solver.value(objective))
        kinds = [sum(kind * switch for kind, switch in enumerate(switches)) for switches in self._has_width]
        for ranked in (self._carriers, kinds) if len(self._widths) > 1 else (self._carriers,):
            for first in range(0, len(ranked), _AT_ONCE):
                if not self._has_smallest(ranked[first : first + _AT_ONCE]):
                    return None
        return tuple(
            Carrier(self._solver.value(each) + self._lowest, self._widths[self._solver.value(kind)])
            for each, kind in zip(self._carriers, kinds, strict=True)
        )

    def _has_smallest(self, some: list[cp_model.LinearExprT]) -> bool:
        base = self._reach + len(self._widths)
        self._model.minimize(sum(each * base ** (_AT_ONCE - place) for place, each in enumerate(some)))
        if not self._is_solved():
            return False
        for each in some:
            self._model.add(each == self._solver.value(each))
        return True

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
