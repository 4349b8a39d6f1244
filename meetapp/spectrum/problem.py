"""The question put to the search: which carriers of this pool live best together."""

from dataclasses import dataclass
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

    Raises BadProblem with a sentence for a person.

    >>> PickProblem((5695, 5658, 5695), 2, 37).pool_mhz
    (5658, 5695)
    """

    pool_mhz: tuple[int, ...]
    count: int
    spacing_mhz: int
    signals: Signals = "both"
    useful_mhz: int = USEFUL_CLEARANCE_MHZ
    width_mhz: float = REFERENCE_WIDTH_MHZ

    def __post_init__(self) -> None:
        object.__setattr__(self, "pool_mhz", tuple(sorted(set(self.pool_mhz))))
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


OrderKey = tuple[tuple[float, ...], tuple[int, ...]]


def order_key(measures: Measures, mhz: tuple[int, ...], problem: PickProblem) -> OrderKey:
    """The order of sets of one size: the smaller key is the better set.

    With signals "both": 1. the largest clearance, 2. the largest two-signal clearance, 3. the largest spacing,
    4. the smallest ascending list of MHz. With "two": the two-signal clearance, then the three-signal clearance,
    then 3 and 4. Clearances are counted up to the useful clearance; a clearance with nothing to measure is better
    than any number. With one or two carriers only 3 and 4 are left. Ranking two signals first follows the remark
    in ITU-R SM.1134-1 that products of more than two strong signals have a very low probability.

    >>> best = Measures(spacing_mhz=40, two_signal_clearance_mhz=50, three_signal_clearance_mhz=20)
    >>> order_key(best, (1, 2, 3, 4), PickProblem((1, 2, 3, 4), 4, 1))
    ((-20, -35, -40), (1, 2, 3, 4))
    """

    def counted(clearance_mhz: float | None) -> float:
        return problem.useful_mhz if clearance_mhz is None else min(clearance_mhz, problem.useful_mhz)

    two = counted(measures.two_signal_clearance_mhz)
    three = counted(measures.three_signal_clearance_mhz)
    spacing = measures.spacing_mhz or 0
    compared = (two, three, spacing) if problem.signals == "two" else (min(two, three), two, spacing)
    return tuple(-value for value in compared), mhz
