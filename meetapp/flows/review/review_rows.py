"""A meet's record as frozen values with names: loans, reports, pauses, alarms. Undone rows never counted."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlmodel import Session, col, select

from meetapp.flows.desk.alarms import ALARM_NAMES
from meetapp.flows.desk.reports import LOOKS, PLACES, lasted_words, told_words
from meetapp.review.on_air import Aired
from meetapp.rules.waiting_line import Stretch, waited
from meetapp.store import field_queries as queries
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class ReviewSetting:
    """What a loan's transmitter was set to for a while; `until_at` None: still."""

    label: str
    mhz: int
    width_mhz: float
    power_mw: float | None
    since_at: datetime
    until_at: datetime | None

    @property
    def channel(self) -> str:
        """The name it has on the transmitter and its MHz, said once where they are the same."""
        return channel_text(self.label, self.mhz)

    @property
    def text(self) -> str:
        """The channel with the power, where one was told."""
        return self.channel if self.power_mw is None else f"{self.channel}, {self.power_mw:g} mW"


def channel_text(label: str, mhz: int) -> str:
    """A channel by its name and its MHz.

    >>> channel_text("R1", 5658), channel_text("5671 MHz", 5671)
    ('R1, 5658 MHz', '5671 MHz')
    """
    return label if label == f"{mhz} MHz" else f"{label}, {mhz} MHz"


@dataclass(frozen=True, slots=True)
class ReviewLoan:
    """One loan. `token_label` is empty for a ground transmitter without a token; `lasted` None: still out."""

    loan_id: int
    token_label: str
    token_code: str
    who: str
    pilot_id: int | None
    transmitter: str
    out_at: datetime
    in_at: datetime | None
    entered_at: datetime
    lasted: timedelta | None
    settings: tuple[ReviewSetting, ...]
    override_reason: str
    was_seen: bool
    ended_missing: bool


@dataclass(frozen=True, slots=True)
class ReviewReport:
    """One clash report; `loan_id` and `setting` are what the pilot had then (None: no token out to them)."""

    report_id: int
    happened_at: datetime
    entered_at: datetime
    window_s: int
    who: str
    look: str
    place: str
    lasted: str
    note: str
    loan_id: int | None
    setting: ReviewSetting | None

    @property
    def window_min(self) -> int:
        """How many minutes the time may be off."""
        return round(self.window_s / 60)

    @property
    def told(self) -> str:
        """What it looked like, where, and how long; what nobody was sure of is left out."""
        return told_words(self.look, self.place, self.lasted)


@dataclass(frozen=True, slots=True)
class ReviewSpan:
    """A pause or an alarm by its name; `ended_at` None: it runs still."""

    name: str
    started_at: datetime
    ended_at: datetime | None


@dataclass(frozen=True, slots=True)
class ReviewWait:
    """One stay in the line, the pauses taken out; `was_served`: it ended with a token."""

    waited: timedelta
    was_served: bool


@dataclass(frozen=True, slots=True)
class Names:
    """What ids stand for: pilots by board name, tokens, transmitters by kind."""

    pilots: Mapping[int, str]
    tokens: Mapping[int, tuple[str, str]]
    transmitters: Mapping[int, str]


def read_names(session: Session) -> Names:
    """The names of everybody and everything in the club, retired ones too."""
    kinds = select(t.PilotTransmitter.id, t.PilotTransmitter.nickname, t.TransmitterKind.name).join(
        t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id
    )
    return Names(
        dict(session.exec(select(t.Pilot.id, t.Pilot.board_name)).all()),
        {token.id: (token.label, token.code) for token in session.exec(select(t.Token))},
        {own: f"{nickname} ({kind})" if nickname else kind for own, nickname, kind in session.exec(kinds)},
    )


def read_loans(session: Session, meet_id: int, names: Names) -> tuple[ReviewLoan, ...]:
    """Every loan that counted, in the order they went out."""
    settings = _settings_by_loan(session, meet_id)
    return tuple(_loan(row, settings.get(row.id, []), names) for row in _counted(session, t.Loan, meet_id, "out_at"))


