"""Another channel for somebody: how far from those who flew beside them it would have been, by the record."""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.moving import is_clear
from meetapp.review.reach import FAR_MHZ, away
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_WORTH_MHZ = 10.0
"""So much further off is worth another channel: nearer than that it is within a receiver's filter."""


@dataclass(frozen=True, slots=True)
class FurtherOff:
    """Where some flights were, and where they might have been. MHz, widths taken off.

    `was_mhz`: how near the nearest who flew beside them was. `to_mhz`: the channel that would have been best, and
    `would_mhz` how far off; None: none that their transmitter can make is much further off. `token`: the label of
    the set's token for it, empty where the set has none.
    """

    was_mhz: float
    to_mhz: int | None
    would_mhz: float
    token: str


def further_off(record: MeetRecord, loans: frozenset[int]) -> FurtherOff | None:
    """Another channel for these loans, one of the set's tokens before any other; None where nobody flew beside them.

    The furthest off, counted up to where a carrier hardly disturbs any more; of as good ones the least move.
    By distance to carriers alone, products left out: who flew when with whom would be another day.
    """
    places = [place for place, airing in enumerate(record.airings) if airing.loan in loans]
    flown = [
        (record.airings[place], [record.airings[other] for other in record.others_beside(place)]) for place in places
    ]
    if not any(beside for _airing, beside in flown):
        return None
    was = min(_nearest(airing.mhz, airing, beside) for airing, beside in flown)
    can = _channels(record, [airing for airing, _beside in flown])
    labels = {mhz: token.label for token in record.tokens for mhz in can if abs(mhz - token.mhz) <= record.pull_mhz}
    for options in (sorted(labels), can):
        would = {mhz: min(_nearest(mhz, *each) for each in flown) for mhz in options}
        worth = [mhz for mhz in options if would[mhz] >= was + _WORTH_MHZ]
        best = max(worth, key=lambda mhz: (min(would[mhz], FAR_MHZ), -abs(mhz - flown[0][0].mhz)), default=None)
        if best is not None:
            return FurtherOff(was, best, would[best], labels.get(best, ""))
    return FurtherOff(was, None, was, "")


def _nearest(mhz: int, airing: Airing, beside: Sequence[Airing]) -> float:
    return min((away(each.mhz, each.width_mhz, mhz, airing.width_mhz) for each in beside), default=float("inf"))


def _channels(record: MeetRecord, flown: Sequence[Airing]) -> list[int]:
    """What each transmitter of these flights can make, inside the band profile and clear of the neighbours."""
    kinds = {airing.kind.channels_mhz if airing.kind is not None else () for airing in flown}
    common = set.intersection(*(set(own) for own in kinds)) if kinds else set()
    wide = max(airing.width_mhz for airing in flown)
    return sorted(mhz for mhz in common if is_clear(record, mhz, max(wide, REFERENCE_WIDTH_MHZ)))
