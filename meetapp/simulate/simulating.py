"""A whole simulated meet: its file and its truth."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.simulate.day import Day, make_day
from meetapp.simulate.mishaps import Cause, Mishaps
from meetapp.simulate.people import Report, tell
from meetapp.simulate.plan import KINDS, Kind, MeetPlan
from meetapp.simulate.record import meet_file_of
from meetapp.simulate.telling import can_be_told

_EVERYDAY: tuple[Kind, ...] = ("own_receiver", "unknown")


@dataclass(frozen=True, slots=True)
class SimulatedMeet:
    """What the record says, and what really happened (`truth_as_json`)."""

    file: MeetFile
    truth: dict[str, Any]


def simulate(plan: MeetPlan) -> SimulatedMeet:
    """One meet; the same plan makes the same meet.

    Raises: BadProblem where tokens or causes don't fit.
    """
    rng = Random(plan.seed)
    day = make_day(plan, rng)
    mishaps = Mishaps(plan, day, rng)
    wanted = [kind for kind in KINDS for _ in range(plan.causes.get(kind, 0))]
    # what changes loans comes first, so that a later cause never meets a loan that isn't what it was
    wanted.sort(key=lambda kind: kind not in ("product", "neighbour", "too_close"))
    causes = [mishaps.plant(kind) for kind in wanted]
    everyday = _poisson(plan.everyday_per_hour * plan.hours, rng) if day.loans else 0
    causes += [mishaps.plant(rng.choice(_EVERYDAY)) for _ in range(everyday)]
    reports = tell(plan, day, mishaps.loans, causes, rng)
    file = meet_file_of(plan, day, mishaps, reports)
    return SimulatedMeet(file, _truth(plan, day, mishaps, causes, reports, len(wanted)))


def _poisson(mean: float, rng: Random) -> int:
    count, reached = 0, rng.expovariate(1)
    while reached < mean:
        count, reached = count + 1, reached + rng.expovariate(1)
    return count


def _truth(
    plan: MeetPlan, day: Day, mishaps: Mishaps, causes: Sequence[Cause], reports: Sequence[Report], planted: int
) -> dict[str, Any]:
    """The truth beside a file: see `meetapp simulate --help`."""
    of_cause: dict[int, list[int]] = {}
    for ref, report in enumerate(reports, start=1):
        of_cause.setdefault(report.cause, []).append(ref)
    told = {
        number: can_be_told(
            mishaps, causes[number], [(reports[ref - 1].broken.loan_id, reports[ref - 1].happened_at) for ref in refs]
        )
        for number, refs in of_cause.items()
    }
    return {
        "seed": plan.seed,
        "planted": {kind: plan.causes.get(kind, 0) for kind in KINDS},
        "reports": [
            {
                "ref": ref,
                "kind": causes[report.cause].kind,
                "mhz": causes[report.cause].mhz,
                "sources": list(causes[report.cause].sources),
                "cause": report.cause + 1,
                "is_planted": report.cause < planted,
                "can_be_told": told[report.cause],
                "happened_at": report.broken.at.isoformat(),
            }
            for ref, report in enumerate(reports, start=1)
        ],
        "silent_transmitters": [
            {
                "mhz": cause.mhz,
                "cause": number + 1,
                "reports": of_cause.get(number, []),
                "spells": [{"from": each.start.isoformat(), "to": each.end.isoformat()} for each in cause.spells],
            }
            for number, cause in enumerate(causes)
            if cause.kind == "no_token"
        ],
    }
