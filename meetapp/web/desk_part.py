"""The part of the desk that changes by itself: drawn once for all marshals, with each one's own last deed put in."""

from collections import deque
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

from jinja2 import Environment
from markupsafe import Markup

from meetapp.flows.desk.desk import DeskView
from meetapp.flows.desk.live import alarms_word
from meetapp.flows.frame import Frame
from meetapp.flows.giving_way import in_pieces
from meetapp.web.gaps import Gaps, Sender, filled

MOST_KEPT = 4
"""How many drawn parts are kept: how the desk stands now, and how it stood before the last taps."""
MOST_ROWS = 500
"""Of how many pilots who aren't flying the row is kept: a tap changes one or two of them."""

Pieces = tuple[str, ...]


class DeskParts:
    """Draws desks from their views: nothing but the view and the frame enters what marshals share."""

    def __init__(self, templates: Environment) -> None:
        self._template = templates.get_template("desk/_live.html")
        self._last = templates.get_template("desk/_last.html")
        self._gaps = Gaps("token", "key", "stamp", "last")
        self._around = templates.get_template("desk/_around_row.html")
        self._around_row = lru_cache(maxsize=MOST_ROWS)(self._draw_around_row)
        self._kept: deque[tuple[DeskView, Frame, Pieces]] = deque(maxlen=MOST_KEPT)

    def part(self, view: DeskView, frame: Frame, token: str, new_key: Callable[[], str]) -> Markup:
        """The part for one browser: with its form token, and a new operation key in each form."""
        fillings = {
            "token": lambda: token,
            "key": new_key,
            "stamp": lambda: view.stamp,
            "last": lambda: self._last.render(view=view, viewer=Sender(token), new_key=new_key) if view.last else "",
        }
        return filled(self._shared(replace(view, stamp="", last=None), frame), fillings)

    def _shared(self, view: DeskView, frame: Frame) -> Pieces:
        for other, its_frame, pieces in tuple(self._kept):
            # What one reading gave compares quickly: its fields are the very same.
            if other == view and its_frame == frame:
                return pieces
        html = in_pieces(
            self._template.generate(
                view=view,
                frame=frame,
                alarms=frame.alarms,
                alarms_seen=alarms_word(frame.alarms),
                stamp=self._gaps.of("stamp"),
                last=self._gaps.of("last"),
                around_row=self._around_row,
                **self._gaps.names(),
            )
        )
        pieces = self._gaps.split(html)
        self._kept.appendleft((view, frame, pieces))
        return pieces

    def _draw_around_row(self, pilot_id: int, board_name: str, has_kit: bool, turns_on: str) -> Markup:
        names = {"pilot_id": pilot_id, "board_name": board_name, "has_kit": has_kit, "turns_on": turns_on}
        return Markup(self._around.render(names | self._gaps.names()))
