"""What an organiser types, read once: names on one line, channels, pieces of band, power steps."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from math import isfinite

from meetapp.flows.errors import Refused
from meetapp.spectrum.bands import Segment, parse_segments
from meetapp.spectrum.channels import BadProblem, ChannelPlan, name_of
from meetapp.spectrum.tuning import Tuning, parse_tuning

POWER_STEPS_MAX = 12
POWER_MAX_MW = 10_000
_CONTROL_SIGNS = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_POWER = re.compile(r"(\d{1,6}(?:\.\d{1,3})?)(?:mw)?", re.IGNORECASE)


@contextmanager
def refusing(field: str | None = None) -> Iterator[None]:
    """Turn what the sums refuse into a refusal that names the form field (None: it is called what the sums call it)."""
    try:
        yield
    except BadProblem as problem:
        raise Refused(problem.reason, field=field or problem.field) from problem


def one_line(text: str) -> str:
    """The text on one line: control signs and runs of spaces become one space.

    >>> one_line("  Ana\\n van  der Berg ")
    'Ana van der Berg'
    """
    return " ".join(_CONTROL_SIGNS.sub(" ", text).split())


def same_name(text: str) -> str:
    """The form in which two names are compared: capitals and spaces don't matter."""
    return one_line(text).casefold()


def read_tuning(text: str, plans: Sequence[ChannelPlan], field: str) -> Tuning:
    """What a transmitter or its goggles can make, from words such as 'A B R3 5740 5650-5925/5'."""
    with refusing(field):
        return parse_tuning(text, plans)


def read_channel(text: str, plans: Sequence[ChannelPlan], field: str) -> int:
    """One channel as MHz, from its label ('R3') or its frequency ('5732', '5732 MHz').

    Raises:
        Refused: no channel, or more than one.
    """
    word = re.sub(r"\s*mhz$", "", one_line(text), flags=re.IGNORECASE)
    meant = sorted(read_tuning(word, plans, field).all_mhz())
    if len(meant) != 1:
        raise Refused(f"'{text.strip()}' is not one channel: write a label such as R3, or MHz.", field=field)
    return meant[0]


def read_wake(text: str, kind_name: str, tuning: Tuning, plans: Sequence[ChannelPlan], field: str) -> int | None:
    """The wake channel of a transmitter as MHz; empty, '?' or 'unknown' is None.

    Raises:
        Refused: no channel, or one that this kind can't make.
    """
    if same_name(text) in ("", "?", "unknown"):
        return None
    mhz = read_channel(text, plans, field)
    if mhz not in tuning.all_mhz():
        raise Refused(f"A transmitter of the kind '{kind_name}' can't wake on {name_of(mhz, plans)}.", field=field)
    return mhz


def read_segments(text: str, field: str) -> tuple[Segment, ...]:
    """Pieces of band with their edges in MHz, from '5725-5875 25 mW, 5650-5725'."""
    with refusing(field):
        return parse_segments(text)


def read_power_steps(text: str, field: str) -> tuple[float, ...]:
    """Power steps in mW, ascending and each once, from '25 200 600'.

    Raises:
        Refused: naming the word that is no power.
    """
    words = re.split(r"[\s,;]+", re.sub(r"\s+mw\b", "", text.strip(), flags=re.IGNORECASE))
    steps = sorted({_power(word, field) for word in words if word})
    if not steps:
        raise Refused("Give at least one power step in mW, such as 25.", field=field)
    if len(steps) > POWER_STEPS_MAX:
        raise Refused(f"{len(steps)} power steps are too many: give {POWER_STEPS_MAX} at most.", field=field)
    return tuple(steps)


def power_steps_text(steps: Sequence[float]) -> str:
    """Power steps as they are stored and typed: '25 200 600'."""
    return " ".join(f"{step:g}" for step in steps)


def _power(word: str, field: str) -> float:
    match = _POWER.fullmatch(word)
    power = float(match[1]) if match else 0.0
    if not (isfinite(power) and 0 < power <= POWER_MAX_MW):
        raise Refused(
            f"'{word}' is no power step: write numbers in mW above 0 and up to {POWER_MAX_MW}, such as 25 200 600.",
            field=field,
        )
    return power
