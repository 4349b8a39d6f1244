"""The desk of the test meet by names: 'hand R1 to Ana', without pages and without ids."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import count
from typing import Any

from sqlmodel import select

from meetapp.flows.deeds import Actor, Answer, Deed
from meetapp.flows.loans import line, loans, sharing, token_states, undo
from meetapp.flows.snapshot import OnAir, Snapshot, take_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import Clock, World

MO = Actor("marshal", "Mo", session_id=1)
LU = Actor("marshal", "Lu", session_id=2)
ORGANISER = Actor("organiser", "Organiser", session_id=3)
STRANGER = Actor("bystander", "somebody")
_KEYS = count(1)


@dataclass
class Desk:
    """One person at the desk (Mo unless said otherwise) with the flows that move tokens."""

    store: Store
    world: World
    clock: Clock = field(default_factory=Clock)
    actor: Actor = MO

    def acting(self, actor: Actor) -> "Desk":
        """The same desk with somebody else at it."""
        return replace(self, actor=actor)

    def as_pilot(self, name: str) -> "Desk":
        """The same meet from a pilot's own phone."""
        pilot_id = self.world.pilots[name]
        return self.acting(Actor("pilot", name, session_id=100 + pilot_id, pilot_id=pilot_id))

    def deed(self, key: str | None = None, digest: str = "same") -> Deed:
        """A changing request with a key of its own."""
        return Deed(key or f"key-{next(_KEYS)}", digest, self.actor, self.clock())

    def hand_out(self, who: str, label: str, **wish: Any) -> Answer:
        order = loans.HandOut(self.world.meet, self.world.pilots[who], self.world.tokens[label], **wish)
        return loans.hand_out(self.store, self.deed(), order)

    def lend_ground(self, name: str, mhz: int, **more: Any) -> Answer:
        order = loans.GroundLoan(self.world.meet, name, mhz, **{"width_mhz": 20, **more})
        return loans.lend_ground(self.store, self.deed(), order)

    def take_back(self, who: str) -> Answer:
        return loans.take_back(self.store, self.deed(), self.world.meet, self.loan_of(who).loan_id)

    def hand_over(self, who: str, to: str, **more: Any) -> Answer:
        order = loans.HandOver(self.world.meet, self.loan_of(who).loan_id, self.world.pilots[to], **more)
        return loans.hand_over(self.store, self.deed(), order)

    def change(self, who: str, **wish: Any) -> Answer:
        order = loans.ChangeSetting(self.world.meet, self.loan_of(who).loan_id, **wish)
        return loans.change_setting(self.store, self.deed(), order)

    def tick_seen(self, who: str) -> Answer:
        return loans.mark_seen(self.store, self.deed(), self.world.meet, self.loan_of(who).loan_id)

    def join(self, *names: str) -> Answer:
        """Each a second after the one before."""
        for name in names:
            answer = self._in_line(line.join_line, name)
            self.clock.forward(seconds=1)
        return answer

    def leave(self, name: str) -> Answer:
        return self._in_line(line.leave_line, name)

    def not_ready(self, name: str) -> Answer:
        return self._in_line(line.not_ready, name)

    def ready_again(self, name: str) -> Answer:
        return self._in_line(line.ready_again, name)

    def _in_line(self, step: Callable[[Store, Deed, int, int], Answer], name: str) -> Answer:
        return step(self.store, self.deed(), self.world.meet, self.world.pilots[name])

    def share(self, who: str, partner: str) -> Answer:
        loan_id, partner_id = self.loan_of(who).loan_id, self.world.pilots[partner]
        return sharing.share(self.store, self.deed(), self.world.meet, loan_id, partner_id)

    def swap(self, label: str, **more: Any) -> Answer:
        return sharing.swap_turns(self.store, self.deed(), self.world.meet, self.world.tokens[label], **more)

    def end_turns(self, label: str) -> Answer:
        return sharing.end(self.store, self.deed(), self.world.meet, self.world.tokens[label])

    def missing(self, label: str) -> Answer:
        return token_states.mark_missing(self.store, self.deed(), self.world.meet, self.world.tokens[label])

    def found(self, label: str) -> Answer:
        return token_states.mark_found(self.store, self.deed(), self.world.meet, self.world.tokens[label])

    def withdraw(self, label: str) -> Answer:
        return token_states.withdraw(self.store, self.deed(), self.world.meet, self.world.tokens[label])

    def undo(self, answer: Answer) -> Answer:
        assert answer.undo_id is not None
        return undo.undo(self.store, self.deed(), answer.undo_id)

    def snapshot(self) -> Snapshot:
        with self.store.read() as session:
            return take_snapshot(session, session.get_one(t.Meet, self.world.meet), self.clock())

    def loan_of(self, who: str) -> OnAir:
        """The open loan of somebody (or of a ground transmitter) by name."""
        return next(loan for loan in self.snapshot().on_air if loan.who == who)

    def on_air(self) -> dict[str, tuple[str, int]]:
        """Who is on air, with the tag and the MHz set."""
        return {loan.who: (loan.token_label, loan.mhz) for loan in self.snapshot().on_air}

    def in_line(self) -> list[str]:
        """Who stands in the line, in order; a star for those who are passed once."""
        names = {pilot_id: name for name, pilot_id in self.world.pilots.items()}
        return [names[stand.pilot_id] + ("*" if stand.is_skipped else "") for stand in self.snapshot().line]

    def kinds(self) -> list[str]:
        """The kinds of all journal lines, in order."""
        return [line.kind for line in self.rows(t.JournalLine)]

    def row(self, table: type[Any], row_id: int) -> Any:
        with self.store.read() as session:
            return session.get_one(table, row_id)

    def rows(self, table: type[Any], **values: Any) -> list[Any]:
        """The rows of a table with these values, in the order they were made."""
        with self.store.read() as session:
            return list(session.exec(select(table).filter_by(**values).order_by(table.id)))

    def set_meet(self, **values: Any) -> None:
        """Change the meet's own row."""
        self.set_row(t.Meet, self.world.meet, **values)

    def set_transmitter(self, who: str, **values: Any) -> None:
        """Change the transmitter of a pilot."""
        self.set_row(t.PilotTransmitter, self.world.transmitters[who], **values)

    def set_kind(self, name: str, **values: Any) -> None:
        """Change a kind of transmitter."""
        self.set_row(t.TransmitterKind, self.world.kinds[name], **values)

    def set_row(self, table: type[Any], row_id: int, **values: Any) -> None:
        with self.store.write() as session:
            row = session.get_one(table, row_id)
            for name, value in values.items():
                setattr(row, name, value)
            session.commit()

    def pause(self, start: datetime, end: datetime | None) -> None:
        with self.store.write() as session:
            session.add(t.Pause(meet_id=self.world.meet, reason="wind", started_at=start, ended_at=end))
            session.commit()
