"""Gaps in a drawn part for what belongs to one browser: so that it is drawn once for all who see the same."""

import re
import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup


@dataclass(frozen=True, slots=True)
class Sender:
    """What a drawn form sees of whoever will send it."""

    csrf_token: str


class Gaps:
    """The gaps of one template, by name. 'token' and 'key' are those of its forms."""

    def __init__(self, *names: str) -> None:
        # Nobody can type what stands in for a browser's own secrets.
        self._mark = secrets.token_hex(16)
        self._found = re.compile(f"{self._mark}-({'|'.join(names)})-")

    def of(self, name: str) -> Markup:
        """What stands in the drawing where this is put in."""
        return Markup(f"{self._mark}-{name}-")

    def names(self) -> dict[str, object]:
        """What every template with forms is given."""
        return {"viewer": Sender(self.of("token")), "new_key": lambda: self.of("key")}

    def split(self, html: str) -> tuple[str, ...]:
        """The drawing between its gaps; every other piece names the gap that stands there."""
        return tuple(self._found.split(html))


def filled(pieces: Sequence[str], fillings: Mapping[str, Callable[[], str]]) -> Markup:
    """The HTML with every gap filled, each by a call of its own: no two forms have the same key."""
    return Markup("".join(fillings[each]() if at % 2 else each for at, each in enumerate(pieces)))
