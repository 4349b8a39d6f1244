"""One report as a case: whose picture, on what channel, when, and what was on air beside it.

Where it isn't sure which loan a report is about, there is one case for each, with its share.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from meetapp.review.evidence import Airing, MeetRecord, Reported
from meetapp.review.moments import Moment, victims_of
from meetapp.review.reach import FAR_MHZ, away, carrier_chance
from meetapp.review.symptoms import Symptom, beside, told

_LEAST_WITHIN = 0.01
_NOBODY_SEEN = 0.25
"""Goggles on another channel show somebody's picture where somebody is on air: by the journal nobody was."""


@dataclass(frozen=True)
class Case:
    """A report with its victim: `place` is that of the victim's airing in the record. `share`: how likely it is about
    this one, before anything is known of the air."""

    number: int
    report: Reported
    place: int
    victim: Airing
    moment: Moment
    beside: tuple[int, ...]
    share: float = 1.0

    @cached_property
    def is_digital(self) -> bool:
        """Whether the victim's picture is digital."""
        return self.victim.kind is not None and self.victim.kind.is_digital

    def told(self, symptom: Symptom) -> float:
        """How likely the report's look and place are under this symptom, times the share."""
        if symptom not in self._told:
            digital = self.is_digital and not symptom.startswith("own")
            fits = told(self.report, symptom, victim_is_digital=digital)
            if symptom.startswith("own") and self.report.look == "other_picture" and not self.beside:
                fits *= _NOBODY_SEEN
            self._told[symptom] = fits * self.share
        return self._told[symptom]

    def felt(self, disturber: Airing) -> "Felt":
        """How likely the disturber's transmitter breaks this picture, and is told like this, by how far off it is."""
        key = disturber.width_mhz, disturber.power_mw, disturber.kind is not None and disturber.kind.is_digital
        if key not in self._felt:
            self._felt[key] = Felt(self, *key)
        return self._felt[key]

    @property
    def reach_mhz(self) -> float:
        """Somebody further off than this isn't worth a thought."""
        return FAR_MHZ + self.victim.width_mhz / 2

    @cached_property
    def _told(self) -> dict[Symptom, float]:
        return {}

    @cached_property
    def _felt(self) -> dict[tuple[float, float | None, bool], "Felt"]:
        return {}

    def overlap(self, *others: Airing) -> tuple[float, float]:
        """From when to when all of these were on air with the victim by the journal (empty: not in this order)."""
        starts = [each.since_s for each in others]
        ends = [each.until_s for each in others]
        return max(self.moment.low_s, *starts), min(self.moment.high_s, *ends)


class Felt(dict[int, float]):
    """By the distance in MHz, worked out where it's asked for."""

    def __init__(self, case: Case, width_mhz: float, power_mw: float | None, is_digital: bool) -> None:
        self._case, self._width_mhz, self._power_mw, self._is_digital = case, width_mhz, power_mw, is_digital

    def __missing__(self, off_mhz: int) -> float:
        victim = self._case.victim
        apart = away(off_mhz, self._width_mhz, 0, victim.width_mhz)
        chance = carrier_chance(apart, self._power_mw, victim.power_mw)
        self[off_mhz] = chance * self._case.told(beside(apart, is_digital=self._is_digital))
        return self[off_mhz]


def cases(record: MeetRecord) -> tuple[tuple[Case, ...], ...]:
    """The cases of each report, in their order, likeliest first; none where no loan fits the report."""
    return tuple(tuple(_cases(record, number)) for number in range(len(record.reports)))


def _cases(record: MeetRecord, number: int) -> Iterator[Case]:
    report = record.reports[number]
    for place, moment, share in victims_of(record, report):
        beside = tuple(_beside(record, place, moment))
        yield Case(number, report, place, record.airings[place], moment, beside, share)


def _beside(record: MeetRecord, place: int, moment: Moment) -> Iterator[int]:
    """Who was on air with the victim at a time that the report may mean."""
    for other in record.others_beside(place):
        airing = record.airings[other]
        if moment.within(airing.since_s, airing.until_s) > _LEAST_WITHIN:
            yield other
