"""Who may need another channel, transmitter or other kit: by name, for the organiser, and never as a verdict."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from meetapp.review.advised import Advice, about
from meetapp.review.evidence import MeetRecord
from meetapp.review.explaining import MeetExplained, ReportExplained
from meetapp.review.further_off import further_off
from meetapp.review.reach import FAR_MHZ

_WORTH_SAYING = 0.6
"""So many reports expected to come from one pilot's transmitter or kit."""

_LIKELY = 0.25
"""From this on a report counts as one of those in question."""

_MOST_PEOPLE = 3


def transmitters_to_check(explained: MeetExplained) -> Iterator[Advice]:
    """Whose transmitter may have been on another channel than given, most reports first."""
    record = explained.record
    pilot_of = {airing.loan: airing.pilot for airing in record.airings}
    by_pilot: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    on_mhz: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    loans: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for report in explained.reports:
        for each in report.causes:
            if each.cause.kind != "wrong_channel" or not each.cause.sources:
                continue
            if (pilot := pilot_of.get(each.cause.sources[0])) is not None:
                by_pilot[pilot][report.number] += each.named
                loans[pilot][each.cause.sources[0]] += each.named
                if each.cause.mhz is not None:
                    on_mhz[pilot][each.cause.mhz] += each.named
    for pilot, name, amount in _most(record, by_pilot):
        own = _worth(loans[pilot], _LIKELY)
        yield Advice(
            "check_transmitter",
            f"{about(amount).capitalize()} may come from {name}'s transmitter{_kinds_text(record, own)} on another "
            f"channel than given, in {_flights_text(record, pilot)}: read the channel back at the next hand-out, and "
            f"where it goes wrong again, find another transmitter.{_woke_text(record, on_mhz[pilot])}"
            f"{_further_text(record, own, says_none=False)}",
            amount,
            pilot=pilot,
        )


def kit_to_try(explained: MeetExplained) -> Iterator[Advice]:
    """In whose reports their own goggles, antenna, range or battery are likely, most reports first."""
    record = explained.record
    by_pilot: dict[int, dict[int, float]] = defaultdict(dict)
    for report in explained.reports:
        if report.case is not None and report.case.victim.pilot is not None:
            own = sum(each.probability for each in report.causes if each.cause.kind == "own_receiver")
            by_pilot[report.case.victim.pilot][report.number] = own
    for pilot, name, amount in _most(record, by_pilot):
        likely = _worth(by_pilot[pilot], _LIKELY)
        loans = frozenset(_loan(explained.reports[number]) for number in likely)
        yield Advice(
            "check_kit",
            "Own goggles, antenna, range or battery may be the cause of "
            f"{_of_own(name, len(by_pilot[pilot]), amount)}, in {_flights_text(record, pilot)}."
            f"{_others_text(explained, pilot, loans)} Try the kit on the bench, and other goggles or another "
            f"transmitter for a flight.{_further_text(record, loans, says_none=True)}",
            amount,
            pilot=pilot,
        )


def _of_own(name: str, told: int, amount: float) -> str:
    """So many of somebody's reports.

    >>> _of_own("Bo", 1, 0.8), _of_own("Bo", 3, 1.2), _of_own("Bo", 3, 2.1)
    ("Bo's report", "one of Bo's 3 reports", "2 of Bo's 3 reports")
    """
    if told == 1:
        return f"{name}'s report"
    return f"{'one' if amount < 1.5 else f'{amount:.0f}'} of {name}'s {told} reports"


def _most(record: MeetRecord, by_pilot: Mapping[int, Mapping[int, float]]) -> list[tuple[int, str, float]]:
    """(ref, name, expected reports) of those worth saying, most first."""
    names = {flier.ref: flier.name for flier in record.fliers}
    found = [(pilot, names[pilot], sum(shares.values())) for pilot, shares in by_pilot.items() if pilot in names]
    worth = [each for each in found if each[2] >= _WORTH_SAYING]
    return sorted(worth, key=lambda each: (-each[2], each[0]))[:_MOST_PEOPLE]


def _worth(shares: Mapping[int, float], least: float) -> frozenset[int]:
    """The likely ones, or the likeliest where none is."""
    likely = frozenset(each for each, share in shares.items() if share >= least)
    return likely or frozenset([max(sorted(shares), key=lambda each: shares[each])])


def _loan(report: ReportExplained) -> int:
    assert report.case is not None, "only reports with a case are counted"
    return report.case.victim.loan


def _flights_text(record: MeetRecord, pilot: int) -> str:
    return _flights(len({airing.loan for airing in record.airings if airing.pilot == pilot}))


def _flights(count: int) -> str:
    return "one flight" if count == 1 else f"{count} flights"


def _kinds_text(record: MeetRecord, loans: frozenset[int]) -> str:
    kinds = {airing.kind.name for airing in record.airings if airing.loan in loans and airing.kind is not None}
    return f" ({', '.join(sorted(kinds))})" if kinds else ""


def _others_text(explained: MeetExplained, pilot: int, loans: frozenset[int]) -> str:
    """How the others fared on the same channels: kit that fails does so where others fly well."""
    record = explained.record
    channels = {airing.mhz for airing in record.airings if airing.loan in loans}
    flown = {each.loan for each in record.airings if each.mhz in channels and each.pilot not in (None, pilot)}
    if not flown:
        return ""
    told = sum(report.case is not None and report.case.victim.loan in flown for report in explained.reports)
    where = "that channel" if len(channels) == 1 else "those channels"
    reports = "none" if told == 0 else "1 report" if told == 1 else f"{told} reports"
    return f" The others on {where}: {reports} in {_flights(len(flown))}."


def _woke_text(record: MeetRecord, on_mhz: Mapping[int, float]) -> str:
    """Where it may have stayed, and the token that would be right for it there."""
    if not on_mhz:
        return ""
    mhz = max(sorted(on_mhz), key=lambda each: on_mhz[each])
    tokens: Sequence[str] = [each.label for each in record.tokens if abs(each.mhz - mhz) <= record.pull_mhz]
    hand = f": where {tokens[0]} is in, hand it that one" if tokens else ""
    return f" It may have been on {mhz} MHz{hand}."


def _further_text(record: MeetRecord, loans: frozenset[int], *, says_none: bool) -> str:
    """What another channel would have given beside those who flew then; `says_none`: also that none would."""
    if (found := further_off(record, loans)) is None:
        return ""
    was = f" By the journal nobody beside them was nearer than {found.was_mhz:g} MHz"
    if found.was_mhz >= FAR_MHZ:
        return f"{was}: a channel further off would hardly change it." if says_none else ""
    if found.to_mhz is None:
        return f"{was}; no channel that it can make would have been much further off." if says_none else ""
    name = f"{found.token} ({found.to_mhz} MHz)" if found.token else f"{found.to_mhz} MHz, which it can make,"
    return f"{was}; {name} would have been {found.would_mhz:g} MHz off."
