"""Why pictures broke at a meet: every report's causes with their probabilities, all reports read together."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from meetapp.review.case import Case, cases
from meetapp.review.causes import OWN_RECEIVER, UNKNOWN, Cause, CauseKind, Weighed
from meetapp.review.evidence import MeetRecord
from meetapp.review.flights import Flights
from meetapp.review.joint import Shares, read_together
from meetapp.review.known_air import known_causes
from meetapp.review.silent import silent_episodes
from meetapp.review.silent_transmitters import SilentTransmitter, silent_transmitters
from meetapp.review.symptoms import told
from meetapp.review.wrong_channels import wrong_channels

_TOLD_APART = 0.004
"""Causes less likely than this are told as one of their kind, without a name."""


@dataclass(frozen=True, slots=True)
class ReportExplained:
    """A report's causes, likeliest first; their probabilities sum to 1. `case` None: no loan fits the report."""

    number: int
    case: Case | None
    causes: tuple[Weighed, ...]


@dataclass(frozen=True, slots=True)
class MeetExplained:
    """What a whole meet's reports come to."""

    record: MeetRecord
    reports: tuple[ReportExplained, ...]
    silent: tuple[SilentTransmitter, ...]


def explain(record: MeetRecord) -> MeetExplained:
    """Every cause of every report that the record allows, and the transmitters without a token that they point to.

    Order: reports as in the record. Units: seconds and MHz. Cost: 60 pilots, 600 loans and 40 reports take about half
    a second. The model and where its figures come from: DEVELOPERS.md.

    >>> explain(MeetRecord(())).reports
    ()
    """
    every, flights = cases(record), Flights(record)
    known = [case for case in every if case is not None]
    weights = {case.number: known_causes(record, flights, case) for case in known}
    hidden = [*wrong_channels(record, known), *silent_episodes(record, known)] if known else []
    joint = read_together(weights, hidden)
    silent = silent_transmitters(record, joint.hidden)
    explained = []
    for number, case in enumerate(every):
        shares = joint.reports[number] if case is not None else _of_nobody(record, number)
        explained.append(ReportExplained(number, case, tuple(_ranked(shares, silent, number))))
    return MeetExplained(record, tuple(explained), silent)


def _of_nobody(record: MeetRecord, number: int) -> Shares:
    """A report that fits no loan says nothing about the air."""
    report = record.reports[number]
    shares = {OWN_RECEIVER: told(report, "own"), UNKNOWN: 2 * told(report, "unknown")}
    total = sum(shares.values())
    return {cause: share / total for cause, share in shares.items()}


def _ranked(shares: Shares, silent: tuple[SilentTransmitter, ...], number: int) -> Iterator[Weighed]:
    merged = _merged(shares, silent, number)
    kept: dict[Cause, float] = defaultdict(float)
    for cause, probability in merged.items():
        is_told = probability >= _TOLD_APART or not cause.sources
        kept[cause if is_told else Cause(cause.kind)] += probability
    total = sum(kept.values())
    for cause, probability in sorted(kept.items(), key=lambda pair: (-pair[1], pair[0].kind, pair[0].sources)):
        yield Weighed(cause, probability / total)


def _merged(shares: Shares, silent: tuple[SilentTransmitter, ...], number: int) -> dict[Cause, float]:
    """One cause for each loan on a wrong channel, with the likeliest MHz; the same for no token."""
    together: dict[tuple[CauseKind, tuple[int, ...]], dict[Cause, float]] = defaultdict(dict)
    found: dict[Cause, float] = {}
    for cause, share in shares.items():
        if cause.kind == "wrong_channel":
            together[cause.kind, cause.sources][cause] = share
        elif cause.kind == "no_token":
            mhz = next((each.mhz for each in silent if number in each.reports), None)
            found[replace(cause, mhz=mhz)] = share
        else:
            found[cause] = share
    for options in together.values():
        found[_likeliest(options)] = sum(options.values())
    return found


def _likeliest(options: Mapping[Cause, float]) -> Cause:
    return max(sorted(options, key=lambda cause: cause.mhz or 0), key=lambda cause: options[cause])
