"""Sets of small numbers as integers, bit f for the number f."""

from collections.abc import Iterator


def bits(mask: int) -> Iterator[int]:
    """The numbers of a set, ascending.

    >>> list(bits(0b1101))
    [0, 2, 3]
    """
    while mask:
        bit = mask & -mask
        yield bit.bit_length() - 1
        mask ^= bit


def turned(mask: int, top: int) -> int:
    """The set seen from its other end: f becomes top - f.

    >>> bin(turned(0b1101, 4))
    '0b10110'
    """
    return int(f"{mask:0{top + 1}b}"[::-1], 2)
