"""How far the odds that came out are believed: how looks, times and rates go together is known only roughly.

Odds between kinds count to a power. While no kind stands out nobody is accused, so they count in full. The more one
does the less they count, unless it is something hidden that others' reports bear out: a chance likeness of one report
is common, of two at once it isn't. From experience, no source; tried on days made up in other ways than supposed here,
by hands that had not seen it: there it had been much too sure.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from meetapp.review.causes import CauseKind
from meetapp.review.evidence import MeetRecord
from meetapp.review.hidden import Hidden
from meetapp.review.rates import HIDDEN

_STANDS_ALONE, _BORNE_OUT = 0.52, 0.75
"""The power where one kind stands out clearly: of what a lone report says, and of what others bear out. With the first
few meets at which nothing was wrong accuse anybody."""

_LEAST, _CLEARLY = 0.3, 0.6
"""From the one share on a kind stands out, from the other on it does clearly."""

_AS_WELL = 0.3
"""Something hidden that explains two reports: the second at least so well as the first."""


def trust(shares: Mapping[CauseKind, float], borne_out: float) -> float:
    """The power to which a report's odds count. `shares`: of its kinds, which sum to 1; `borne_out`: how likely it is
    the work of something hidden that others' reports tell of too.

    >>> trust({"own_receiver": 0.3, "no_token": 0.3, "unknown": 0.25, "product": 0.15}, 0)
    1.0
    >>> trust({"own_receiver": 0.3, "no_token": 0.7}, 0), round(trust({"own_receiver": 0.3, "no_token": 0.7}, 1), 2)
    (0.52, 0.75)
    """
    first = max(sorted(shares), key=lambda kind: shares[kind])
    clear = _STANDS_ALONE
    if first in HIDDEN:
        clear += (_BORNE_OUT - _STANDS_ALONE) * min(borne_out, 1.0)
    part = min(max((shares[first] - _LEAST) / (_CLEARLY - _LEAST), 0.0), 1.0)
    return 1 + (clear - 1) * part


def borne_out(record: MeetRecord, hidden: Iterable[tuple[Hidden, Mapping[int, float]]]) -> dict[int, float]:
    """For each report, by its number, how likely it is the work of something hidden that somebody else tells of too.

    `hidden`: as `joint` found it, each with how likely it is what disturbed each report.
    """
    found: dict[int, float] = defaultdict(float)
    for _each, explains in hidden:
        least = _AS_WELL * max(explains.values())
        if len({_who(record, number) for number, share in explains.items() if share > least}) > 1:
            for number, share in explains.items():
                found[number] += share
    return dict(found)


def _who(record: MeetRecord, number: int) -> tuple[int | None, int]:
    """Two reports without a name are of two people."""
    pilot = record.reports[number].pilot
    return pilot, number if pilot is None else 0
