"""The question put to the search: which carriers of this pool live best together."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Literal

from meetapp.spectrum.carriers import check_width
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, USEFUL_CLEARANCE_MHZ, BadProblem
from meetapp.spectrum.products import Measures

Signals = Literal["both", "two"]

POOL_TOP_MHZ = 100_000
"""No pool goes above 100 GHz: the search keeps a bit for each MHz from its lowest to its highest frequency."""


@dataclass(frozen=True, slots=True)
class PickProblem:
    """`count` carriers from a pool, every two at least `spacing_mhz` apart, as clear of products as can be.

    Units: MHz. The pool may come in any order and with repeats: it is kept ascending, each frequency once.
    `signals` says what is compared first: "both" the clearance, "two" the two-signal clearance (see `order_key`).
    `useful_mhz` is the clearance beyond which more counts for nothing. `width_mhz` is the occupied width of every
    carrier: spacing and clearances are measured by the width rules (see `carriers` and `products`), so that both
    stay plain distances between centres at the reference width.
    `widths_mhz`, where carriers differ in width, has one width for each of them instead, in any order: which frequency
    gets which width is part of the search. `room_mhz` then says for some of the widths at which frequencies of the pool
    they have room (a wide carrier has less of it at the edges of a band); the others have it everywhere.

    Raises BadProblem with a sentence for a person.

    >>> PickProblem((5695, 5658, 5695), 2, 37).pool_mhz
    (5658, 5695)
    >>> PickProblem((5658, 5695, 5732), 2, 37, widths_mhz=(40, 20), room_mhz=((40, (5695,)),)).room_for(40)
    (5695,)
    """

    pool_mhz: tuple[int, ...]
    count: int
    spacing_mhz: int
    signals: Signals = "both"
    useful_mhz: int = USEFUL_CLEARANCE_MHZ
    width_mhz: float = REFERENCE_WIDTH_MHZ
    widths_mhz: tuple[float, ...] = ()
    room_mhz: tuple[tuple[float, tuple[int, ...]], ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "pool_mhz", tuple(sorted(set(self.pool_mhz))))
        if self.widths_mhz:
            self._settle_widths()
        if self.count < 1:
            raise BadProblem("count", f"The count must be 1 or more, not {self.count}.")
        if self.spacing_mhz < 0:
            raise BadProblem("spacing_mhz", f"The spacing must be 0 MHz or more, not {self.spacing_mhz}.")
        if self.useful_mhz < 0:
            raise BadProblem("useful_mhz", f"The useful clearance must be 0 MHz or more, not {self.useful_mhz}.")
        check_width(self.width_mhz)
        if self.signals not in ("both", "two"):
            raise BadProblem("signals", f'The signals to rank by are "both" or "two", not "{self.signals}".')
        for mhz in self.pool_mhz:
            if not 0 <= mhz <= POOL_TOP_MHZ:
                raise BadProblem("pool_mhz", f"{mhz} MHz is no frequency from 0 to {POOL_TOP_MHZ} MHz.")

    def _settle_widths(self) -> None:
        for width in self.widths_mhz:
            check_width(width)
        if len(self.widths_mhz) != self.count:
            raise BadProblem(
                "widths_mhz", f"Give one width for each carrier: {self.count} carriers, {len(self.widths_mhz)} widths."
            )
        if self.width_mhz != REFERENCE_WIDTH_MHZ:
            raise BadProblem("widths_mhz", "Give one width for all carriers or one for each, not both.")
        widths = sorted(set(self.widths_mhz))
        pool = set(self.pool_mhz)
        rooms = {width: tuple(sorted(pool.intersection(mhz))) for width, mhz in self.room_mhz if width in widths}
        for narrow, wide in pairwise(widths):
            if not pool.intersection(rooms.get(wide, self.pool_mhz)) <= set(rooms.get(narrow, self.pool_mhz)):
                raise BadProblem("room_mhz", "A wide carrier can't have room where a narrower one has none.")
        if len(widths) == 1:  # all alike: that is the simpler problem
            object.__setattr__(self, "width_mhz", widths[0])
            object.__setattr__(self, "pool_mhz", rooms.get(widths[0], self.pool_mhz))
        object.__setattr__(self, "widths_mhz", tuple(sorted(self.widths_mhz)) if len(widths) > 1 else ())
        object.__setattr__(self, "room_mhz", tuple(sorted(rooms.items())) if len(widths) > 1 else ())

    def room_for(self, width_mhz: float) -> tuple[int, ...]:
        """The frequencies of the pool at which a carrier of this width has room, ascending."""
        return dict(self.room_mhz).get(width_mhz, self.pool_mhz)

    @property
    def extra_width_mhz(self) -> float:
        """By how much each carrier is wider than the reference width."""
        return self.width_mhz - REFERENCE_WIDTH_MHZ

    @property
    def centre_spacing_mhz(self) -> int:
        """The spacing as the least whole distance between two centres."""
        return max(0, ceil(self.spacing_mhz + self.extra_width_mhz))

    @property
    def centre_useful_mhz(self) -> int:
        """The useful clearance as a distance between centres: a product is three widths wide, its victim one."""
        return max(0, ceil(self.useful_mhz + 2 * self.extra_width_mhz))


OrderKey = tuple[tuple[float, ...], tuple[int, ...], tuple[float, ...]]


def order_key(
    measures: Measures, mhz: tuple[int, ...], problem: PickProblem, widths_mhz: tuple[float, ...] = ()
) -> OrderKey:
    """The order of sets of one size: the smaller key is the better set.

    With signals "both": 1. the largest clearance, 2. the largest two-signal clearance, 3. the largest spacing,
    4. the smallest ascending list of MHz. With "two": the two-signal clearance, then the three-signal clearance,
    then 3 and 4. Clearances are counted up to the useful clearance; a clearance with nothing to measure is better
    than any number. With one or two carriers only 3 and 4 are left. Where the carriers' widths differ, of two sets
    with the same MHz the one comes first that has the narrower carrier at the lowest frequency at which they differ.
    Ranking two signals first follows the remark in ITU-R SM.1134-1 that products of more than two strong signals
    have a very low probability.

    >>> best = Measures(spacing_mhz=40, two_signal_clearance_mhz=50, three_signal_clearance_mhz=20)
    >>> order_key(best, (1, 2, 3, 4), PickProblem((1, 2, 3, 4), 4, 1))
    ((-20, -35, -40), (1, 2, 3, 4), ())
    """

    def counted(clearance_mhz: float | None) -> float:
        return problem.useful_mhz if clearance_mhz is None else min(clearance_mhz, problem.useful_mhz)

    two = counted(measures.two_signal_clearance_mhz)
    three = counted(measures.three_signal_clearance_mhz)
    spacing = measures.spacing_mhz or 0
    compared = (two, three, spacing) if problem.signals == "two" else (min(two, three), two, spacing)
    return tuple(-value for value in compared), mhz, widths_mhz
