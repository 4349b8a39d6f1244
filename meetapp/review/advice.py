"""What to change after a meet: which token, which floor, whose transmitter, how many tokens."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from meetapp.review.evidence import MeetRecord
from meetapp.review.explaining import MeetExplained
from meetapp.review.moving import better_mhz
from meetapp.review.replay import Replayed, replay, seen, wishes
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.queueing import MeanTimes, finite_source_queue

AdviceKind = Literal["leave_out_token", "raise_floor", "check_transmitter", "token_count", "nothing"]

_WORTH_SAYING = 1.0
"""So many reports expected to come from it."""

_WRONG_WORTH_SAYING = 0.6
_WORTH_A_NAME = 0.15
_BEARABLE_S = 600.0
_MOST_TOKENS = 12


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to change. `reports`: how many reports are expected to come from what it would change."""

    kind: AdviceKind
    sentence: str
    reports: float = 0.0
    token: int | None = None
    pilot: int | None = None


def advise(explained: MeetExplained) -> tuple[Advice, ...]:
    """What the meet's reports and waits suggest, weightiest first; one line that says so where nothing does."""
    found = [*_tokens(explained), *_floors(explained), *_transmitters(explained), *_count(explained)]
    if not found:
        found = [Advice("nothing", "Nothing in this meet's record asks for another set, floor or transmitter.")]
    return tuple(sorted(found, key=lambda each: -each.reports))


def _tokens(explained: MeetExplained) -> Iterator[Advice]:
    """The token whose leaving would take most of the trouble between loans with it."""
    record = explained.record
    token_of = {airing.loan: airing.token for airing in record.airings}
    expected: dict[int, float] = defaultdict(float)
    for report in explained.reports:
        victim = report.case.victim.token if report.case is not None else None
        for each in report.causes:
            if each.cause.kind in ("too_close", "product", "neighbour"):
                for token in {token_of.get(loan) for loan in each.cause.sources} - {victim, None}:
                    expected[token or 0] += each.named
                if victim is not None:
                    expected[victim] += each.probability
    own = {token.ref: token for token in record.tokens}
    worst = sorted((-amount, ref) for ref, amount in expected.items() if ref in own)
    if not worst or -worst[0][0] < _WORTH_SAYING or len(own) < 2:
        return
    amount, ref = -worst[0][0], worst[0][1]
    rest = [token.mhz for token in record.tokens if token.ref != ref]
    to = better_mhz(record, own[ref])
    move = f"move it to {to} MHz ({_air_text(sorted((*rest, to)))}), or leave it out" if to else "leave it out"
    without, before = replay(record, rest), replay(record, [token.mhz for token in record.tokens])
    yield Advice(
        "leave_out_token",
        f"Possibly {amount:.0f} of the reports come from {own[ref].label} ({own[ref].mhz} MHz) beside the others: "
        f"{move}. With {_tokens_text(len(rest))} instead of {len(own)}: {_air_text(rest)}, "
        f"{_wait_text(without, before)}.",
        amount,
        token=ref,
    )


def _floors(explained: MeetExplained) -> Iterator[Advice]:
    for kind, name in (("too_close", "spacing"), ("product", "clearance")):
        blamed = [
            (each.cause.away_mhz, each.named)
            for report in explained.reports
            for each in report.causes
            if each.cause.kind == kind and each.cause.away_mhz is not None and each.named > _WORTH_A_NAME
        ]
        amount = sum(probability for _away, probability in blamed)
        if amount >= _WORTH_SAYING:
            above = int(max(away for away, _probability in blamed)) + 1
            yield Advice(
                "raise_floor",
                f"Possibly {amount:.0f} of the reports come from a {name} of less than {above} MHz: "
                f"raise the floor of the {name} to {above} MHz or more.",
                amount,
            )


