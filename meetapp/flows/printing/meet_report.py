"""What stands on the report of a meet, to keep and to send: kinds and MHz, and nothing that says who.

No pilot, no board name and nothing that anybody wrote freely about a flight; advice about one pilot's transmitter
is put without the pilot.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.printing.day import Day, day_of
from meetapp.flows.review.explanations import AdviceView, CauseView, ReportView
from meetapp.flows.review.look_back import LookBack, look_back
from meetapp.flows.review.review import ReviewFacts, review_facts
from meetapp.review.advised import about
from meetapp.review.chance_words import percent
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import Measures, measure
from meetapp.store import field_queries as queries
from meetapp.store.engine import Store

KINDS_TOLD = 3
_WORTH_TELLING = 0.1
_NAMELESS_ADVICE = (
    "leave_out_token",
    "raise_floor",
    "keep_floor",
    "power_rule",
    "token_count",
    "other_wait",
    "nothing",
)
"""Advice whose sentences name tokens and figures only."""

_OF_PEOPLE = {
    "check_transmitter": "{reports} may come from transmitters of {pilots} on another channel than given: "
    "read channels back at the hand-out.",
    "check_kit": "{reports} of {pilots} may come from own goggles, antenna, range or battery: "
    "try the kit on the bench.",
}
"""What is printed of advice about one pilot, put together for all of them."""
_WHERE = {"wrong_channel": "but on", "no_token": "near", "neighbour": "edge at", "product": "at", "too_close": "beside"}
"""How a cause's frequency lies to it: without the word it reads like the channel that was given."""


@dataclass(frozen=True, slots=True)
class ReportLine:
    """A clash report without its pilot: when, the channel, the look, and the likeliest kinds with their odds."""

    when: str
    channel: str
    look: str
    causes: str


@dataclass(frozen=True, slots=True)
class MeetReport:
    """The report of a meet. `tokens`: (label, MHz) by frequency; `numbers`: (what, figures) pairs; the rest sentences.

    `reports` are in the order of what happened; `address`: where the review stands, for whoever may sign in.
    """

    day: Day
    is_so_far: bool
    tokens: tuple[tuple[str, int], ...]
    measures: Measures
    numbers: tuple[tuple[str, str], ...]
    reports: tuple[ReportLine, ...]
    blame: str
    kinds: str
    silent: tuple[str, ...]
    advice: tuple[str, ...]
    limits: str
    address: str


def meet_report(store: Store, meet_id: int, now: datetime, base: str) -> MeetReport:
    """The report of a stored meet, up to now where it is still open. `base`: the server's address, for the foot.

    Raises:
        NotFound: no such meet.
    """
    with store.read() as session:
        meet = find_meet(session, meet_id)
        day = day_of(session, meet)
        chosen = sorted(queries.meet_tokens(session, meet.id), key=lambda token: (token.nominal_mhz, token.label))
        tokens = tuple((token.label, token.nominal_mhz) for token in chosen)
    back = look_back(store, meet_id, now)
    return MeetReport(
        day=day,
        is_so_far=back.is_so_far,
        tokens=tokens,
        measures=measure([Carrier(mhz) for mhz in sorted({mhz for _label, mhz in tokens})]),
        numbers=tuple(_numbers(review_facts(store, meet_id, now))),
        reports=tuple(_line(report, back) for report in back.explained.reports),
        blame=back.explained.blame,
        kinds="; ".join(f"{name}: {count:.1f}" for name, count in back.kinds if count >= _WORTH_TELLING),
        silent=tuple(_silent(back)),
        advice=tuple(nameless(back.explained.advice)),
        limits=back.limits,
        address=base + back.home,
    )


def _numbers(facts: ReviewFacts) -> Iterator[tuple[str, str]]:
    n = facts.numbers
    pilots = "1 pilot" if n.pilots_flown == 1 else f"{n.pilots_flown} pilots"
    yield "Flights", f"{n.flights} by {pilots}, {n.on_air_min:g} min on air, {n.most_on_air} at once at most"
    if n.served:
        waits = f"{n.mean_wait_min:g} min on average, {n.longest_wait_min:g} min the longest"
        yield "Waits", f"{n.served} ended with a token: {waits}"
    else:
        yield "Waits", "nobody was served from the line"
    yield "Left the line without", str(n.left_line)
    yield "Pauses", f"{n.pauses}, {n.paused_min:g} min" if n.pauses else "none"
    yield "Besides", f"alarms {n.alarms}, overrides below a floor {n.overrides}, tokens gone missing {n.missing}"
    yield "Smallest on air", f"spacing {_mhz(n.smallest_spacing_mhz)}, clearance {_mhz(n.smallest_clearance_mhz)}"
    if facts.floors is not None:
        floors = f"spacing {_mhz(facts.floors.spacing_mhz)}, clearance {_mhz(facts.floors.clearance_mhz)}"
        yield "Floors", f"{floors}; below one for {n.below_floors_min:g} min"
    yield "Clash reports", str(n.reports)


def _mhz(value: float | None) -> str:
    return "none" if value is None else f"{value:g} MHz"


def _where(cause: CauseView) -> str:
    if cause.away_mhz is not None and cause.away_mhz < 0:
        return "over the channel"
    return f"{_WHERE[cause.kind]} {cause.mhz} MHz"


def _line(report: ReportView, back: LookBack) -> ReportLine:
    told = [(name, share) for name, share in report.by_kind if share >= _WORTH_TELLING][:KINDS_TOLD]
    where = {
        cause.name: f" ({_where(cause)})" for cause in reversed(report.causes) if cause.mhz is not None
    }
    causes = (f"{name}{where.get(name, '')} {percent(share)}" for name, share in told)
    return ReportLine(
        when=report.happened_at.astimezone(back.explained.zone).strftime("%H:%M"),
        channel=f"{report.mhz} MHz" if report.mhz is not None else "no loan",
        look=f"{report.look}, {report.place}",
        causes="; ".join(causes),
    )


def _silent(back: LookBack) -> Iterator[str]:
    zone = back.explained.zone
    for each in back.explained.silent:
        start, end = (when.astimezone(zone).strftime("%H:%M") for when in (each.started_at, each.ended_at))
        reports = "1 report" if len(each.reports) == 1 else f"{len(each.reports)} reports"
        yield (
            f"{start} to {end}, near {each.mhz} MHz ({each.from_mhz} to {each.to_mhz} in nine of ten cases): "
            f"{percent(each.probability)}; it would explain {reports}."
        )


def nameless(advice: Sequence[AdviceView]) -> Iterator[str]:
    """Advice as it may be sent on: what names people is put together for all of them, by what it is about."""
    told = set()
    for each in advice:
        if each.kind in _NAMELESS_ADVICE:
            yield each.sentence
        elif each.kind not in told:
            told.add(each.kind)
            alike = [other for other in advice if other.kind == each.kind]
            yield _OF_PEOPLE.get(each.kind, "{reports}: the organiser's page says more.").format(
                reports=about(sum(other.reports for other in alike)).capitalize(),
                pilots="one pilot" if len(alike) == 1 else f"{len(alike)} pilots",
            )
