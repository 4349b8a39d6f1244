"""Texts that travel through a page and must come back as they were: packed, with a seal that only this server makes."""

import base64
import binascii
import hashlib
import hmac
import zlib

from meetapp.flows.errors import Conflict

_LARGEST_TEXT = 4_000_000


def sealed(secret: str, purpose: str, text: str) -> str:
    """The text as one word for a hidden field, good for this purpose only.

    >>> unsealed("secret", "heats", sealed("secret", "heats", "R1 to Ana"))
    'R1 to Ana'
    """
    packed = base64.urlsafe_b64encode(zlib.compress(text.encode())).decode()
    return f"{packed}.{_seal(secret, purpose, packed)}"


def unsealed(secret: str, purpose: str, word: str) -> str:
    """The text of a word that `sealed` made with this secret and purpose.

    Raises: Conflict where it was changed on the way, or was made before the server's secret was.
    """
    packed, _, seal = word.partition(".")
    if not hmac.compare_digest(_seal(secret, purpose, packed), seal):
        raise _too_old()
    try:
        unpacker = zlib.decompressobj()
        return unpacker.decompress(base64.urlsafe_b64decode(packed), _LARGEST_TEXT).decode()
    except (binascii.Error, zlib.error, UnicodeDecodeError) as error:
        raise _too_old() from error


def _seal(secret: str, purpose: str, packed: str) -> str:
    return hmac.new(secret.encode(), f"{purpose}:{packed}".encode(), hashlib.sha256).hexdigest()


def _too_old() -> Conflict:
    return Conflict("What this page carried can't be read any more.", "Nothing was changed: load the page again.")
