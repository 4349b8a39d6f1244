"""How many carriers a list of frequencies has room for, by spacing alone."""

from collections.abc import Sequence


def largest_count(pool_mhz: Sequence[int], spacing_mhz: int) -> int:
    """How many carriers of an ascending pool fit when every two are at least `spacing_mhz` apart.

    Taking the lowest frequency that still fits, again and again, is exact on a line: swap the lowest carrier
    of any best choice for the lowest of the pool and it is still a choice of the same size, since everything
    above it only gets further away; then the same holds for what is left above it.

    Cost: one pass over the pool.

    >>> largest_count((5658, 5695, 5732, 5769), 40)
    2
    """
    fitted = 0
    next_free: int | None = None
    for mhz in pool_mhz:
        if next_free is None or mhz >= next_free:
            fitted += 1
            next_free = mhz + spacing_mhz
    return fitted


def largest_spacing(pool_mhz: Sequence[int], count: int) -> int | None:
    """The widest spacing at which `count` carriers of an ascending pool fit, in MHz.

    None where there is no spacing to speak of: fewer than two carriers asked for, or more than the pool has.
    The answer is always the distance of two pool frequencies, and a spacing that fits lets every narrower one
    fit, so a binary search over those distances with `largest_count` is exact.

    Cost: the distances are sorted once; then a pass over the pool for each halving.

    >>> largest_spacing((5658, 5695, 5732, 5769), 3)
    37
    """
    if not 2 <= count <= len(pool_mhz):
        return None
    distances = sorted({high - low for index, low in enumerate(pool_mhz) for high in pool_mhz[index + 1 :]})
    fits, too_wide = 0, len(distances)
    while too_wide - fits > 1:
        middle = (fits + too_wide) // 2
        if largest_count(pool_mhz, distances[middle]) >= count:
            fits = middle
        else:
            too_wide = middle
    return distances[fits]
