"""One report's answer beside its truth, and who answers: the explainer, an ideal observer and two baselines."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from meetapp.cli_explain import as_json
from meetapp.flows.files.meet_file_shape import LoanPart, MeetFile
from meetapp.flows.review.again import explained_files
from meetapp.simulate.plan import KINDS
from meetapp.simulate.simulating import TOLD_FROM, SimulatedMeet
from tests.bench.explaining.worlds import Weights

Answer = Mapping[str, Any]
Explainer = Callable[[MeetFile], Answer]
ACCUSES_NOBODY = ("own_receiver", "unknown")


def explainer(file: MeetFile) -> Answer:
    """What `meetapp explain --json` answers."""
    return as_json(explained_files([file]).meets[0])


def of_weights(file: MeetFile, weights: Sequence[Mapping[str, float]]) -> Answer:
    """Weights of kinds as an answer that names nobody."""
    reports = [
        {
            "id": report.ref,
            "causes": [
                {"kind": kind, "mhz": None, "sources": [], "probability": weight}
                for kind, weight in sorted(row.items(), key=lambda item: -item[1])
            ],
        }
        for report, row in zip(file.reports, weights, strict=True)
    ]
    return {"reports": reports, "silent_transmitters": []}


def nearest_to_blame(file: MeetFile) -> Answer:
    """The first baseline: whoever is set nearest on air at the report's minute is to blame."""
    reports = []
    for report in file.reports:
        now = [loan for loan in file.loans if loan.in_at and loan.out_at <= report.happened_at < loan.in_at]
        own = next((loan for loan in now if loan.pilot == report.pilot), None)
        others = [loan for loan in now if loan is not own]
        cause: dict[str, Any] = {"kind": "unknown", "mhz": None, "sources": [], "probability": 1.0}
        if others and own:
            near = min(others, key=lambda loan: (abs(_mhz(loan) - _mhz(own)), loan.ref))
            cause |= {"kind": "too_close", "mhz": _mhz(near), "sources": [near.ref]}
        reports.append({"id": report.ref, "causes": [cause]})
    return {"reports": reports, "silent_transmitters": []}


def _mhz(loan: LoanPart) -> int:
    return loan.settings[-1].mhz


class CommonestForTheLook:
    """The second baseline: how often each kind stood behind this look and place at other meets of the same world."""

    def __init__(self, meets: Sequence[SimulatedMeet]) -> None:
        self._counts: dict[tuple[str, str], Counter[str]] = {}
        self._all: Counter[str] = Counter(dict.fromkeys(KINDS, 1))
        for meet in meets:
            for report, row in zip(meet.file.reports, meet.truth["reports"], strict=True):
                self._counts.setdefault((report.look, report.place), Counter())[row["kind"]] += 1
                self._all[row["kind"]] += 1

    def __call__(self, file: MeetFile) -> Answer:
        """An answer that names nobody; what is rare leans on all looks together."""
        rows = []
        for report in file.reports:
            counts = self._counts.get((report.look, report.place), Counter[str]())
            weights = {kind: counts[kind] + 5 * self._all[kind] / self._all.total() for kind in KINDS}
            rows.append({kind: weight / sum(weights.values()) for kind, weight in weights.items()})
        return of_weights(file, rows)


@dataclass(frozen=True, slots=True)
class Judged:
    """One report: its row of the truth, and the causes that were answered, likeliest first."""

    truth: Mapping[str, Any]
    causes: Sequence[Mapping[str, Any]]

    @property
    def kind(self) -> str:
        """The true kind."""
        return str(self.truth["kind"])

    @property
    def is_told(self) -> bool:
        """Whether the ideal observer is sure of the true kind."""
        return bool(self.truth.get("can_be_told", False))

    @property
    def is_told_to_two(self) -> bool:
        """Whether the ideal observer of quite another world is sure of the true kind as well."""
        return self.is_told and bool(self.truth.get("told_to_stranger", False))

    @property
    def chances(self) -> list[tuple[str, float]]:
        """Each kind that was named with all that was said of it, likeliest first."""
        found: Counter[str] = Counter()
        for cause in self.causes:
            found[cause["kind"]] += cause["probability"]
        return found.most_common()

    def is_among(self, first: int) -> bool:
        """Whether the true kind is among the first so many different kinds."""
        return self.kind in [kind for kind, _ in self.chances[:first]]

    def is_among_entries(self, first: int) -> bool:
        """Whether the true kind is among the first so many entries."""
        return self.kind in [cause["kind"] for cause in self.causes[:first]]

    def is_named(self) -> bool | None:
        """Whether the first entry names the true loans; None: its kind is wrong, it names none, or none is true."""
        first = self.causes[0]
        if first["kind"] != self.kind or not first["sources"] or not self.truth["sources"]:
            return None
        return set(first["sources"]) == set(self.truth["sources"])

    def off_mhz(self) -> float | None:
        """By how much the first entry's frequency is off; None: its kind is wrong, or one of the two has none."""
        first = self.causes[0]
        if first["kind"] != self.kind or first["mhz"] is None or self.truth["mhz"] is None:
            return None
        return abs(float(first["mhz"]) - float(self.truth["mhz"]))


def judged(meet: SimulatedMeet, answer: Answer) -> list[Judged]:
    """Each report's answer beside its truth."""
    truth = {row["ref"]: row for row in meet.truth["reports"]}
    return [Judged(truth[report["id"]], report["causes"]) for report in answer["reports"]]


def observed(meet: SimulatedMeet, weights: Weights) -> Answer:
    """An observer's weights as an answer."""
    return of_weights(meet.file, [{str(kind): weight for kind, weight in row.items()} for row in weights])


def add_stranger(meet: SimulatedMeet, weights: Weights) -> None:
    """Write into a meet's truth which true kinds an observer who knows another world's rules is sure of."""
    for row, weight in zip(meet.truth["reports"], weights, strict=True):
        row["told_to_stranger"] = weight[row["kind"]] >= TOLD_FROM


@dataclass(frozen=True, slots=True)
class Silent:
    """A silent transmitter with three reports or more beside the nearest one that was answered, if any was.

    is_narrowed: its frequency is a wake channel of the record or was given out, so a pilot's channels narrow it.
    """

    holds: bool
    width_mhz: float | None
    off_mhz: float | None
    is_narrowed: bool


def silent_hits(meet: SimulatedMeet, answer: Answer) -> Iterator[Silent]:
    """Each silent transmitter that three reports or more point to."""
    known = {loan.settings[0].mhz for loan in meet.file.loans}
    known |= {loan.settings[0].wake_before_mhz or 0 for loan in meet.file.loans}
    for silent in meet.truth["silent_transmitters"]:
        if len(silent["reports"]) < 3:
            continue
        mhz = silent["mhz"]
        near = min(answer["silent_transmitters"], key=lambda row: abs(row["mhz"] - mhz), default=None)
        if near is None:
            yield Silent(False, None, None, mhz in known)
        else:
            width = near["to"] - near["from"]
            yield Silent(near["from"] <= mhz <= near["to"], width, abs(near["mhz"] - mhz), mhz in known)


def accusations(answer: Answer) -> list[str]:
    """The kinds that accuse somebody or something with more than one half."""
    return [
        kind
        for report in answer["reports"]
        for kind, chance in Judged({}, report["causes"]).chances
        if chance > 0.5 and kind not in ACCUSES_NOBODY
    ]
