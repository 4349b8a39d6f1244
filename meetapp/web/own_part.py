"""The part of a pilot's own page that changes by itself: drawn once for all who see the same, dressed for a phone."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from jinja2 import Environment
from markupsafe import Markup

from meetapp.flows.desk.live import Look, alarms_word
from meetapp.flows.frame import Frame
from meetapp.flows.giving_way import deeds
from meetapp.flows.pilot.own_view import MyView
from meetapp.web.gaps import Gaps, filled

MOST_KEPT = 1000
"""How many drawn parts are kept, some kB each: what 300 pilots see in this minute and in the one before."""


@dataclass(frozen=True, slots=True)
class OwnPart:
    """One part without what belongs to a single phone. `word`: a digest of all that it says."""

    word: str
    _pieces: tuple[str, ...]

    def dressed(self, token: str, new_key: Callable[[], str]) -> Markup:
        """The HTML for one phone: with its form token, and a new operation key in each form."""
        return filled(self._pieces, {"token": lambda: token, "key": new_key, "word": lambda: self.word})


class OwnParts:
    """Draws own pages from their views. Who has the same view has the same part: nothing else enters the drawing."""

    def __init__(self, templates: Environment) -> None:
        self._template = templates.get_template("my/_live.html")
        self._gaps = Gaps("token", "key", "word")
        self._kept = lru_cache(maxsize=MOST_KEPT)(self._draw)

    def part(self, view: MyView, frame: Frame) -> OwnPart:
        """The part for a view. The name stands on the page, outside the part."""
        return self._kept(replace(view, board_name=""), frame)

    def all(self, look: Look) -> dict[int, OwnPart | None]:
        """The parts of all pilots of a look; None: retired."""
        views = deeds.between(look.own.items())
        return {pilot_id: self.part(view, look.frame) if view else None for pilot_id, view in views}

    def _draw(self, view: MyView, frame: Frame) -> OwnPart:
        html = self._template.render(
            view=view,
            frame=frame,
            seen=self._gaps.of("word"),
            alarms=frame.alarms,
            alarms_seen=alarms_word(frame.alarms),
            **self._gaps.names(),
        )
        pieces = self._gaps.split(html)
        return OwnPart(hashlib.blake2b("\0".join(pieces).encode(), digest_size=12).hexdigest(), pieces)
