"""The journal of a meet in plain sentences, with names looked up from the ids that it keeps."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from sqlmodel import Session, col, select

from meetapp.flows.journal_sentences import SENTENCES
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep

_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")
_FACT = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One line: when it happened, when it was entered, who did it, and what, in a sentence with names.

    `is_undone`: a later line took it back; `undoes_id`: the line that this one took back.
    """

    line_id: int
    happened_at: datetime
    entered_at: datetime
    who: str
    role: str
    sentence: str
    is_undone: bool
    undoes_id: int | None
    kind: str


def lines(store: Store, meet_id: int) -> tuple[JournalEntry, ...]:
    """The journal of a meet, in order."""
    with store.read() as session:
        return lines_in(session, meet_id)


def lines_in(session: Session, meet_id: int) -> tuple[JournalEntry, ...]:
    """The same, inside a session that is open already."""
    rows = session.exec(
        select(t.JournalLine).where(t.JournalLine.meet_id == meet_id).order_by(col(t.JournalLine.id))
    ).all()
    names = Names(session)
    undone = {row.undoes_id for row in rows if row.undoes_id is not None}
    return tuple(_entry(row, names, row.id in undone) for row in rows)


def standing_entry(session: Session, line_id: int) -> JournalEntry:
    """One line that isn't undone, without reading the others."""
    return _entry(session.get_one(t.JournalLine, line_id), Names(session), is_undone=False)


def _entry(row: t.JournalLine, names: "Names", is_undone: bool) -> JournalEntry:
    return JournalEntry(
        line_id=row.id,
        happened_at=row.happened_at,
        entered_at=row.entered_at,
        who=row.actor_name,
        role=row.actor_role,
        sentence=sentence_of(row, names),
        is_undone=is_undone,
        undoes_id=row.undoes_id,
        kind=row.kind,
    )


class Names:
    """The names behind the ids of a journal, each kind of thing read once."""

    def __init__(self, session: Session) -> None:
        self._session = session

    @cached_property
    def pilots(self) -> dict[int, str]:
        """Board names."""
        return keep(self._session, "names of pilots", self._read_pilots, of=(t.Pilot,))

    @cached_property
    def tokens(self) -> dict[int, str]:
        """Labels on the tags."""
        return keep(self._session, "names of tokens", self._read_tokens, of=(t.Token,))

    @cached_property
    def kinds(self) -> dict[int, str]:
        """Kinds of transmitter."""
        return dict(self._session.exec(select(t.TransmitterKind.id, t.TransmitterKind.name)).all())

    @cached_property
    def transmitters(self) -> dict[int, str]:
        """Transmitters of pilots: the nickname, or the kind."""
        own = t.PilotTransmitter
        rows = self._session.exec(select(own.id, own.nickname, own.kind_id))
        return {own_id: nickname or self.kinds[kind_id] for own_id, nickname, kind_id in rows}

    @cached_property
    def sites(self) -> dict[int, str]:
        """Sites."""
        return dict(self._session.exec(select(t.Site.id, t.Site.name)).all())

    def _read_pilots(self) -> dict[int, str]:
        return dict(self._session.exec(select(t.Pilot.id, t.Pilot.board_name)).all())

    def _read_tokens(self) -> dict[int, str]:
        return dict(self._session.exec(select(t.Token.id, t.Token.label)).all())

    def line(self, line_id: int) -> str:
        """The sentence of another line."""
        row = self._session.get(t.JournalLine, line_id)
        return sentence_of(row, self) if row else ""


def sentence_of(line: t.JournalLine, names: Names) -> str:
    """What a line says. A kind that isn't known here (from another version) says its own name."""
    return filled(SENTENCES.get(line.kind, line.kind.replace("_", " ")), line.facts, names)


def filled(template: str, facts: Mapping[str, Any], names: Names) -> str:
    """A template with its facts in words; a part in square brackets goes where one of its facts is missing."""
    words = {name: _words(name, value, names) for name, value in facts.items()}
    for label, mhz in (("label", "mhz"), ("label_before", "mhz_before")):
        if words.get(label) == words.get(mhz):  # a channel without a name goes by its MHz: said once
            words[mhz] = ""

    def kept_part(part: re.Match[str]) -> str:
        return part[1] if all(words.get(fact) for fact in _FACT.findall(part[1])) else ""

    kept = _OPTIONAL.sub(kept_part, template)
    return _FACT.sub(lambda fact: words.get(fact[1]) or "?", kept)


def _words(name: str, value: Any, names: Names) -> str:
    if value is None:
        return ""
    known = {
        "pilot": "pilots",
        "other_pilot": "pilots",
        "token": "tokens",
        "kind_id": "kinds",
        "transmitter": "transmitters",
        "site": "sites",
    }
    if name in known:
        return str(getattr(names, known[name]).get(value, ""))
    if name == "line":
        return names.line(value)
    if isinstance(value, (list, tuple)):
        return "; ".join(str(each) for each in value)
    unit = next((unit for ending, unit in (("mhz", "MHz"), ("mw", "mW")) if ending in name.split("_")), "")
    figure = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{figure} {unit}".strip()


def newest_entry_of_open_meet(store: Store) -> datetime | None:
    """When the newest line of the open meet was entered (UTC); None where no meet is open or nothing happened yet."""
    lines = select(t.JournalLine.entered_at).join(t.Meet, col(t.Meet.id) == t.JournalLine.meet_id)
    with store.read() as session:
        newest = lines.where(t.Meet.state == "open").order_by(col(t.JournalLine.id).desc())
        return session.exec(newest.limit(1)).first()
