"""Why pictures broke at a meet: every report's causes with their probabilities, all reports read together."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from meetapp.review.case import Case, cases
from meetapp.review.causes import OWN_RECEIVER, UNKNOWN, Cause, CauseKind, Weighed
from meetapp.review.clocks import at_right_times
from meetapp.review.doubt import borne_out, trust
from meetapp.review.evidence import MeetRecord
from meetapp.review.exposure import Exposure
from meetapp.review.flights import Flights
from meetapp.review.hidden import Hidden, is_felt
from meetapp.review.joint import Candidate, Joint, Shares, read_together
from meetapp.review.known_air import KnownAir
from meetapp.review.rates import HIDDEN, Rates, Told, first_rates, learned_rates
from meetapp.review.silent import silent_episodes
from meetapp.review.silent_transmitters import SilentTransmitter, silent_transmitters
from meetapp.review.symptoms import told
from meetapp.review.uncollected import uncollected
from meetapp.review.wrong_channels import wrong_channels

_ROUNDS = 4
_FELT, _MORE_FELT = 1e-4, 10
"""Of a report's likeliest known cause: what weighs less beforehand is left out (moves no probability by 0.005); so many
times as much is gathered where only rates are learned."""

_ONE_OF_MANY = 1e-3
_STANDS_OUT = 0.5
"""Of several causes of one kind the likeliest is named where it has more than so much of what the kind has."""


@dataclass(frozen=True, slots=True)
class ReportExplained:
    """A report's causes, one of each kind, likeliest first; their probabilities sum to 1.

    `case` None: no loan fits the report, or any of several that flew then may be meant.
    """

    number: int
    case: Case | None
    causes: tuple[Weighed, ...]


@dataclass(frozen=True, slots=True)
class MeetExplained:
    """What a whole meet's reports come to."""

    record: MeetRecord
    reports: tuple[ReportExplained, ...]
    silent: tuple[SilentTransmitter, ...]

    @property
    def expected(self) -> dict[CauseKind, float]:
        """How many reports each kind is expected to be behind; kinds that are behind none are left out."""
        found: dict[CauseKind, float] = defaultdict(float)
        for report in self.reports:
            for each in report.causes:
                found[each.cause.kind] += each.probability
        return dict(found)


def explain(record: MeetRecord) -> MeetExplained:
    """Every cause of every report that the record allows, and the transmitters without a token that they point to.

    Order: reports as in the record. Units: seconds and MHz. Cost: 60 pilots, 600 loans and 40 reports take less than a
    second of processor time. The model and where its figures come from: DEVELOPERS.md.

    >>> explain(MeetRecord(())).reports
    ()
    """
    with uncollected():  # it would take a fifth of the time and find nothing
        return _explained(record, at_right_times(record))


def _explained(told: MeetRecord, record: MeetRecord) -> MeetExplained:
    """`told`: the record as it is; `record`: with times that are right, as far as clocks are concerned."""
    every = cases(record)
    joint = _read(record, [case for of_report in every for case in of_report])
    silent = silent_transmitters(record, joint.hidden)
    explained, others_too = [], borne_out(record, joint.hidden)
    for number, of_report in enumerate(every):
        shares = joint.reports[number] if of_report else _of_nobody(record, number)
        case = of_report[0] if of_report and not record.reports[number].is_anybodys else None
        ranked = _ranked(_merged(shares, silent, number), others_too.get(number, 0.0))
        explained.append(ReportExplained(number, case, tuple(ranked)))
    return MeetExplained(told, tuple(explained), silent)


def _read(record: MeetRecord, known: Sequence[Case]) -> Joint:
    """All reports read together, again and again with the rates that came out."""
    if not known:
        return Joint()
    flights, exposure = Flights(record), Exposure(record)
    likeliest = {case.number: case for case in reversed(known)}
    told = Told(
        {number: case.report.pilot for number, case in likeliest.items()},
        {number: case.victim.mhz for number, case in likeliest.items()},
        record.loans,
        exposure.expected,
        {airing.loan: airing.mhz for airing in record.airings},
        {number: case.victim.loan for number, case in likeliest.items()},
        frozenset(airing.loan for airing in record.airings if airing.is_override),
        exposure.of_overrides,
    )
    air = KnownAir(record, flights, known, told.is_override)
    rates = first_rates(told)
    least = {number: _FELT * max(each.values()) for number, each in air.weights(rates).items()}
    hidden = [*wrong_channels(record, known, least), *silent_episodes(record, known, least)]
    gathered = list(_gathered(hidden, {number: _MORE_FELT * each for number, each in least.items()}))
    for _round in range(_ROUNDS - 1):
        joint = read_together(air.gathered(rates), _at(rates, gathered), quick=True)
        rates = learned_rates(told, rates, joint.reports, _hidden_found(joint))
    return read_together(air.weights(rates), _at(rates, hidden))


