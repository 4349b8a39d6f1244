"""How long a page of heats may search: the one place where the sums meet the clock."""

import time
from collections.abc import Callable
from typing import Annotated

from fastapi import Depends, Request

from meetapp.flows.heats.day_plan import ONE_LOOK, Search
from meetapp.spectrum.heats import HeatPlan, HeatProblem, better_plans
from meetapp.web.state import state_of

_FOR_THE_PLAN = 0.7
"""The share of the time that goes to the plan; the rest is for what would free that which is not met."""


def heat_search(request: Request) -> Search:
    """A search within the seconds that the program was started with."""
    seconds = state_of(request).search_seconds
    if not seconds:
        return ONE_LOOK
    started = time.monotonic()

    def is_over(share: float) -> Callable[[], bool]:
        return lambda: time.monotonic() > started + share * seconds

    def best(problem: HeatProblem) -> HeatPlan:
        *_before, last = better_plans(problem, is_over(_FOR_THE_PLAN))
        return last

    return Search(best, is_over(1))


HeatSearchDep = Annotated[Search, Depends(heat_search)]
