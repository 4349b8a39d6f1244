"""Planned heats as a text, so that a page can carry them from the look at them to their making."""

import json
from dataclasses import asdict, astuple

from meetapp.flows.errors import Conflict
from meetapp.flows.heats.day_plan import DayFigures, PlannedDay, Wanted
from meetapp.rules.heats import Heat, Seat


def as_text(day: PlannedDay) -> str:
    """The heats as a text that `from_text` reads back."""
    wanted = day.wanted
    heats = [[heat.heat_id, heat.round, heat.number, [astuple(seat) for seat in heat.seats]] for heat in day.heats]
    told = [[wanted.size, wanted.rounds, wanted.pads, sorted(wanted.pilot_ids)], day.basis, heats, asdict(day.figures)]
    return json.dumps(told, separators=(",", ":"))


def from_text(text: str) -> PlannedDay:
    """The heats of a text that this program has written.

    Raises: Conflict where another version of it wrote the text.
    """
    try:
        (size, rounds, pads, pilot_ids), basis, heats, figures = json.loads(text)
        return PlannedDay(
            Wanted(size, rounds, pads, frozenset(pilot_ids)),
            basis,
            tuple(
                Heat(heat_id, round_, number, tuple(Seat(*seat) for seat in seats))
                for heat_id, round_, number, seats in heats
            ),
            DayFigures(**{**figures, "grounded": tuple(figures["grounded"])}),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise Conflict("This page is from before the program changed.", "Look at the heats again.") from error
