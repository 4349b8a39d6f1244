"""One thing to change after a meet, and the words that all such advice is put in."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from meetapp.review.replay import Replayed
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import measure

AdviceKind = Literal[
    "leave_out_token",
    "raise_floor",
    "keep_floor",
    "check_transmitter",
    "check_kit",
    "power_rule",
    "token_count",
    "other_wait",
    "nothing",
]


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to change. `reports`: how many reports are expected to come from what it would change."""

    kind: AdviceKind
    sentence: str
    reports: float = 0.0
    token: int | None = None
    pilot: int | None = None


def about(amount: float) -> str:
    """So many reports, as expected and never exactly.

    >>> about(1.2), about(2.6)
    ('about one report', 'about 3 reports')
    """
    return "about one report" if amount < 1.5 else f"about {amount:.0f} reports"


def tokens_text(count: int) -> str:
    """A number of tokens.

    >>> tokens_text(1), tokens_text(5)
    ('1 token', '5 tokens')
    """
    return "1 token" if count == 1 else f"{count} tokens"


def air_text(tokens_mhz: Sequence[int], before_mhz: Sequence[int] = ()) -> str:
    """What the sums say of a set, all of it on air, with what they said of another one before.

    >>> air_text((5658, 5695, 5760), (5658, 5695, 5740))
    'no product nearer than 28 MHz to anyone (8 before), 37 MHz of spacing'
    >>> air_text((5658, 5695, 5732))
    "a product right on somebody's channel, 37 MHz of spacing"
    """
    now, then = (measure([Carrier(mhz) for mhz in sorted(mhz)]) for mhz in (tokens_mhz, before_mhz))
    if now.clearance_mhz is None:
        near = "no product to measure"
    elif now.clearance_mhz <= 0:
        near = "a product right on somebody's channel"
    else:
        near = f"no product nearer than {now.clearance_mhz:g} MHz to anyone"
    near += _before(now.clearance_mhz, then.clearance_mhz)
    if now.spacing_mhz is None:
        return near
    return f"{near}, {now.spacing_mhz:g} MHz of spacing{_before(now.spacing_mhz, then.spacing_mhz)}"


def _before(now: float | None, then: float | None) -> str:
    return f" ({then:g} before)" if then is not None and then != now else ""


def wait_text(again: Replayed, before: Replayed) -> str:
    """The mean wait of a day flown again beside that of another one.

    >>> wait_text(Replayed(9, 234, 600, 1), Replayed(9, 180, 600, 0))
    'mean wait 3.9 min instead of 3 min, 1 pilot who can use none of them'
    >>> wait_text(Replayed(9, 31, 60, 0), Replayed(9, 30, 60, 0))
    'mean wait 0.5 min as before'
    """
    more = again.cant_fly - before.cant_fly
    cant = f", {more} pilot{'s' if more > 1 else ''} who can use none of them" if more > 0 else ""
    now, then = minutes(again.mean_wait_s), minutes(before.mean_wait_s)
    return f"mean wait {now} as before{cant}" if now == then else f"mean wait {now} instead of {then}{cant}"


def minutes(seconds: float) -> str:
    """A wait in words, below ten minutes to one decimal.

    >>> minutes(36), minutes(765)
    ('0.6 min', '13 min')
    """
    return f"{round(seconds / 60, 1):g} min" if seconds < 600 else f"{seconds / 60:.0f} min"
