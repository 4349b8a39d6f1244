"""Figures over many judged reports: shares, reliability, confusion."""

from collections import Counter
from collections.abc import Iterable, Sequence

from meetapp.simulate.plan import KINDS
from tests.bench.explaining.judging import Judged

Said = tuple[float, bool]
"""A probability that was said, and whether it was so."""


def share(of: Sequence[bool]) -> str:
    """A share with what it is of.

    >>> share([True, False, False, False]), share([])
    ('25% of 4', 'none')
    """
    return f"{sum(of) / len(of):.0%} of {len(of)}" if of else "none"


def percent(of: Sequence[bool]) -> str:
    """A share by itself."""
    return f"{sum(of) / len(of):.0%}" if of else "-"


def of_first(reports: Iterable[Judged]) -> list[Said]:
    """What was said of the likeliest kind of each report."""
    return [(report.chances[0][1], report.is_among(1)) for report in reports]


def of_all(reports: Iterable[Judged]) -> list[Said]:
    """What was said of every kind of each report; a kind that isn't named has 0."""
    found = []
    for report in reports:
        chances = dict(report.chances)
        found += [(chances.get(kind, 0.0), kind == report.kind) for kind in KINDS]
    return found


def bins(said: Iterable[Said]) -> dict[int, list[Said]]:
    """In ten bins by what was said."""
    found: dict[int, list[Said]] = {}
    for each in said:
        found.setdefault(min(9, int(each[0] * 10)), []).append(each)
    return dict(sorted(found.items()))


def calibration_error(said: Sequence[Said]) -> float:
    """The expected calibration error, in ten bins.

    >>> calibration_error([(0.75, True), (0.75, False)])
    0.25
    """
    gaps = (abs(sum(chance for chance, _ in rows) - sum(hit for _, hit in rows)) for rows in bins(said).values())
    return sum(gaps) / max(1, len(said))


def reliability(said: Sequence[Said]) -> list[str]:
    """A table: how many, said on average, came true."""
    lines = ["    said      count  mean  came true"]
    for number, rows in bins(said).items():
        mean, hits = sum(chance for chance, _ in rows) / len(rows), sum(hit for _, hit in rows) / len(rows)
        lines.append(f"    {number / 10:.1f}-{number / 10 + 0.1:.1f}  {len(rows):6}  {mean:.2f}  {hits:.2f}")
    return lines


def confusion(reports: Sequence[Judged]) -> list[str]:
    """A table: the true kind by row, the first answer by column, in counts."""
    counts = Counter((report.kind, report.chances[0][0]) for report in reports)
    short = [kind.split("_")[0][:9] for kind in KINDS]
    lines = ["    true \\ first    " + "".join(f"{name:>10}" for name in short)]
    for kind in KINDS:
        if any(counts[kind, each] for each in KINDS):
            lines.append(f"    {kind:15} " + "".join(f"{counts[kind, each] or '.':>10}" for each in KINDS))
    return lines
