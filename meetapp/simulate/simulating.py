"""A whole simulated meet: its file and its truth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.simulate.day import NEIGHBOUR, make_day
from meetapp.simulate.kits import Kit
from meetapp.simulate.mishaps import Cause, Mishaps
from meetapp.simulate.observer.blocks import Odds, kind_weights
from meetapp.simulate.observer.of_physics import odds_by_physics
from meetapp.simulate.people import Report, tell
from meetapp.simulate.plan import KINDS, Kind, MeetPlan
from meetapp.simulate.record import Record, meet_file_of

TOLD_FROM = 0.8
"""The weight that an ideal observer gives the true kind of a report which can be told (DEVELOPERS.md says why)."""
_EVERYDAY: tuple[Kind, ...] = ("own_receiver", "unknown")


@dataclass(frozen=True, slots=True)
class SimulatedMeet:
    """What the record says, and what really happened (see `meetapp simulate --help`)."""

    record: Record
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
    moving = sum(kind in ("product", "neighbour", "too_close") for kind in wanted)
    causes = [mishaps.plant(kind) for kind in wanted[:moving]]
    for _ in range(plan.harmless_overrides):
        mishaps.override_harmlessly()
    causes += [mishaps.plant(kind) for kind in wanted[moving:]]
    everyday = poisson(plan.everyday_per_hour * plan.hours, rng) if day.loans else 0
    causes += [mishaps.plant(rng.choice(_EVERYDAY)) for _ in range(everyday)]
    reports = tell(plan, day, mishaps.loans, causes, rng)
    record = Record(
        number=plan.seed,
        kits=tuple(Kit(words) for words in plan.kit),
        neighbours=(NEIGHBOUR,),
        tokens=day.tokens,
        spares=mishaps.spares,
        floors=day.floors,
        pilots={pilot.pilot_id: pilot for pilot in day.pilots},
        loans=mishaps.loans,
        stays=day.stays,
        told=tuple(report.told for report in reports),
        closed_at=day.closed_at,
    )
    return with_truth(record, plan.causes, causes, reports, len(wanted))


def ideal_weights(plan: MeetPlan, record: Record) -> list[dict[Kind, float]]:
    """For each report the weight of each kind, by one who knows how such meets are made and sees the record only."""
    return _weights(odds_by_physics(plan, record))


def _weights(odds: Odds) -> list[dict[Kind, float]]:
    return kind_weights(odds, Random(0))


def add_ideal(meet: SimulatedMeet, weights: Sequence[Mapping[Kind, float]]) -> None:
    """Write an ideal observer's weights and what can be told into a meet's truth."""
    for row, weight in zip(meet.truth["reports"], weights, strict=True):
        row["ideal"] = {kind: round(weight[kind], 4) for kind in KINDS}
        row["can_be_told"] = row["ideal"][row["kind"]] >= TOLD_FROM


def poisson(mean: float, rng: Random) -> int:
    """How many there are of what is expected so often."""
    count, reached = 0, rng.expovariate(1)
    while reached < mean:
        count, reached = count + 1, reached + rng.expovariate(1)
    return count


def with_truth(
    record: Record, planted: Mapping[Kind, int], causes: Sequence[Cause], reports: Sequence[Report], first_everyday: int
) -> SimulatedMeet:
    """A meet's file with its truth; causes from number `first_everyday` on are the everyday ones."""
    of_cause: dict[int, list[int]] = {}
    for ref, report in enumerate(reports, start=1):
        of_cause.setdefault(report.cause, []).append(ref)
    truth = {
        "seed": record.number,
        "planted": {kind: planted.get(kind, 0) for kind in KINDS},
        "reports": [
            {
                "ref": ref,
                "kind": causes[report.cause].kind,
                "mhz": causes[report.cause].mhz,
                "sources": list(causes[report.cause].sources),
                "cause": report.cause + 1,
                "is_planted": report.cause < first_everyday,
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
    return SimulatedMeet(record, meet_file_of(record), truth)