def _loan(row: t.Loan, settings: Sequence[t.LoanSetting], names: Names) -> ReviewLoan:
    label, code = names.tokens[row.token_id] if row.token_id is not None else ("", "")
    transmitters = [names.transmitters[each.transmitter_id] for each in settings if each.transmitter_id is not None]
    return ReviewLoan(
        loan_id=row.id,
        token_label=label,
        token_code=code,
        who=_who(row.pilot_id, row.holder_name, names),
        pilot_id=row.pilot_id,
        transmitter=", ".join(dict.fromkeys(transmitters)),
        out_at=row.out_at,
        in_at=row.in_at,
        entered_at=row.entered_at,
        lasted=row.in_at - row.out_at if row.in_at else None,
        settings=tuple(
            ReviewSetting(each.label, each.mhz, each.width_mhz, each.power_mw, each.since_at, each.until_at)
            for each in settings
        ),
        override_reason=row.override_reason,
        was_seen=row.seen_at is not None,
        ended_missing=row.ended_missing,
    )


def _who(pilot_id: int | None, otherwise: str, names: Names) -> str:
    return names.pilots[pilot_id] if pilot_id is not None else otherwise


def _settings_by_loan(session: Session, meet_id: int) -> dict[int, list[t.LoanSetting]]:
    found: dict[int, list[t.LoanSetting]] = {}
    rows = session.exec(
        select(t.LoanSetting)
        .join(t.Loan, col(t.Loan.id) == t.LoanSetting.loan_id)
        .where(t.Loan.meet_id == meet_id, col(t.LoanSetting.voided_at).is_(None))
        .order_by(col(t.LoanSetting.since_at), col(t.LoanSetting.id))
    )
    for row in rows:
        found.setdefault(row.loan_id, []).append(row)
    return found


def air_record(loans: Sequence[ReviewLoan]) -> tuple[Aired, ...]:
    """The settings of these loans as the review's sums see them."""
    return tuple(
        Aired(loan.loan_id, each.mhz, each.width_mhz, each.since_at, each.until_at)
        for loan in loans
        for each in loan.settings
    )


def read_reports(session: Session, meet_id: int, loans: Sequence[ReviewLoan], names: Names) -> tuple[ReviewReport, ...]:
    """Every clash report that counted, in the order of what happened."""
    by_id = {loan.loan_id: loan for loan in loans}
    return tuple(
        _report(row, by_id.get(row.loan_id or 0), names)
        for row in _counted(session, t.ClashReport, meet_id, "happened_at")
    )


def _report(row: t.ClashReport, loan: ReviewLoan | None, names: Names) -> ReviewReport:
    set_then = [each for each in loan.settings if each.since_at <= row.happened_at] if loan else []
    return ReviewReport(
        report_id=row.id,
        happened_at=row.happened_at,
        entered_at=row.entered_at,
        window_s=row.window_s,
        who=_who(row.pilot_id, "somebody", names),
        look=LOOKS[row.look],
        place=PLACES[row.place],
        lasted=lasted_words(row.lasted_s),
        note=row.note,
        loan_id=loan.loan_id if loan else None,
        setting=set_then[-1] if set_then else None,
    )


def read_pauses(session: Session, meet_id: int) -> tuple[ReviewSpan, ...]:
    """The pauses with their reasons."""
    return tuple(ReviewSpan(row.reason, row.started_at, row.ended_at) for row in queries.pauses(session, meet_id))


def read_alarms(session: Session, meet_id: int) -> tuple[ReviewSpan, ...]:
    """The alarms by their names."""
    rows = _counted(session, t.Alarm, meet_id, "started_at")
    return tuple(ReviewSpan(ALARM_NAMES[row.kind], row.started_at, row.ended_at) for row in rows)


def read_waits(session: Session, meet_id: int, pauses: Sequence[ReviewSpan]) -> tuple[ReviewWait, ...]:
    """Every stay in the line that has ended."""
    taken_out = [Stretch(pause.started_at, pause.ended_at) for pause in pauses]
    return tuple(
        ReviewWait(waited(row.joined_at, row.left_at, taken_out), row.was_served)
        for row in _counted(session, t.LineEntry, meet_id, "joined_at")
        if row.left_at is not None
    )


def _counted(session: Session, table: type[Any], meet_id: int, order: str) -> Iterator[Any]:
    rows = select(table).where(table.meet_id == meet_id, table.voided_at.is_(None))
    yield from session.exec(rows.order_by(getattr(table, order), table.id))
