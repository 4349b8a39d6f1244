"""Under which names the server answers: a page of another name that leads here (DNS rebinding) gets nothing.

Addresses change from field to field, so every plain address will do: no other site can stand under it. Names that only
a local network gives out will do as well; any other name has to be this machine's, or stand in the field address.
"""

import re
import socket
from collections.abc import Collection, Sequence
from ipaddress import ip_address
from urllib.parse import urlsplit

from sqlalchemy.exc import SQLAlchemyError

from meetapp.flows.club.own_links import field_address
from meetapp.store.engine import Store

# A name or an address, and a port where there is one (RFC 9110, 7.2); no user, no escapes.
_NAME = r"(?P<name>[a-z0-9]([a-z0-9_.-]{0,251}[a-z0-9])?\.?|\[[0-9a-f:.]{2,45}\])"
_HOST = re.compile(rf"{_NAME}(:[0-9]{{1,5}})?", re.IGNORECASE)
# Given out by no public registry: RFC 6762, RFC 8375, RFC 6761; 'internal' by ICANN (from memory), 'lan' by habit.
_LOCAL_ENDS = (".local", ".home.arpa", ".localhost", ".internal", ".lan")


def host_of(headers: Sequence[str]) -> str | None:
    """The name or address in the Host headers of a request, in small letters; None unless there is one and it is plain.

    >>> host_of(["Laptop.local:8022"]), host_of(["[fe80::1]:8022"]), host_of(["a@b"]), host_of(["a", "b"]), host_of([])
    ('laptop.local', 'fe80::1', None, None, None)
    """
    match = _HOST.fullmatch(headers[0]) if len(headers) == 1 else None
    return match["name"].lower().strip("[]").rstrip(".") if match else None


def own_names(*told: str) -> frozenset[str]:
    """The name of this machine, and those it was told at the start."""
    return frozenset(name.lower().rstrip(".") for name in (*told, socket.gethostname()))


def is_local(host: str, names: Collection[str]) -> bool:
    """Whether a host (see `host_of`) is an address, a local name, or one of these names.

    >>> is_local("10.0.0.5", ()), is_local("laptop", ()), is_local("meet.example", ())
    (True, True, False)
    """
    if "." not in host or host in names or host.endswith(_LOCAL_ENDS):
        return True
    try:
        ip_address(host)
    except ValueError:
        return False
    return True


def is_field_address(host: str, store: Store) -> bool:
    """Whether the field address is at this host. Where the database doesn't answer: yes, and the page says so."""
    try:
        return host == (urlsplit(field_address(store)).hostname or "").lower()
    except SQLAlchemyError:
        return True
