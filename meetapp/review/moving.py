"""Where a token would lie better: on a channel that the pilots can make, further from the others and their products."""

from collections.abc import Sequence

from meetapp.review.evidence import MeetRecord, SetToken
from meetapp.review.replay import FlownDay
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.products import measure

_USEFUL_MHZ = 35.0


def better_mhz(day: FlownDay, token: SetToken) -> int | None:
    """The best frequency for this token beside the others as they are; None where none is better.

    Better: by clearance (counted up to 35 MHz), then by spacing, for at least as many pilots, not below the meet's
    floor for the spacing, inside the band profile and clear of the neighbours. A token that lies in a neighbour is left
    for any place as good. Units: MHz.
    """
    record = day.record
    others = [each.mhz for each in record.tokens if each.ref != token.ref]
    wanted = _pilots(day, token.mhz)
    known = {mhz for flier in record.fliers for kind in flier.kinds for mhz in kind.channels_mhz}
    fitting = [
        mhz
        for mhz in sorted(known - set(others) - {token.mhz})
        if _keeps_apart(record, others, mhz) and is_clear(record, mhz) and _pilots(day, mhz) >= wanted
    ]
    best = max(fitting, key=lambda mhz: (_worth(others, mhz), -abs(mhz - token.mhz)), default=None)
    if best is None:
        return None
    now, then = _worth(others, token.mhz), _worth(others, best)
    return best if then > now or (then == now and not is_clear(record, token.mhz)) else None


def _worth(others: Sequence[int], mhz: int) -> tuple[float, float]:
    found = measure([Carrier(each) for each in sorted((*others, mhz))])
    clearance = _USEFUL_MHZ if found.clearance_mhz is None else min(found.clearance_mhz, _USEFUL_MHZ)
    return clearance, found.spacing_mhz if found.spacing_mhz is not None else 0.0


def _keeps_apart(record: MeetRecord, others: Sequence[int], mhz: int) -> bool:
    floor = record.floors.spacing_mhz if record.floors is not None else 0
    return all(abs(mhz - other) >= floor for other in others)


def _pilots(day: FlownDay, mhz: int) -> int:
    return sum(bool(day.usable(flier.ref, (mhz,))) for flier in day.record.fliers)


def is_clear(record: MeetRecord, mhz: int, width_mhz: float = REFERENCE_WIDTH_MHZ) -> bool:
    """Whether a carrier lies inside the band profile and clear of the neighbours."""
    half = width_mhz / 2
    allowed = record.allowed_mhz
    if allowed and not any(low <= mhz - half and mhz + half <= high for low, high in allowed):
        return False
    return all(abs(mhz - each.centre_mhz) >= half + each.width_mhz / 2 for each in record.neighbours)
