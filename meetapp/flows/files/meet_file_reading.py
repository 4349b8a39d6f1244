"""Reads a meet file from text: every fault becomes a plain sentence that starts with its place in the file."""

from collections.abc import Iterable
from itertools import islice
from typing import Any

from pydantic import ValidationError
from pydantic_core import from_json

from meetapp.flows.errors import Refused
from meetapp.flows.files.meet_file_checks import faults
from meetapp.flows.files.meet_file_shape import FORMAT, READABLE, VERSION, MeetFile

PROBLEMS_SHOWN = 10


class BadMeetFile(Refused):
    """A text that is no meet file, or one that contradicts itself: what is wrong, each sentence with its place."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        more = len(self.problems) - 1
        first = self.problems[0] + (f" And {more} more." if more else "")
        super().__init__(first, "Nothing was changed.", field="file")


def read_meet_file(text: str) -> MeetFile:
    """The file as checked parts.

    Raises:
        BadMeetFile: with up to ten sentences.
    """
    try:
        file = MeetFile.model_validate_json(text)
    except ValidationError as error:
        _check_is_one(text)
        raise BadMeetFile(islice(_sentences(error), PROBLEMS_SHOWN)) from error
    problems = tuple(islice(faults(file), PROBLEMS_SHOWN))
    if problems:
        raise BadMeetFile(problems)
    return file


def _check_is_one(text: str) -> None:
    """Tell a file of another kind or version by its first fields, rather than complain about every missing field."""
    try:
        content = from_json(text)
    except ValueError as error:
        raise BadMeetFile([f"This is no JSON: {error}."]) from error
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise BadMeetFile([f"This is no meet file: its format must be '{FORMAT}'."])
    version = content.get("version")
    if version not in READABLE or isinstance(version, bool):
        told = version if isinstance(version, int | str) and len(str(version)) < 20 else "one it can't read"
        raise BadMeetFile([f"This meet file is of version {told}; this program reads up to {VERSION}."])


def _sentences(error: ValidationError) -> Iterable[str]:
    for item in error.errors(include_url=False, include_input=False):
        place = place_text(item["loc"]) or "the file"
        if item["type"] == "value_error":
            yield f"{place} {item['msg'].removeprefix('Value error, ')}."
        else:
            yield f"{place} {_WORDS.get(item['type'], 'is of a kind that does not belong there')}.".format(
                **item.get("ctx", {})
            )


def place_text(place: Iterable[Any]) -> str:
    """A place in the file as a path.

    >>> place_text(("loans", 3, "settings", 0, "mhz"))
    'loans[3].settings[0].mhz'
    """
    path = ""
    for step in place:
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else str(step)
    return path


_WHOLE, _NUMBER = "must be a whole number", "must be a number"
_TIME = "must be a time with its zone, such as 2026-06-14T12:30:00Z"
_WORDS = {
    "missing": "is missing",
    "extra_forbidden": f"is no part of a meet file of version {VERSION}",
    "int_type": _WHOLE,
    "int_from_float": _WHOLE,
    "int_parsing_size": "is too large a number",
    "float_type": _NUMBER,
    "finite_number": _NUMBER,
    "string_type": "must be a text",
    "bool_type": "must be true or false",
    "list_type": "must be a list",
    "dict_type": "must be an object",
    "model_type": "must be an object",
    "model_attributes_type": "must be an object",
    "literal_error": "must be {expected}",
    "greater_than": "must be more than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "multiple_of": "must go in steps of {multiple_of}",
    "string_too_short": "must not be empty",
    "string_too_long": "is too long: {max_length} characters at most",
    "string_pattern_mismatch": "has characters that don't belong there",
    "too_long": "has too many entries: {max_length} at most",
    "too_short": "has too few entries",
    "date_type": "must be a date such as 2026-06-14",
    "date_parsing": "must be a date such as 2026-06-14",
    "date_from_datetime_parsing": "must be a date such as 2026-06-14",
    "date_from_datetime_inexact": "must be a date without a time, such as 2026-06-14",
    "datetime_type": _TIME,
    "datetime_parsing": _TIME,
    "datetime_from_date_parsing": _TIME,
    "timezone_aware": _TIME,
}
