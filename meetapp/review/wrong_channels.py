"""Candidates for a transmitter that was not on the channel its loan was given."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from meetapp.review.case import Case, Felt
from meetapp.review.causes import Cause
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.hidden import Hidden, added_up, is_felt, quiet_beside, silence
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import lasting

_USUAL = 0.018
"""How often a loan's transmitter is on another channel than given. From experience, no source; so are those below."""

_SETS_SILENTLY, _MOVES, _WAKES_ELSEWHERE, _WAKES_RIGHT = 1.8, 2.5, 2.2, 0.35
_ON_WAKE, _STEP_BESIDE, _SAME_NUMBER = 0.65, 0.35, 0.25
"""With a known wake channel elsewhere it mostly stayed there; of the rest, a step beside what it was given, or the same
number of another plan; else anywhere."""

_OWN_PICTURE_LOST = 0.62
"""Its own pilot's picture goes, unless the goggles followed."""

_SOON_RIGHT = 0.3
"""So many are noticed and set right within a minute: those who fly beside the rest of the loan have nothing to tell."""

_SHORT, _BACK_SOON = 0.45, 2.5
_SAME_MHZ = 4
_ELSEWHERE_MHZ = 0


def wrong_channels(record: MeetRecord, known: Sequence[Case], least: Mapping[int, float]) -> Iterator[Hidden]:
    """Every loan and frequency that would explain a report. Order: by loan, then MHz.

    `least`: for each report, what it takes beforehand to be worth a thought.
    """
    concerned: dict[int, list[Case]] = defaultdict(list)
    for case in known:
        concerned[case.place].append(case)
        for place in case.beside:
            concerned[place].append(case)
    for place in sorted(concerned):
        yield from _of_airing(record, place, concerned[place], least)


def _of_airing(
    record: MeetRecord, place: int, concerned: Sequence[Case], least: Mapping[int, float]
) -> Iterator[Hidden]:
    airing = record.airings[place]
    quiet = quiet_beside(record, airing.since_s, airing.until_s, record.alongside[place], airing.loan)
    own_says_nothing = airing.loan not in record.reported_loans and airing.pilot is not None
    chance = wrong_chance(airing, record.usual_s)
    own = [(case.number, _own_weight(case)) for case in concerned if case.place == place]
    beside_it = [_Beside.of(airing, case) for case in concerned if case.place != place]
    shares = candidates_mhz(airing, record)
    within = _within(sorted(shares), {(each.mhz, each.reach_mhz) for each in beside_it})
    disturbing = [each for each in beside_it if each.fits]
    for mhz in sorted(within):
        share = shares.pop(mhz)
        near = [(each.number, each.fits * each.felt[abs(mhz - each.mhz)]) for each in disturbing]
        if is_felt(chance * share, adds := added_up([*own, *[each for each in near if each[1]]]), least):
            prior = chance * share * (_SOON_RIGHT + (1 - _SOON_RIGHT) * silence(quiet, mhz, airing.width_mhz))
            if own_says_nothing:
                prior *= 1 - REPORT_SHARE * _OWN_PICTURE_LOST
            cause = Cause("wrong_channel", mhz, (airing.loan,))
            yield Hidden(cause, mhz, airing.since_s, airing.until_s, prior, adds, ("loan", airing.loan))
    if own and (elsewhere := sum(shares.values())):
        cause = Cause("wrong_channel", None, (airing.loan,))
        prior = chance * elsewhere
        yield Hidden(cause, _ELSEWHERE_MHZ, airing.since_s, airing.until_s, prior, tuple(own), ("loan", airing.loan))


def _within(ascending_mhz: Sequence[int], channels: Iterable[tuple[int, float]]) -> set[int]:
    """Those that lie within reach of any of these channels: each with its reach."""
    found: set[int] = set()
    for mhz, reach_mhz in channels:
        low, high = bisect_left(ascending_mhz, mhz - reach_mhz), bisect_right(ascending_mhz, mhz + reach_mhz)
        found.update(ascending_mhz[low:high])
    return found


def _own_weight(case: Case) -> float:
    start = case.victim.since_s
    return _OWN_PICTURE_LOST * case.told("own_wrong") * case.moment.lift(start, case.victim.until_s)


class _Beside(NamedTuple):
    """A report beside a loan; `fits`: how far its time and their time together speak for the loan, whatever the MHz."""

    number: int
    mhz: int
    reach_mhz: float
    fits: float
    felt: Felt

    @classmethod
    def of(cls, airing: Airing, case: Case) -> "_Beside":
        start, end = case.overlap(airing)
        fits = lasting(end - start) * case.moment.lift(start, end)
        return cls(case.number, case.victim.mhz, case.reach_mhz, fits, case.felt(airing))


def wrong_chance(airing: Airing, usual_s: float = 0) -> float:
    """How likely this loan's transmitter was on another channel than given, before any report. `usual_s`: how long
    somebody is on air here as a rule: who comes back much sooner had a reason.

    >>> quiet = Airing(1, 1, 1, 5740, 0, 300, wake_before_mhz=5740)
    >>> wrong_chance(quiet) < wrong_chance(Airing(1, 1, 1, 5740, 0, 300, wake_before_mhz=5800))
    True
    """
    chance = _USUAL
    if airing.until_s - airing.since_s < _SHORT * usual_s:
        chance *= _BACK_SOON
    if airing.kind is not None:
        chance *= _SETS_SILENTLY if airing.kind.sets_silently else 1
        chance *= _MOVES if airing.kind.moves_by_itself else 1
    if airing.wake_before_mhz is not None:
        chance *= _WAKES_ELSEWHERE if _wakes_elsewhere(airing) else _WAKES_RIGHT
    return min(chance, 0.2)


def candidates_mhz(airing: Airing, record: MeetRecord) -> dict[int, float]:
    """Where it may have been instead, with shares that sum to 1: its wake channel, a slip away, any it can make.

    >>> from meetapp.review.evidence import Kind
    >>> kind = Kind(1, "k", (5705, 5740, 5800, 5880))
    >>> shares = candidates_mhz(Airing(1, 1, 1, 5740, 0, 300, wake_before_mhz=5800, kind=kind), MeetRecord(()))
    >>> max(shares, key=lambda mhz: shares[mhz]), round(sum(shares.values()), 6)
    (5800, 1.0)
    """
    can = airing.kind.channels_mhz if airing.kind is not None else ()
    others = [mhz for mhz in can if abs(mhz - airing.mhz) > _SAME_MHZ]
    if not others:
        others = sorted({token.mhz for token in record.tokens if abs(token.mhz - airing.mhz) > _SAME_MHZ})
    shares: dict[int, float] = defaultdict(float)
    left = 1.0
    if _wakes_elsewhere(airing) and airing.wake_before_mhz is not None:
        shares[airing.wake_before_mhz] += _ON_WAKE if others else 1.0
        left -= shares[airing.wake_before_mhz]
    beside = airing.step_beside_mhz or [
        *[mhz for mhz in others if mhz < airing.mhz][-1:],
        *[mhz for mhz in others if mhz > airing.mhz][:1],
    ]
    anywhere = left
    for places, part in ((beside, _STEP_BESIDE), (airing.same_number_mhz, _SAME_NUMBER)):
        for mhz in places:
            shares[mhz] += left * part / len(places)
            anywhere -= left * part / len(places)
    part = anywhere / len(others) if others else 0.0
    for mhz in others:
        shares[mhz] += part
    return dict(shares)


def _wakes_elsewhere(airing: Airing) -> bool:
    return airing.wake_before_mhz is not None and abs(airing.wake_before_mhz - airing.mhz) > _SAME_MHZ
