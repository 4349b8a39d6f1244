"""Where a pilot's name stands beside the list of pilots, and what takes its place when it is deleted.

Journal lines name people by id. A name stands in what people typed freely (notes, reasons, names of ground
transmitters), in who did a step, in the sentences kept for resent forms, and in the nicknames of transmitters.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlmodel import Session, SQLModel, col, select

from meetapp.flows.readings import same_name
from meetapp.store import tables as t

FREE_TEXTS: tuple[tuple[type[SQLModel], tuple[str, ...]], ...] = (
    (t.Meet, ("lower_floors_reason",)),
    (t.Loan, ("holder_name", "override_reason")),
    (t.Pause, ("reason",)),
    (t.ClashReport, ("note",)),
    (t.PilotTransmitter, ("nickname",)),
)
"""What is typed freely about a meet and its people, table by table."""

_NAMES_A_THING = ("meet_", "desk_pin_made", "alarm_")
"""Beginnings of the meet's journal kinds whose fact `name` is no holder of a token."""

_SHORT = 3
"""A name shorter than this is found only as it is written: 'Al' isn't every 'al'."""


class Hiding:
    """Takes names out of texts, whole words only. `instead`: what stands for each name; `others`: names that stay."""

    def __init__(self, instead: Mapping[str, str], others: Iterable[str] = ()) -> None:
        self._instead = {same_name(name): words for name, words in instead.items()}
        # 'Ana B' stays whole where only 'Ana' goes: the longest name that fits is looked at first.
        every = {*instead, *(name for name in others if same_name(name) not in self._instead)}
        names = "|".join(_as_pattern(name) for name in sorted(every, key=len, reverse=True))
        self._found = re.compile(rf"(?<!\w)(?:{names})(?!\w)")

    def in_text(self, text: str) -> str:
        """The text with every name of the deleted replaced."""
        return self._found.sub(lambda name: self._instead.get(same_name(name[0]), name[0]), text)

    def in_value(self, value: Any) -> Any:
        """The same for texts anywhere inside a JSON value."""
        if isinstance(value, str):
            return self.in_text(value)
        if isinstance(value, list):
            return [self.in_value(each) for each in value]
        if isinstance(value, dict):
            return {name: self.in_value(each) for name, each in value.items()}
        return value

    def is_one(self, text: str) -> bool:
        """Whether a text is nothing but one of the names."""
        return same_name(text) in self._instead


def _as_pattern(name: str) -> str:
    return re.escape(name) if len(name) < _SHORT else f"(?i:{re.escape(name)})"


def hide(session: Session, pilots: Mapping[int, str], hiding: Hiding, now: datetime) -> None:
    """Take the names out of everything but the list of pilots. `pilots`: id to the words that stand for the name."""
    own = {row.id for row in session.exec(select(t.PilotTransmitter)) if row.pilot_id in pilots}
    _hide_free_texts(session, hiding, own)
    live = _hide_in_sessions(session, pilots, hiding, now)
    for line in session.exec(select(t.JournalLine)):
        line.facts = _facts_without(line, hiding)
        line.changes = [_change_without(change, hiding, own) for change in line.changes]
        if line.actor_session_id not in live:
            line.actor_name = _actor_without(line, pilots, hiding)
        session.add(line)
    for operation in session.exec(select(t.Operation)):
        operation.answer = {
            name: value if name == "location" else hiding.in_value(value) for name, value in operation.answer.items()
        }
        session.add(operation)
    session.flush()


def _hide_free_texts(session: Session, hiding: Hiding, own: set[int]) -> None:
    for table, names in FREE_TEXTS:
        for row in session.exec(select(table)):
            for name in names:
                is_own = isinstance(row, t.PilotTransmitter) and row.id in own
                setattr(row, name, "" if is_own else hiding.in_text(getattr(row, name)))
            session.add(row)


def _hide_in_sessions(session: Session, pilots: Mapping[int, str], hiding: Hiding, now: datetime) -> set[int]:
    """End the pilots' sessions. A marshal who is at the desk now under the same name keeps it; gives those sessions."""
    live: set[int] = set()
    for row in session.exec(select(t.DeskSession).where(col(t.DeskSession.role) != "organiser")):
        if row.pilot_id is not None and row.pilot_id in pilots:
            row.name, row.ended_at = pilots[row.pilot_id], row.ended_at or now
        elif hiding.is_one(row.name) and row.ended_at is None and row.expires_at > now:
            live.add(row.id)
        elif hiding.is_one(row.name):
            row.name = row.role
        session.add(row)
    return live


def _facts_without(line: t.JournalLine, hiding: Hiding) -> dict[str, Any]:
    is_holder = line.meet_id is not None and not line.kind.startswith(_NAMES_A_THING)
    free = ("reason", "name") if is_holder else ("reason",)
    return {name: hiding.in_value(value) if name in free else value for name, value in line.facts.items()}


def _change_without(change: dict[str, Any], hiding: Hiding, own: set[int]) -> dict[str, Any]:
    """A change without the name, so that undoing it can't bring the name back."""
    free = next((names for table, names in FREE_TEXTS if table.__tablename__ == change["table"]), ())
    is_own = change["table"] == t.PilotTransmitter.__tablename__ and change["id"] in own

    def without(values: Mapping[str, Any]) -> dict[str, Any]:
        return {
            name: value if name not in free else "" if is_own else hiding.in_value(value)
            for name, value in values.items()
        }

    return {**change, "before": without(change["before"]), "after": without(change["after"])}


def _actor_without(line: t.JournalLine, pilots: Mapping[int, str], hiding: Hiding) -> str:
    # Who added themself had no id yet when they acted: the line is about them.
    pilot_id = line.actor_pilot_id or (line.facts.get("pilot") if line.actor_role == "pilot" else None)
    if pilot_id in pilots and pilot_id is not None:
        return pilots[pilot_id]
    return line.actor_role if line.actor_role != "organiser" and hiding.is_one(line.actor_name) else line.actor_name
