"""Codes for new tokens: short, read over a noisy field, typed with one thumb."""

import secrets
from collections.abc import Collection

CODE_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Letters and digits that can't be taken for one another: no 0 and O, no 1 and I."""

_LENGTH = 4


def new_code(taken: Collection[str]) -> str:
    """A code that no token has or had."""
    while True:
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(_LENGTH))
        if code not in taken:
            return code
