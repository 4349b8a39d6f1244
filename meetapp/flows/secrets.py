"""Secrets that open a page: made at random, stored as a hash, compared by the hash."""

import hashlib
import secrets
import threading

from pwdlib import PasswordHash

_PASSWORDS = PasswordHash.recommended()
# Each hash takes 64 MB while it is worked out: many at once would starve a small machine.
_AT_ONCE = threading.BoundedSemaphore(2)
PIN_DIGITS = 6
PASSWORD_MIN = 12
"""OWASP ASVS 4.0.3, 2.1.1."""


def new_secret() -> str:
    """An unguessable word for a link or a cookie (128 bits, 22 characters)."""
    return secrets.token_urlsafe(16)


def new_pin() -> str:
    """A PIN of six digits for the marshals of one meet."""
    return "".join(secrets.choice("0123456789") for _ in range(PIN_DIGITS))


def secret_hash(secret: str) -> str:
    """The stored form of a link or cookie secret. Plain SHA-256 is enough: the secret itself is random."""
    return hashlib.sha256(secret.encode()).hexdigest()


def password_hash(password: str) -> str:
    """The stored form of a password or PIN (argon2id)."""
    with _AT_ONCE:
        return _PASSWORDS.hash(password)


def password_fits(password: str, stored: str) -> bool:
    """Whether a typed password or PIN is the stored one."""
    with _AT_ONCE:
        return _PASSWORDS.verify(password, stored)
