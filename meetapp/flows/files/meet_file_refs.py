"""What points at what in a meet file: refs of parts, and the facts of a journal line that are ids.

Ids become refs on the way out and ids again on the way in; this is the one place that says which fields they are.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from meetapp.flows.files import meet_file_shape as shape
from meetapp.flows.files.meet_file_shape import Part

OWN_LIST: dict[type[Part], str] = {
    shape.KindPart: "kinds",
    shape.TransmitterPart: "transmitters",
    shape.PilotPart: "pilots",
    shape.TokenPart: "tokens",
    shape.LoanPart: "loans",
    shape.ReportPart: "reports",
    shape.HeatPlanPart: "heat_plans",
    shape.HeatPart: "heats",
    shape.JournalPart: "journal",
}
"""The list in which the `ref` of such a part is a number of its own."""

POINTS: dict[type[Part], dict[str, str]] = {
    shape.TransmitterPart: {"kind": "kinds"},
    shape.AttendancePart: {"transmitter": "transmitters"},
    shape.SettingPart: {"transmitter": "transmitters"},
    shape.LoanPart: {"token": "tokens", "pilot": "pilots"},
    shape.LinePart: {"pilot": "pilots"},
    shape.SharingPart: {"token": "tokens", "pilot": "pilots", "partner": "pilots"},
    shape.PassOfferPart: {"loan": "loans", "to_pilot": "pilots"},
    shape.ReportPart: {"pilot": "pilots", "loan": "loans"},
    shape.HeatPart: {"plan": "heat_plans", "again_for": "heats"},
    shape.HeatSeatPart: {"pilot": "pilots", "transmitter": "transmitters", "token": "tokens"},
    shape.JournalPart: {"actor_pilot": "pilots", "undoes": "journal"},
}
"""Part by part, its fields that point into a list of the file. The column of the same row has `_id` behind the name."""

ROWS_BY_FACT = {
    "pilot": "pilots",
    "other_pilot": "pilots",
    "token": "tokens",
    "token_before": "tokens",
    "hanging": "tokens",
    "differing": "tokens",
    "loan": "loans",
    "loan_before": "loans",
    "transmitter": "transmitters",
    "kind_id": "kinds",
    "report": "reports",
    "line": "journal",
}
"""Fact by fact, the list of the file that its number (or each number of its list) points into."""

_LISTS = ("hanging", "differing")


def ids_by_rows(facts: Mapping[str, Any]) -> Iterator[tuple[str, int]]:
    """Every id that the facts name, each with the list of the file that it points into."""
    for name, value in facts.items():
        if (rows := ROWS_BY_FACT.get(name)) is not None:
            for each in _numbers(value):
                yield rows, each


def ids_in(facts: Mapping[str, Any], rows: str) -> Iterator[int]:
    """The ids of these rows that the facts name."""
    return (each for its_rows, each in ids_by_rows(facts) if its_rows == rows)


def with_ids_changed(facts: Mapping[str, Any], change: Callable[[str, int], int | None]) -> dict[str, Any]:
    """The same facts with every id changed by `change(rows, id)`."""
    return {name: _changed(ROWS_BY_FACT.get(name), value, change) for name, value in facts.items()}


def is_well_formed(name: str, value: Any) -> bool:
    """Whether a fact that should be an id is one, or nothing; the lists of a count hold ids only."""
    if name not in ROWS_BY_FACT:
        return True
    if name in _LISTS:
        return isinstance(value, list) and all(_is_id(each) for each in value)
    return value is None or _is_id(value)


def _numbers(value: Any) -> Iterable[int]:
    return [each for each in (value if isinstance(value, list) else [value]) if _is_id(each)]


def _is_id(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _changed(rows: str | None, value: Any, change: Callable[[str, int], int | None]) -> Any:
    if rows is None:
        return value
    if isinstance(value, list):
        return [_changed(rows, each, change) for each in value]
    return change(rows, value) if _is_id(value) else value
