"""What may still join a heat: for every frequency at once, as bit masks.

A mask has bit `f` for the frequency `lowest + f`. Each mask belongs to one width, since a wide carrier needs more room
than a narrow one. Adding a carrier bars, for every width, the frequencies that would break a floor with it: too near;
where a product of it and the carriers before falls; and from where a product would fall on one of them. Each of these
is one run of bits around one frequency, so a heat of eight costs about a hundred shifts.

The rules are those of `floors` and `products`; what was on air before (loans beside the heats) takes part like the
rest. Two carriers of one heat never share a frequency, however low the floor.
"""

from collections.abc import Iterator, Sequence
from math import ceil
from typing import NamedTuple

from meetapp.spectrum.carriers import Carrier, Neighbour, neighbour_gap
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.floors import Floors


class Room(NamedTuple):
    """The carriers of a heat so far (MHz, excess width) and, for each width, the mask of what may still join."""

    carriers: tuple[tuple[int, float], ...]
    free: tuple[int, ...]


class Air:
    """The frequencies and widths of a roster under the floors of a meet.

    `widths` ascend; a width is named by its place among them from then on, and a frequency by its bit.

    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> with_two = air.added(air.added(air.empty, air.bit(5658), 0), air.bit(5695), 0)
    >>> [air.mhz(bit) for bit in bits(with_two.free[0] & air.mask([5732, 5769]))]
    [5769]
    """

    def __init__(
        self,
        frequencies_mhz: Sequence[int],
        widths_mhz: Sequence[float],
        floors: Floors,
        on_air: Sequence[Carrier] = (),
        neighbours: Sequence[Neighbour] = (),
    ) -> None:
        self.lowest_mhz = min(frequencies_mhz, default=0)
        self.widths_mhz = tuple(widths_mhz)
        self._excess = tuple(width - REFERENCE_WIDTH_MHZ for width in widths_mhz)
        self._spacing = floors.spacing_mhz
        self._clearance = floors.clearance_mhz
        every = self.mask(frequencies_mhz)
        free = []
        for width in widths_mhz:
            carriers = {bit: Carrier(self.mhz(bit), width) for bit in bits(every)}
            free.append(
                sum(1 << bit for bit, own in carriers.items() if all(neighbour_gap(own, n) >= 0 for n in neighbours))
            )
        room = Room((), tuple(free))
        for carrier in on_air:
            room = self._added(room, carrier.mhz, carrier.width_mhz - REFERENCE_WIDTH_MHZ)
        narrowest = min(self._excess, default=0)
        self.least_gap = max(1, ceil(floors.spacing_mhz + narrowest))
        self.least_difference = max(0, ceil((floors.clearance_mhz or 0) + 2 * narrowest))
        self.empty = room
        """Nobody of the heat is up yet: only what is on air beside it counts."""

    def bit(self, mhz: int) -> int:
        """The bit of a frequency."""
        return mhz - self.lowest_mhz

    def mhz(self, bit: int) -> int:
        """The frequency of a bit."""
        return bit + self.lowest_mhz

    def mask(self, frequencies_mhz: Sequence[int]) -> int:
        """The mask of some frequencies."""
        return sum(1 << mhz - self.lowest_mhz for mhz in set(frequencies_mhz))

    def added(self, room: Room, bit: int, width: int) -> Room:
        """The room once a carrier that may join has joined."""
        return self._added(room, self.mhz(bit), self._excess[width])

    def at_most(self, mask: int) -> int:
        """No more than this many carriers of the mask can be up at once.

        Two counts: by spacing alone, taking the lowest that fits; and by span, because every two of the gaps between
        carriers side by side differ by the clearance (else a product falls too near), so that n carriers span at
        least (n - 1) spacings and (n - 1)(n - 2)/2 clearances. Both are of the narrowest width.
        """
        if not mask:
            return 0
        count = self.at_most_apart(mask)
        span = mask.bit_length() - (mask & -mask).bit_length()
        while (count - 1) * self.least_gap + (count - 1) * (count - 2) // 2 * self.least_difference > span:
            count -= 1
        return count

    def at_most_apart(self, mask: int) -> int:
        """No more than this many carriers of the mask keep the spacing in pairs: the lowest that fits, and so on."""
        count = 0
        while mask:
            count += 1
            lowest = (mask & -mask).bit_length() - 1
            mask = mask >> (lowest + self.least_gap) << (lowest + self.least_gap)
        return count

    def _added(self, room: Room, mhz: int, excess: float) -> Room:
        barred = (self._barred(room.carriers, mhz, excess, own) for own in self._excess)
        free = tuple(mask & ~bar for mask, bar in zip(room.free, barred, strict=True))
        return Room((*room.carriers, (mhz, excess)), free)

    def _barred(self, carriers: Sequence[tuple[int, float]], mhz: int, excess: float, own: float) -> int:
        """The mask of what a carrier of excess width `own` can't take once (mhz, excess) has joined the others."""
        x = mhz - self.lowest_mhz
        bar = _run(x, max(1, ceil(self._spacing + (excess + own) / 2)))
        if self._clearance is None:
            return bar
        before = [(each - self.lowest_mhz, width) for each, width in carriers]
        for place, (a, a_excess) in enumerate(before):
            near = self._clearance + (2 * excess + a_excess + own) / 2
            bar |= _run(2 * x - a, ceil(near))
            bar |= _run(2 * a - x, ceil(near + (a_excess - excess) / 2))
            bar |= _middle_run(a + x, ceil(near + (own - excess) / 2))
            for b, b_excess in before[:place]:
                reach = ceil(self._clearance + (excess + a_excess + b_excess + own) / 2)
                bar |= _run(x + a - b, reach) | _run(x + b - a, reach) | _run(a + b - x, reach)
        return bar


def bits(mask: int) -> Iterator[int]:
    """The places of the set bits, lowest first.

    >>> list(bits(0b10010))
    [1, 4]
    """
    while mask:
        lowest = mask & -mask
        yield lowest.bit_length() - 1
        mask ^= lowest


def _run(centre: int, reach: int) -> int:
    """The bits less than `reach` from the centre."""
    if reach <= 0:
        return 0
    first = centre - reach + 1
    run = (1 << (2 * reach - 1)) - 1
    return run << first if first >= 0 else run >> -first


def _middle_run(total: int, reach: int) -> int:
    """The bits whose double is less than `reach` from `total`."""
    if reach <= 0:
        return 0
    first, last = (total - reach + 2) // 2, (total + reach - 1) // 2
    run = (1 << max(0, last - first + 1)) - 1
    return run << first if first >= 0 else run >> -first
