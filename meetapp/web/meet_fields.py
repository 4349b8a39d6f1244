"""Form fields of the pages around a meet: floors, lists of MHz."""

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from meetapp.web.forms import Blank
from meetapp.web.set_up_fields import Decimal

LISTED_MAX = 60
Floor = Annotated[Decimal, Field(ge=-200, le=300)]
OptionalFloor = Annotated[Floor | None, Blank]


def _listed(value: Any) -> Any:
    """Numbers from texts such as '5658, 5695 5760 MHz'."""
    words = re.split(r"[\s,;+]+", " ".join(value).lower().replace("mhz", " ").strip())
    if words == [""]:
        return ()
    if len(words) > LISTED_MAX:
        raise ValueError(f"That is too long: {LISTED_MAX} frequencies at most.")
    for word in words:
        if not re.fullmatch(r"[0-9]{4}", word):
            raise ValueError(f"'{word[:20]}' is no frequency: write MHz such as 5740, with spaces between them.")
    return tuple(int(word) for word in words)


MhzList = Annotated[tuple[int, ...], BeforeValidator(_listed)]
"""Frequencies in MHz from one text box."""
