"""Sentences about heats: how they are called, when they come, and why a step can't be taken."""

from collections.abc import Sequence

from meetapp.flows.errors import Conflict, MeetError, NotFound, Refused
from meetapp.rules.heats import Heat, HeatList, HeatRefusal


def heat_name(heat: Heat) -> str:
    """How people call a heat.

    >>> heat_name(Heat(1, 2, 4, ()))
    'Round 2, heat 4'
    """
    return f"Round {heat.round}, heat {heat.number}"


def when_words(before: int) -> str:
    """When a heat comes that has so many others to come before it.

    >>> [when_words(before) for before in range(4)]
    ['next', 'after the next one', 'after the next 2 heats', 'after the next 3 heats']
    """
    match before:
        case 0:
            return "next"
        case 1:
            return "after the next one"
        case _:
            return f"after the next {before} heats"


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "token"), counted(3, "token")
    ('1 token', '3 tokens')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


def taken(step: HeatList | HeatRefusal) -> HeatList:
    """The heats after a step of the rules. Raises what they refuse."""
    if isinstance(step, HeatRefusal):
        raise refused_step(step)
    return step


def listed(names: Sequence[str]) -> str:
    """Names as one reads them out.

    >>> listed(["Ana"]), listed(["Ana", "Bo", "Cy"])
    ('Ana', 'Ana, Bo and Cy')
    """
    return " and ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)


def refused_step(refusal: HeatRefusal) -> MeetError:
    """What the rules of heats refuse, as a sentence that says what to do."""
    name = heat_name(refusal.heat) if refusal.heat else "This heat"
    match refusal.reason:
        case "heat_unknown":
            return NotFound("This heat isn't there.", "Look at the heats again: they may have been made anew.")
        case "another_called":
            return Conflict(f"{name} is called already.", "Look at it first: somebody was a moment earlier.")
        case "heat_not_planned" | "heat_not_called" | "heat_not_flown":
            return Conflict(f"{name} {_STATE_WORDS[refusal.heat.state] if refusal.heat else ''}.", "Look at it again.")
        case "heat_empty":
            return Refused(f"{name} has nobody left in it.", "Call the next one.")
        case "pilot_not_in_it":
            return Refused("This pilot has no seat there any more.", "Look at the heat again.")
        case "not_of_one_round":
            return Refused("Pilots can change places only between two heats of one round.", "Choose another heat.")
        case "pilot_fits_nowhere":
            return Refused(f"{name} has no room for one more.", "Swap two pilots, or choose another heat.")
        case "pilot_not_up":
            return Refused("This pilot has landed already.", "Look at the heats again.")
        case _:
            return Refused("This can't be done with the heats as they are.", "Look at the heats again.")


_STATE_WORDS = {
    "planned": "is not called yet",
    "called": "is called already",
    "flown": "is flown already",
    "voided": "was flown and doesn't count already",
}