def _gathered(hidden: Iterable[Hidden], much: Mapping[int, float]) -> Iterator[Hidden]:
    """The same for whoever only learns rates: those that touch one report, or hardly any, as one for each report."""
    sums: dict[CauseKind, dict[int, float]] = {kind: defaultdict(float) for kind in HIDDEN}
    for each in hidden:
        if len(each.adds) > 1 and is_felt(each.prior, each.adds, much):
            yield each
        else:
            of_kind = sums[each.cause.kind]
            for number, weight in each.adds:
                of_kind[number] += each.prior * weight
    for kind, of_kind in sums.items():
        for number, weight in of_kind.items():
            yield Hidden(Cause(kind), 0, 0, 0, _ONE_OF_MANY, ((number, weight / _ONE_OF_MANY),), (kind, number))


def _at(rates: Rates, hidden: Iterable[Hidden]) -> list[Candidate]:
    """Candidates with their odds at these rates: one rate for all of a kind that touch the same reports."""
    often: dict[CauseKind, dict[tuple[int, ...], float]] = {kind: {} for kind in HIDDEN}
    found = []
    for each in hidden:
        kind, numbers = each.cause.kind, each.numbers
        if (rate := often[kind].get(numbers)) is None:
            rate = often[kind][numbers] = rates.of_hidden(kind, numbers)
        found.append((each, each.odds(rate)))
    return found


def _hidden_found(joint: Joint) -> dict[CauseKind, float]:
    """How many hidden things of each kind there were; one behind several reports is one."""
    found: dict[CauseKind, float] = {"no_token": 0.0, "wrong_channel": 0.0}
    for hidden, explains in joint.hidden:
        found[hidden.cause.kind] += max(explains.values())
    return found


def _of_nobody(record: MeetRecord, number: int) -> Shares:
    """A report that fits no loan says nothing about the air."""
    report = record.reports[number]
    shares = {OWN_RECEIVER: told(report, "own"), UNKNOWN: 2 * told(report, "unknown")}
    total = sum(shares.values())
    return {cause: share / total for cause, share in shares.items()}


def _ranked(shares: Shares, others_too: float) -> Iterator[Weighed]:
    by_kind: dict[CauseKind, dict[Cause, float]] = defaultdict(dict)
    for cause, share in shares.items():
        by_kind[cause.kind][cause] = share
    power = trust({kind: sum(options.values()) for kind, options in by_kind.items()}, others_too)
    ranked = [_doubted(_told_apart(options), power) for options in by_kind.values()]
    total = sum(each.probability for each in ranked)
    for each in sorted(ranked, key=lambda one: (-one.probability, one.cause.kind)):
        yield Weighed(each.cause, each.probability / total, each.named / total)


def _doubted(weighed: Weighed, power: float) -> Weighed:
    """The order stays, the odds come nearer to one another; the part of the one named within its kind stays too."""
    if weighed.probability <= 0:
        return weighed
    probability = weighed.probability**power
    return Weighed(weighed.cause, probability, probability * weighed.named / weighed.probability)


def _told_apart(options: Mapping[Cause, float]) -> Weighed:
    """A kind as one cause: by name where one stands out from the others, else without naming anybody."""
    whole, best = sum(options.values()), _likeliest(options)
    if len(options) == 1 or options[best] > _STANDS_OUT * whole:
        return Weighed(best, whole, options[best])
    return Weighed(Cause(best.kind), whole, whole)


def _merged(shares: Shares, silent: tuple[SilentTransmitter, ...], number: int) -> dict[Cause, float]:
    """One cause for each loan on a wrong channel, with the likeliest MHz; the same for no token."""
    together: dict[tuple[CauseKind, tuple[int, ...]], dict[Cause, float]] = defaultdict(dict)
    found: dict[Cause, float] = {}
    for cause, share in shares.items():
        if cause.kind == "wrong_channel":
            together[cause.kind, cause.sources][cause] = share
        elif cause.kind == "no_token":
            mhz = next((each.mhz for each in silent if number in each.reports), None)
            found[cause._replace(mhz=mhz)] = share
        else:
            found[cause] = share
    for options in together.values():
        found[_likeliest(options)] = sum(options.values())
    return found


def _likeliest(options: Mapping[Cause, float]) -> Cause:
    return max(sorted(options, key=lambda cause: cause.mhz or 0), key=lambda cause: options[cause])