def _transmitters(explained: MeetExplained) -> Iterator[Advice]:
    """Who may have been on another channel than given, and may need another way of setting it."""
    by_pilot: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    pilot_of = {airing.loan: airing.pilot for airing in explained.record.airings}
    for report in explained.reports:
        for each in report.causes:
            if each.cause.kind == "wrong_channel" and each.cause.sources:
                pilot = pilot_of.get(each.cause.sources[0])
                if pilot is not None:
                    by_pilot[pilot][report.number] += each.named
    names = {flier.ref: flier for flier in explained.record.fliers}
    for pilot, shares in sorted(by_pilot.items()):
        if (amount := sum(shares.values())) >= _WRONG_WORTH_SAYING and pilot in names:
            kinds = ", ".join(kind.name for kind in names[pilot].kinds) or "of no known kind"
            yield Advice(
                "check_transmitter",
                f"Possibly {_reports(amount)} from {names[pilot].name}'s transmitter ({kinds}) on another "
                "channel than given: read the channel back at the next hand-out, or find another one.",
                amount,
                pilot=pilot,
            )


def _reports(amount: float) -> str:
    return "one report comes" if amount < 1.5 else f"{amount:.0f} reports come"


def _count(explained: MeetExplained) -> Iterator[Advice]:
    """How many tokens would have brought the wait below ten minutes, by the meet flown again."""
    record = explained.record
    tokens = [token.mhz for token in record.tokens]
    if not tokens or (was := seen(record)).mean_wait_s < _BEARABLE_S:
        return
    before = replay(record, tokens)
    for count in range(len(tokens) + 1, _MOST_TOKENS + 1):
        again = replay(record, [tokens[number % len(tokens)] for number in range(count)], keeps_floors=False)
        if again.mean_wait_s < _BEARABLE_S:
            yield Advice(
                "token_count",
                f"The mean wait was {_minutes(was.mean_wait_s)}{_formula_text(record)}. "
                f"With {count} instead of {len(tokens)} tokens, flown again: {_wait_text(again, before)}. "
                "That needs as many channels that keep the floors together.",
            )
            return


def _formula_text(record: MeetRecord) -> str:
    """What the formula expects for such pilots and tokens, beside what was seen; nothing where nobody flew twice."""
    own = wishes(record)
    flights = [wish.flight_s / 60 for each in own.values() for wish in each]
    grounds = [wish.after_s / 60 for each in own.values() for wish in each[1:]]
    if not grounds or sum(grounds) <= 0 or sum(flights) <= 0:
        return ""
    times = MeanTimes(sum(flights) / len(flights), sum(grounds) / len(grounds))
    expected = finite_source_queue(len(own), len(record.tokens), times)
    return f" (the formula expects {expected.wait_min:.0f} min for {len(own)} pilots and {len(record.tokens)} tokens)"


def replay_text(explained: MeetExplained, tokens_mhz: Sequence[int]) -> str:
    """A changed set beside the one flown: 'with 5 tokens instead of 6: no product within 20 MHz ..., mean wait ...'."""
    record = explained.record
    own = [token.mhz for token in record.tokens]
    again, before = replay(record, tokens_mhz), replay(record, own)
    return (
        f"With {_tokens_text(len(tokens_mhz))} instead of {len(own)}: {_air_text(tokens_mhz)}, "
        f"{_wait_text(again, before)}."
    )


def _tokens_text(count: int) -> str:
    return "1 token" if count == 1 else f"{count} tokens"


def _air_text(tokens_mhz: Sequence[int]) -> str:
    measures: Measures = measure([Carrier(mhz) for mhz in tokens_mhz])
    near = "no product to measure"
    if measures.clearance_mhz is not None:
        near = f"no product nearer than {measures.clearance_mhz:g} MHz to anyone"
    if measures.spacing_mhz is None:
        return near
    return f"{near}, {measures.spacing_mhz:g} MHz of spacing"


def _wait_text(again: Replayed, before: Replayed) -> str:
    cant = f", {again.cant_fly} pilots who can use none of them" if again.cant_fly > before.cant_fly else ""
    return f"mean wait {_minutes(again.mean_wait_s)} instead of {_minutes(before.mean_wait_s)}{cant}"


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:.0f} min"
