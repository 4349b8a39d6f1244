"""What a meet's reports suggest for its set: the token to move or leave out, the floor to raise or to keep."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate

from meetapp.review.advised import Advice, about, air_text, tokens_text, wait_text
from meetapp.review.explaining import MeetExplained
from meetapp.review.moving import better_mhz
from meetapp.review.replay import FlownDay
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import measure

_WORTH_SAYING = 1.0
"""So many reports expected to come from it."""

_WORTH_A_NAME = 0.15
_MOST_OF_THEM = 2 / 3
"""A floor is put above this share of what lay too near: one far-off case moves it by nothing."""


def token_advice(explained: MeetExplained, day: FlownDay) -> Iterator[Advice]:
    """The token whose leaving would take most of the trouble between loans with it."""
    record = explained.record
    own = {token.ref: token for token in record.tokens}
    worst = sorted((-amount, ref) for ref, amount in _expected(explained).items() if ref in own)
    if not worst or -worst[0][0] < _WORTH_SAYING or len(own) < 2:
        return
    amount, ref = -worst[0][0], worst[0][1]
    every = day.own_mhz
    rest = [token.mhz for token in record.tokens if token.ref != ref]
    to = better_mhz(day, own[ref])
    move = f"move it to {to} MHz ({air_text((*rest, to), every)}), or leave it out" if to else "leave it out"
    yield Advice(
        "leave_out_token",
        f"{about(amount).capitalize()} may come from {own[ref].label} ({own[ref].mhz} MHz) beside the others: {move}. "
        f"{changed_set_text(day, rest)}",
        amount,
        token=ref,
    )


def changed_set_text(day: FlownDay, tokens_mhz: Sequence[int]) -> str:
    """A changed set beside the one flown: 'With 5 tokens instead of 6: no product nearer than ..., mean wait ...'."""
    floors, own = day.record.floors, day.own_mhz
    return (
        f"With {tokens_text(len(tokens_mhz))} instead of {len(own)}: {air_text(tokens_mhz, own)}, "
        f"{wait_text(day.again(tokens_mhz, floors), day.again(own, floors))}."
    )


def _expected(explained: MeetExplained) -> dict[int, float]:
    """How many reports are expected to come from each token: as one that disturbs, or as one that is disturbed."""
    token_of = {airing.loan: airing.token for airing in explained.record.airings}
    expected: dict[int, float] = defaultdict(float)
    for report in explained.reports:
        victim = report.case.victim.token if report.case is not None else None
        for each in report.causes:
            if each.cause.kind in ("too_close", "product", "neighbour"):
                for token in {token_of.get(loan) for loan in each.cause.sources} - {victim, None}:
                    expected[token or 0] += each.named
                if victim is not None:
                    expected[victim] += each.probability
    return expected


def floor_advice(explained: MeetExplained, day: FlownDay) -> Iterator[Advice]:
    """A floor that would have kept most of them apart; where the meet had it already, that it was passed over."""
    for kind, name in (("too_close", "spacing"), ("product", "clearance")):
        blamed = [
            (each.cause.away_mhz, each.named)
            for report in explained.reports
            for each in report.causes
            if each.cause.kind == kind and each.cause.away_mhz is not None and each.named > _WORTH_A_NAME
        ]
        if sum(probability for _away, probability in blamed) < _WORTH_SAYING:
            continue
        above = _above(blamed)
        amount = sum(probability for away, probability in blamed if away < above)
        said = f"{about(amount).capitalize()} may come from a {name} of less than {above} MHz"
        had = _floor(explained.record.floors, name)
        if had is not None and had >= above:
            yield Advice(
                "keep_floor",
                f"{said}, though the meet's floor was {had:g} MHz: no other floor is needed, but nothing handed out "
                "below it, and every transmitter on the ground written down.",
                amount,
            )
        else:
            rise = f"from {had:g} to {above}" if had is not None else f"to {above}"
            yield Advice("raise_floor", f"{said}: raise its floor {rise} MHz.{_raised(day, name, above)}", amount)


def _above(blamed: Sequence[tuple[float, float]]) -> int:
    """The lowest whole MHz above most of what was too near."""
    enough = _MOST_OF_THEM * sum(probability for _away, probability in blamed)
    ascending = sorted(blamed)
    reached = accumulate(probability for _away, probability in ascending)
    return int(next(away for (away, _), so_far in zip(ascending, reached, strict=True) if so_far >= enough)) + 1


def _floor(floors: Floors | None, name: str) -> float | None:
    if floors is None:
        return None
    return floors.spacing_mhz if name == "spacing" else floors.clearance_mhz


def _raised(day: FlownDay, name: str, above: int) -> str:
    """What the higher floor would have meant for the set and the waits."""
    own = day.own_mhz
    measures = measure([Carrier(mhz) for mhz in sorted(own)])
    reaches = measures.spacing_mhz if name == "spacing" else measures.clearance_mhz
    if reaches is None or reaches >= above:
        return ""
    had = day.record.floors
    spacing, clearance = (had.spacing_mhz, had.clearance_mhz) if had is not None else (0, None)
    floors = Floors(above, clearance) if name == "spacing" else Floors(spacing, above)
    again, before = day.again(own, floors), day.again(own, had)
    return (
        f" The set as a whole reaches {reaches:g} MHz, so choose another one, or wait longer: flown again with that "
        f"floor, {wait_text(replace(again, cant_fly=before.cant_fly), before)}."
    )
