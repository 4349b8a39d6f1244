"""Who was on air at a minute of a meet, and what that set measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from meetapp.flows.errors import Refused
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.review.review import ReviewFacts, minute_address, review_facts
from meetapp.flows.review.review_rows import ReviewLoan, ReviewSetting, air_record
from meetapp.flows.snapshot import neighbours_of, segments_of
from meetapp.review.on_air import Aired, AirStretch, below, stretches
from meetapp.rules.clock import BadTime, time_on_day
from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import Measures
from meetapp.store import tables as t
from meetapp.store.engine import Store

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class OnAirThen:
    """One carrier that was on air in a stretch of time; `token_label` is empty where it had no token."""

    who: str
    setting: ReviewSetting
    token_label: str


@dataclass(frozen=True, slots=True)
class MinutePart:
    """A part of the minute in which nothing changed, with the spacing and clearances of what was on air.

    `times`: from when to when, such as '14:32:20 to 14:33:00'. `air`: the same to be drawn, with what the site knows
    now of its band and neighbours; None where nobody was on air.
    """

    times: str
    on_air: tuple[OnAirThen, ...]
    measures: Measures
    is_below_floors: bool
    air: AirFacts | None


@dataclass(frozen=True, slots=True)
class MinuteView:
    """Who was on air at a minute. One part where nothing changed in it. `before` and `after`: the minutes beside it.

    `days`: those that can be asked for.
    """

    meet_id: int
    meet_name: str
    at: datetime
    before: datetime
    after: datetime
    zone: ZoneInfo
    days: tuple[date, ...]
    floors: Floors | None
    parts: tuple[MinutePart, ...]

    @property
    def day(self) -> date:
        """The day at the site."""
        return self.at.astimezone(self.zone).date()

    def address_at(self, when: datetime) -> str:
        """The page of the minute in which this lies."""
        return minute_address(self.meet_id, when, self.zone)


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """What lies beside the carriers at the meet's site."""

    neighbours: tuple[Neighbour, ...]
    segments: tuple[Segment, ...]


def minute_view(store: Store, meet_id: int, written: str, day: date | None, now: datetime) -> MinuteView:
    """Who was on air at a time of day of the meet, such as '14:32', and what that set measured.

    `day` None: the first day of the meet.

    Raises:
        Refused: no time of day (field 'minute').
    """
    facts = review_facts(store, meet_id, now)
    try:
        start = time_on_day(written, day or facts.days[0], facts.zone)
    except BadTime as error:
        raise Refused(str(error), field="minute") from error
    around = _surroundings(store, meet_id)
    by_id = {loan.loan_id: loan for loan in facts.loans}
    parts = stretches(air_record(facts.loans), start, start + MINUTE)
    return MinuteView(
        meet_id=facts.meet_id,
        meet_name=facts.name,
        at=start,
        before=start - MINUTE,
        after=start + MINUTE,
        zone=facts.zone,
        days=facts.days,
        floors=facts.floors,
        parts=tuple(_part(part, by_id, facts, around) for part in parts),
    )


def _surroundings(store: Store, meet_id: int) -> _Surroundings:
    with store.read() as session:
        site = session.get_one(t.Site, find_meet(session, meet_id).site_id)
        return _Surroundings(neighbours_of(session, site.id), segments_of(session, site.band_profile_id))


def _part(
    part: AirStretch, loans: Mapping[int, ReviewLoan], facts: ReviewFacts, around: _Surroundings
) -> MinutePart:
    start, end = (when.astimezone(facts.zone).strftime("%H:%M:%S") for when in (part.start, part.end))
    on_air = tuple(_on_air_then(aired, loans[aired.loan_id]) for aired in part.aired)
    return MinutePart(
        times=f"{start} to {end}",
        on_air=on_air,
        measures=part.measures,
        is_below_floors=facts.floors is not None and below(part.measures, facts.floors),
        air=air_facts([_named(each) for each in on_air], around.neighbours, around.segments),
    )


def _on_air_then(aired: Aired, loan: ReviewLoan) -> OnAirThen:
    setting = next(each for each in loan.settings if each.since_at == aired.since and each.mhz == aired.mhz)
    return OnAirThen(loan.who, setting, loan.token_label)


def _named(each: OnAirThen) -> Named:
    setting = each.setting
    name = "" if setting.label == f"{setting.mhz} MHz" else setting.label
    return Named(Carrier(setting.mhz, setting.width_mhz), name, each.who)
