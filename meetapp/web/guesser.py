"""One request's way to have a typed PIN or password looked at: where it comes from, and how often that may be."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv6Address, ip_address
from typing import Annotated, TypeVar

from fastapi import Depends, Request

from meetapp.flows.guessing import Guesses
from meetapp.web.deps import NowDep
from meetapp.web.state import state_of

T = TypeVar("T")


def source_of(request: Request) -> str:
    """Where a request comes from: its IPv4 address, or the first half of its IPv6 address (a phone has many of those).

    Behind a proxy everybody comes from the proxy; headers that a stranger can write are not believed.
    """
    host = request.client.host if request.client else ""
    try:
        address = ip_address(host.partition("%")[0])
    except ValueError:
        return host
    if not isinstance(address, IPv6Address):
        return str(address)
    return str(address.ipv4_mapped or IPv6Address(int(address) >> 64 << 64))


@dataclass(frozen=True, slots=True)
class Guesser:
    """One request's way to have a secret looked at."""

    guesses: Guesses
    source: str
    now: datetime

    def __call__(self, what: str, check: Callable[[], T]) -> T:
        """See `Guesses.attempt`."""
        return self.guesses.attempt(what, self.source, self.now, check)


async def get_guesser(request: Request, now: NowDep) -> Guesser:
    """The guesser of this request."""
    return Guesser(state_of(request).guesses, source_of(request), now)


GuesserDep = Annotated[Guesser, Depends(get_guesser)]
