"""Form fields of the pages around a meet: floors, lists of MHz."""

import re
from collections.abc import Iterable
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from meetapp.web.forms import Blank
from meetapp.web.set_up_fields import Decimal

LISTED_MAX = 60
Floor = Annotated[Decimal, Field(ge=-200, le=300)]
OptionalFloor = Annotated[Floor | None, Blank]


def _listed(value: Any) -> Any:
    """Numbers from texts such as '5658, 5695 5760 MHz'."""
    words = _words(" ".join(value))
    if len(words) > LISTED_MAX:
        raise ValueError(f"That is too long: {LISTED_MAX} frequencies at most.")
    return tuple(_mhz(word) for word in words)


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[\s,;+]+", text.lower().replace("mhz", " ")) if word]


def _mhz(word: str) -> int:
    if not re.fullmatch(r"[0-9]{4}", word):
        raise ValueError(f"'{word[:20]}' is no frequency: write MHz such as 5740, with spaces between them.")
    return int(word)


POOL_MAX = 400
"""So many frequencies may be typed as a pool: a raster of 1 MHz over the band, 276 from 5650 to 5925, and some."""

_RANGE = re.compile(r"([0-9]{4})[-–]([0-9]{4})(?:/([0-9]{1,3}))?")


def _listed_with_ranges(value: Any) -> Any:
    """Numbers from texts such as '5658, 5695 5740-5760/5'."""
    text = re.sub(r"\s*([-–/])\s*", r"\1", " ".join(value))
    listed = tuple(dict.fromkeys(mhz for word in _words(text) for mhz in _in_word(word)))
    if len(listed) > POOL_MAX:
        raise ValueError(f"That is too long: {POOL_MAX} frequencies at most.")
    return listed


def _in_word(word: str) -> Iterable[int]:
    found = _RANGE.fullmatch(word)
    if found is None:
        return (_mhz(word),)
    low, high, step = int(found[1]), int(found[2]), int(found[3] or 1)
    if low > high:
        raise ValueError(f"{word} runs backwards: write the lower end first.")
    if step < 1:
        raise ValueError(f"{word} has no step: the step is 1 MHz or more.")
    return range(low, high + 1, step)


MhzRanges = Annotated[tuple[int, ...], BeforeValidator(_listed_with_ranges)]
"""Frequencies in MHz and ranges of them from one text box, such as 5650-5925/1."""


MhzList = Annotated[tuple[int, ...], BeforeValidator(_listed)]
"""Frequencies in MHz from one text box."""
