"""What the fields of a meet file may hold: times in UTC, frequencies in MHz, powers in mW, bounded texts."""

import re
from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import AfterValidator, AwareDatetime, Field, PlainSerializer, WithJsonSchema

from meetapp.spectrum.carriers import WIDEST_MHZ
from meetapp.spectrum.channels import HIGHEST_MHZ, LOWEST_MHZ

_FIRST_YEAR, _LAST_YEAR = 2000, 2199
_LONGEST_TEXT = 4000
_LARGEST_FACT = 2**53
NO_CONTROL_SIGNS = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$"
_WITHOUT_CONTROL_SIGNS = re.compile(NO_CONTROL_SIGNS)


def _in_utc(when: datetime) -> datetime:
    if not _FIRST_YEAR <= when.year <= _LAST_YEAR:
        raise ValueError(f"must lie in the years {_FIRST_YEAR} to {_LAST_YEAR}")
    return when.astimezone(UTC)


def _text_of(when: datetime) -> str:
    return when.astimezone(UTC).isoformat().replace("+00:00", "Z")


Utc = Annotated[
    AwareDatetime,
    AfterValidator(_in_utc),
    PlainSerializer(_text_of, return_type=str),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]
Ref = Annotated[int, Field(ge=1, le=1_000_000)]
Mhz = Annotated[int, Field(ge=LOWEST_MHZ, le=HIGHEST_MHZ)]
WidthMhz = Annotated[float, Field(gt=0, le=WIDEST_MHZ, multiple_of=0.5)]
PowerMw = Annotated[float, Field(gt=0, le=1_000_000)]
FloorMhz = Annotated[float, Field(ge=-1000, le=1000)]
HeatCount = Annotated[int, Field(ge=0, le=100_000)]
Name = Annotated[str, Field(min_length=1, max_length=200, pattern=NO_CONTROL_SIGNS)]
ShortText = Annotated[str, Field(max_length=200, pattern=NO_CONTROL_SIGNS)]
LongText = Annotated[str, Field(max_length=_LONGEST_TEXT, pattern=NO_CONTROL_SIGNS)]


def _plain(value: Any) -> Any:
    if not (all(map(_is_plain, value)) if isinstance(value, list) else _is_plain(value)):
        raise ValueError("must be a text, a number, true, false, null, or a list of these")
    return value


def _is_plain(value: Any) -> bool:
    if isinstance(value, str):
        return len(value) <= _LONGEST_TEXT and _WITHOUT_CONTROL_SIGNS.match(value) is not None
    if isinstance(value, bool) or value is None:
        return True
    return isinstance(value, int | float) and abs(value) < _LARGEST_FACT  # which no NaN and no infinity is


_PLAIN_SCHEMA: dict[str, Any] = {"type": ["string", "number", "boolean", "null"]}
Fact = Annotated[
    Any,
    AfterValidator(_plain),
    WithJsonSchema({"anyOf": [_PLAIN_SCHEMA, {"type": "array", "items": _PLAIN_SCHEMA}]}),
]
Facts = dict[Annotated[str, Field(max_length=40)], Fact]
