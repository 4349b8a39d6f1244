"""One report as a case: whose picture, on what channel, when, and what was on air beside it."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from meetapp.review.evidence import Airing, MeetRecord, Reported
from meetapp.review.moments import Moment, victim_of
from meetapp.review.symptoms import Symptom, told

_LEAST_WITHIN = 0.01
_NOBODY_SEEN = 0.25
"""Goggles on another channel show somebody's picture where somebody is on air: by the journal nobody was."""


@dataclass(frozen=True)
class Case:
    """A report with its victim: `place` is that of the victim's airing in the record."""

    number: int
    report: Reported
    place: int
    victim: Airing
    moment: Moment
    beside: tuple[int, ...]

    @cached_property
    def is_digital(self) -> bool:
        """Whether the victim's picture is digital."""
        return self.victim.kind is not None and self.victim.kind.is_digital

    def told(self, symptom: Symptom) -> float:
        """How likely the report's look and place are under this symptom."""
        if symptom not in self._told:
            digital = self.is_digital and not symptom.startswith("own")
            fits = told(self.report, symptom, victim_is_digital=digital)
            if symptom.startswith("own") and self.report.look == "other_picture" and not self.beside:
                fits *= _NOBODY_SEEN
            self._told[symptom] = fits
        return self._told[symptom]

    @cached_property
    def _told(self) -> dict[Symptom, float]:
        return {}

    def overlap(self, *others: Airing) -> tuple[float, float]:
        """From when to when all of these were on air with the victim by the journal (empty: not in this order)."""
        starts = [each.since_s for each in others]
        ends = [each.until_s for each in others]
        return max(self.moment.low_s, *starts), min(self.moment.high_s, *ends)


def cases(record: MeetRecord) -> tuple[Case | None, ...]:
    """The case of each report, in their order; None where no loan fits the report."""
    return tuple(_case(record, number) for number in range(len(record.reports)))


def _case(record: MeetRecord, number: int) -> Case | None:
    report = record.reports[number]
    if (found := victim_of(record, report)) is None:
        return None
    place, moment = found
    return Case(number, report, place, record.airings[place], moment, tuple(_beside(record, place, moment)))


def _beside(record: MeetRecord, place: int, moment: Moment) -> Iterator[int]:
    """Who was on air with the victim at a time that the report may mean."""
    for other in record.others_beside(place):
        airing = record.airings[other]
        if moment.within(airing.since_s, airing.until_s) > _LEAST_WITHIN:
            yield other
