"""Several meets beside one another: the same pilot, transmitter kind or channel turning up again."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from meetapp.review.explaining import MeetExplained

_LEAST_MEETS = 2


@dataclass(frozen=True, slots=True)
class TurningUp:
    """Something that was possibly behind reports at several meets. `name`: pilot, kind, or MHz as text."""

    what: Literal["pilot", "kind", "channel"]
    name: str
    meets: int
    reports: float


def turning_up(meets: Sequence[MeetExplained], least_reports: float = 0.8) -> tuple[TurningUp, ...]:
    """Who and what was possibly behind reports at two meets or more, most first.

    Pilots and kinds by their names: refs mean something inside one meet only. A kind or pilot counts where their
    transmitter may have been on another channel than given; a channel where its pictures broke. `least_reports`: so
    many reports are expected to come from it in all.
    """
    expected: dict[tuple[Literal["pilot", "kind", "channel"], str], dict[int, float]] = defaultdict(
        lambda: defaultdict(float)
    )
    for number, meet in enumerate(meets):
        airing_of = {airing.loan: airing for airing in meet.record.airings}
        names = {flier.ref: flier.name for flier in meet.record.fliers}
        for report in meet.reports:
            outside = 0.0
            for each in report.causes:
                if each.cause.kind not in ("own_receiver", "unknown"):
                    outside += each.probability
                if each.cause.kind == "wrong_channel" and each.cause.sources:
                    airing = airing_of[each.cause.sources[0]]
                    if airing.pilot in names:
                        expected["pilot", names[airing.pilot]][number] += each.named
                    if airing.kind is not None:
                        expected["kind", airing.kind.name][number] += each.named
            if report.case is not None:
                expected["channel", f"{report.case.victim.mhz} MHz"][number] += outside
    found = [
        TurningUp(what, name, sum(amount > least_reports / 4 for amount in by_meet.values()), sum(by_meet.values()))
        for (what, name), by_meet in expected.items()
    ]
    worth = (each for each in found if each.meets >= _LEAST_MEETS and each.reports >= least_reports)
    return tuple(sorted(worth, key=lambda each: (-each.reports, each.what, each.name)))
