"""Codes for new tokens: short, read over a noisy field, typed with one thumb."""

import secrets
from collections.abc import Collection

CODE_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Letters and digits that can't be taken for one another: no 0 and O, no 1 and I."""

_LENGTH = 4


def new_code(taken: Collection[str]) -> str:
    """A code that reads like none that a token has or had."""
    taken_alike = {read_alike(code) for code in taken}
    while True:
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(_LENGTH))
        if read_alike(code) not in taken_alike:
            return code


_ALIKE = str.maketrans("0IL", "O11")


def read_alike(code: str) -> str:
    """The form in which two codes are the same to a person: 0 is O, I and L are 1, capitals are one.

    >>> read_alike("k0l") == read_alike("KO1")
    True
    """
    return code.strip().upper().translate(_ALIKE)
