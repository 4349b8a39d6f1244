"""A deed is one changing request: done once, journalled with its rows, answered the same when it is sent again."""

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlmodel import SQLModel

from meetapp.flows.errors import Conflict, MeetError, NotFound, Refused
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.changes import ChangeLog
from meetapp.store.engine import Store, is_worth_another_try
from meetapp.store.write_session import WriteSession


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does it: 'organiser', 'marshal', 'pilot' or 'bystander', with the name the journal shows."""

    role: str
    name: str
    session_id: int | None = None
    pilot_id: int | None = None

    @property
    def keeps_desk(self) -> bool:
        """Whether this person may act for others at the desk."""
        return self.role in ("organiser", "marshal")


@dataclass(frozen=True, slots=True)
class Deed:
    """One changing request. `key` is the form's operation key, `digest` a hash of what was sent with it."""

    key: str
    digest: str
    actor: Actor
    now: datetime


@dataclass(frozen=True, slots=True)
class Answer:
    """What the page says after a deed: where to go, one plain sentence, and the journal line that can be undone.

    `made_id` is the row that was made, where there is one.
    """

    location: str
    notice: str
    undo_id: int | None = None
    made_id: int | None = None
    facts: dict[str, Any] = field(default_factory=dict)


class Work:
    """The inside of one deed: its session, its time, its journal."""

    def __init__(self, session: WriteSession, deed: Deed) -> None:
        self.session = session
        self.actor = deed.actor
        self.now = deed.now
        self.changes = ChangeLog(session)

    def lock_meet(self, meet_id: int) -> t.Meet:
        """The meet's row, locked: whoever acts on this meet stands in one order from here on, in time as well."""
        meet = queries.locked_meet(self.session, meet_id)
        if meet is None:
            raise NotFound("This meet isn't there.", "Go back to the list of meets.")
        entry = queries.last_entry(self.session, meet_id)
        if entry is not None:
            self.act_after(entry[1])
        return meet

    def act_after(self, entered_at: datetime) -> None:
        """Do it at the instant after the meet's newest line was entered, if that is later than now.

        Another machine's clock may run ahead. That no two deeds share an instant makes times tell what came before
        what.
        """
        self.now = max(self.now, entered_at + datetime.resolution)

    def lock_open_meet(self, meet_id: int) -> t.Meet:
        """The same, refused unless the meet is open."""
        meet = self.lock_meet(meet_id)
        if meet.state != "open":
            raise not_open(meet.name)
        return meet

    def make(self, table: type[SQLModel], **values: Any) -> int:
        """Insert a row, for the next journal line too, and give its id."""
        return self.changes.make(table, **values)

    def change(self, table: type[SQLModel], row_id: int, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
        """Give a row other values, for the next journal line too. `before`: what it has under the same names."""
        self.changes.change(table, row_id, before, after)

    def note(
        self,
        kind: str,
        facts: dict[str, Any],
        *,
        meet_id: int | None = None,
        happened_at: datetime | None = None,
        is_undoable: bool = False,
        undoes_id: int | None = None,
    ) -> int:
        """Write one journal line with all row changes made since the last one, and give its id.

        `happened_at` is now unless given.
        """
        line_id: int = self.session.write_down(
            t.JournalLine,
            meet_id=meet_id,
            kind=kind,
            facts=facts,
            changes=self.changes.take() if is_undoable else self._drop_changes(),
            is_undoable=is_undoable,
            undoes_id=undoes_id,
            actor_role=self.actor.role,
            actor_name=self.actor.name,
            actor_session_id=self.actor.session_id,
            actor_pilot_id=self.actor.pilot_id,
            happened_at=happened_at or self.now,
            entered_at=self.now,
        )
        return line_id

    def _drop_changes(self) -> list[dict[str, Any]]:
        self.changes.take()
        return []


def not_open(meet_name: str) -> Refused:
    """The refusal for whoever acts on a meet that isn't open."""
    return Refused(f"The meet '{meet_name}' is not open.", "The organiser opens and closes meets.")


def do_once(store: Store, deed: Deed, work: Callable[[Work], Answer]) -> Answer:
    """Do the work of a deed in one transaction with its journal lines and its answer; a resend gets that answer.

    Work that only stood in another's way, or lost its connection, is done once more from the start.

    Raises:
        Conflict: the key was used for something else, or the database refused what another hand did first.
        MeetError: whatever `work` refuses; nothing is kept then.
    """
    try:
        return _do_in_one_transaction(store, deed, work)
    except DBAPIError as error:
        if not is_worth_another_try(error):
            raise
    try:
        return _do_in_one_transaction(store, deed, work)
    except DBAPIError as error:
        # A connection cut at the commit leaves open whether it was kept: only the same key sent again can tell.
        if Store.is_out_of_reach(error) or not is_worth_another_try(error):
            raise
        raise Conflict(
            "The database was busy for too long, so nothing was changed.", "Wait a moment and send it again."
        ) from error


def _do_in_one_transaction(store: Store, deed: Deed, work: Callable[[Work], Answer]) -> Answer:
    with store.write() as session:
        if (first := queries.operation(session, deed.key)) is not None:
            return _first_answer(first, deed)
        try:
            answer = work(Work(session, deed))
            session.write_down(t.Operation, key=deed.key, digest=deed.digest, answer=asdict(answer), made_at=deed.now)
            session.commit()
        except (IntegrityError, MeetError) as error:
            session.rollback()
            # Another worker may have done and answered the same key a moment ago (PostgreSQL only).
            if (first := queries.operation(session, deed.key)) is not None:
                return _first_answer(first, deed)
            if isinstance(error, MeetError):
                raise
            raise _conflict_from(error) from error
        return answer


def _first_answer(first: queries.FirstAnswer, deed: Deed) -> Answer:
    if first.digest != deed.digest:
        raise Conflict(
            "This form was already sent with other content.",
            "Nothing was changed this time. Load the page again and send it once more.",
        )
    return Answer(**first.answer)


_SENTENCES = {
    "uq_loan_open_token": "This token is already out.",
    "uq_loan_open_pilot": "This pilot already holds a token.",
    "uq_line_entry_standing": "This pilot already stands in the line.",
    "uq_meet_one_open": "Another meet is open.",
    "uq_token_code": "A token with this code exists already.",
    "uq_transmitter_kind_name": "A transmitter kind with this name exists already.",
    "uq_band_profile_name": "A band profile with this name exists already.",
    "uq_site_name": "A site with this name exists already.",
    "uq_channel_plan_letter": "A channel plan with this letter exists already.",
    "uq_sharing_token": "This token is already shared by two pilots.",
    "uq_sharing_partner": "This pilot already shares a token.",
    "uq_loan_setting_current": "Another setting was entered for this loan a moment ago.",
    "uq_alarm_running": "This alarm is on already.",
    "uq_pause_running": "The meet is paused already.",
    "uq_pass_offer_loan": "This token is already offered to somebody.",
    "uq_journal_line_undoes_id": "This was already undone.",
    "uq_heat_plan_current": "Other heats were made for this meet a moment ago.",
    "uq_heat_called": "Another heat is called.",
    "uq_heat_seat_pilot": "This pilot already has a seat in this heat.",
}
# SQLite names the columns of a broken unique rule, not the rule.
_SQLITE_COLUMNS = {
    "loan.token_id": "uq_loan_open_token",
    "loan.pilot_id": "uq_loan_open_pilot",
    "line_entry.pilot_id": "uq_line_entry_standing",
    "meet.state": "uq_meet_one_open",
    "token.code": "uq_token_code",
    "transmitter_kind.name": "uq_transmitter_kind_name",
    "band_profile.name": "uq_band_profile_name",
    "site.name": "uq_site_name",
    "channel_plan.letter": "uq_channel_plan_letter",
    "sharing.token_id": "uq_sharing_token",
    "sharing.partner_id": "uq_sharing_partner",
    "loan_setting.loan_id": "uq_loan_setting_current",
    "alarm.meet_id": "uq_alarm_running",
    "pause.meet_id": "uq_pause_running",
    "pass_offer.loan_id": "uq_pass_offer_loan",
    "journal_line.undoes_id": "uq_journal_line_undoes_id",
    "heat_plan.meet_id": "uq_heat_plan_current",
    "heat.meet_id": "uq_heat_called",
    "heat_seat.heat_id, heat_seat.pilot_id": "uq_heat_seat_pilot",
}


def _conflict_from(error: IntegrityError) -> Conflict:
    text = str(error.orig)
    for columns, name in _SQLITE_COLUMNS.items():
        if columns in text or name in text:
            return Conflict(_SENTENCES[name], "Look at the page again: somebody was a moment earlier.")
    raise error
