"""How well explanations find the true causes of simulated meets: python -m tests.bench.explaining [MEETS]."""

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from meetapp.cli_explain import as_json
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.again import explained_files
from meetapp.simulate.physics import Physics
from meetapp.simulate.plan import MeetPlan, parse_causes
from meetapp.simulate.simulating import SimulatedMeet, add_ideal, ideal_weights, simulate

Answer = Mapping[str, Any]
Explainer = Callable[[MeetFile], Answer]

ACCUSES_NOBODY = ("own_receiver", "unknown")
_MIX = "no_token=2,wrong_channel=2,product=1,neighbour=1,too_close=2,own_receiver=2,unknown=1"
_DEFAULT = MeetPlan(pilots=20, hours=4, tokens=6, causes=parse_causes(_MIX))
WORLDS: dict[str, MeetPlan] = {
    "the default": _DEFAULT,
    "other shares": replace(_DEFAULT, causes=parse_causes("no_token=6,wrong_channel=1,own_receiver=5,unknown=3")),
    "heavy time errors": replace(_DEFAULT, time_error_min=4, round_share=0.8),
    "clock off by 5 min": replace(_DEFAULT, clock_shift_min=5),
    "other physics": replace(_DEFAULT, physics=Physics(needed_db=12, slope_db_per_mhz=1, intercept_dbm=-18, pits_m=8)),
    "4 tokens": replace(_DEFAULT, tokens=4, causes=parse_causes(_MIX.replace("product=1,", ""))),
    "8 tokens": replace(_DEFAULT, tokens=8),
}


@dataclass(frozen=True, slots=True)
class Judged:
    """One report: the true kind, what was answered (likeliest first), whether it can be told apart."""

    truth: str
    ranked: tuple[tuple[str, float], ...]
    can_be_told: bool


def explainer(file: MeetFile) -> Answer:
    """What `meetapp explain --json` answers."""
    return as_json(explained_files([file]).meets[0])


def nearest_to_blame(file: MeetFile) -> Answer:
    """The baseline: whoever is set nearest on air at the report's minute is to blame."""
    reports = []
    for report in file.reports:
        now = [loan for loan in file.loans if loan.in_at and loan.out_at <= report.happened_at < loan.in_at]
        has_other = any(loan.pilot != report.pilot for loan in now)
        kind = "too_close" if has_other else "unknown"
        reports.append({"id": report.ref, "causes": [{"kind": kind, "probability": 1.0}]})
    return {"reports": reports, "silent_transmitters": [], "advice": []}


def judged(meet: SimulatedMeet, answer: Answer) -> list[Judged]:
    """Each report's answer beside its truth."""
    truth = {row["ref"]: row for row in meet.truth["reports"]}
    found = []
    for report in answer["reports"]:
        row = truth[report["id"]]
        chances: Counter[str] = Counter()
        for cause in report["causes"]:
            chances[cause["kind"]] += cause["probability"]
        found.append(Judged(row["kind"], tuple(chances.most_common()), row["can_be_told"]))
    return found


def share(of: Sequence[bool]) -> str:
    """A share with what it is of."""
    return f"{sum(of) / len(of):.0%} of {len(of)}" if of else "none"


def is_among(report: Judged, first: int) -> bool:
    """Whether the true kind is among the first so many."""
    return report.truth in [kind for kind, _ in report.ranked[:first]]


def calibration_error(reports: Sequence[Judged]) -> float:
    """The expected calibration error of the first answer, in ten bins."""
    bins: dict[int, list[tuple[float, bool]]] = {}
    for report in reports:
        chance = report.ranked[0][1]
        bins.setdefault(min(9, int(chance * 10)), []).append((chance, is_among(report, 1)))
    gaps = (abs(sum(c for c, _ in rows) - sum(hit for _, hit in rows)) for rows in bins.values())
    return sum(gaps) / max(1, len(reports))


def silent_hits(meet: SimulatedMeet, answer: Answer) -> Iterator[tuple[bool, float]]:
    """For each silent transmitter with three reports or more: whether an interval holds it, and the width in MHz."""
    for silent in meet.truth["silent_transmitters"]:
        if len(silent["reports"]) >= 3:
            rows = answer["silent_transmitters"]
            near = min(rows, key=lambda row: abs(row["mhz"] - silent["mhz"]), default=None)
            if near is None:
                yield False, 0.0
            else:
                yield near["from"] <= silent["mhz"] <= near["to"], near["to"] - near["from"]


def accuses(answer: Answer) -> bool:
    """Whether anybody is accused with more than one half."""
    rows = (cause for report in answer["reports"] for cause in report["causes"])
    return any(row["probability"] > 0.5 and row["kind"] not in ACCUSES_NOBODY for row in rows)


def measure(name: str, plan: MeetPlan, meets: int, explain: Explainer) -> None:
    """Print one world's figures."""
    reports: list[Judged] = []
    silent: list[tuple[bool, float]] = []
    quiet = []
    for seed in range(1, meets + 1):
        meet = simulate(replace(plan, seed=seed))
        add_ideal(meet, ideal_weights(plan, meet.record))
        answer = explain(meet.file)
        reports += judged(meet, answer)
        silent += silent_hits(meet, answer)
        empty = simulate(replace(plan, seed=seed, causes={}))
        quiet.append(not accuses(explain(empty.file)))
    told = [each for each in reports if each.can_be_told]
    widths = sorted(width for hit, width in silent)
    middle = widths[len(widths) // 2] if widths else "-"
    print(f"{name}, {explain.__name__}: {len(reports)} reports, can be told {share([r.can_be_told for r in reports])}")
    print(f"  first of those that can be told   {share([is_among(each, 1) for each in told])}")
    print(f"  among the first three of all      {share([is_among(each, 3) for each in reports])}")
    print(f"  silent, 3 reports: interval holds {share([hit for hit, _ in silent])}, median {middle} MHz")
    print(f"  nothing planted, nobody accused   {share(quiet)}")
    print(f"  calibration error                 {calibration_error(reports):.2f}")
    confusion = Counter((each.truth, each.ranked[0][0]) for each in told)
    pairs = (f"{truth} > {answer}: {count}" for (truth, answer), count in sorted(confusion.items()))
    print("  told apart, truth to first answer ", ", ".join(pairs))
    sys.stdout.flush()


def main() -> None:
    """Every world, our explanations and the baseline."""
    meets = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    for name, plan in WORLDS.items():
        for explain in (explainer, nearest_to_blame):
            measure(name, plan, meets, explain)


if __name__ == "__main__":
    main()
