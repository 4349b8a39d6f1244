"""A meet written as one JSON file, and such a file read: its shape checked, every fault named by its place."""

import json
import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from sqlmodel import Session, col, select

from meetapp.flows import meet_file_shape as shape
from meetapp.flows.meet_file_facts import ids_in, with_ids_changed
from meetapp.flows.meet_file_nameless import without_names
from meetapp.flows.meet_file_shape import MeetFile, Part
from meetapp.flows.meet_rows import find_meet
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

_CONTROL_SIGNS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_PLAN_LETTERS = re.compile(r"[A-Z]+")
P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class _Record:
    """The rows of one meet, each list in the order of its ids."""

    meet: t.Meet
    attendances: Sequence[t.Attendance]
    chosen: frozenset[int]
    loans: Sequence[t.Loan]
    settings: Sequence[t.LoanSetting]
    line: Sequence[t.LineEntry]
    sharing: Sequence[t.Sharing]
    offers: Sequence[t.PassOffer]
    pauses: Sequence[t.Pause]
    alarms: Sequence[t.Alarm]
    reports: Sequence[t.ClashReport]
    journal: Sequence[t.JournalLine]


class _Refs:
    """The number of each row in the file: 1, 2, 3 ... in the order of the ids."""

    def __init__(self) -> None:
        self._numbers: dict[str, dict[int, int]] = {}

    def add(self, rows: str, ids: Iterable[int | None]) -> None:
        known = sorted({each for each in ids if each is not None})
        self._numbers[rows] = {row_id: number for number, row_id in enumerate(known, start=1)}

    def ids(self, rows: str) -> Collection[int]:
        return self._numbers[rows].keys()

    def of(self, rows: str, row_id: int) -> int:
        return self._numbers[rows][row_id]

    def maybe(self, rows: str, row_id: int | None) -> int | None:
        return None if row_id is None else self._numbers[rows].get(row_id)


def export_meet(store: Store, meet_id: int, now: datetime, *, with_names: bool = True) -> MeetFile:
    """One meet as a file. Without names, people are numbered and what they wrote freely is left out."""
    with store.read() as session:
        record = _read_record(session, find_meet(session, meet_id))
        refs = _number(session, record)
        site = session.get_one(t.Site, record.meet.site_id)
        kinds = _kinds(session, refs)
        file = MeetFile.model_construct(
            format=shape.FORMAT,
            version=shape.VERSION,
            club_name=_clean(session.get_one(t.Club, 1).name),
            exported_at=now,
            has_names=True,
            meet=_part(shape.MeetPart, record.meet),
            site=_site(session, site),
            plans=_plans(session, kinds, record.settings),
            kinds=kinds,
            pilots=_pilots(session, record, refs),
            tokens=_tokens(session, record, refs),
            loans=_loans(record, refs),
            line=[_part(shape.LinePart, row, pilot=refs.of("pilots", row.pilot_id)) for row in record.line],
            sharing=[_sharing(row, refs) for row in record.sharing],
            pass_offers=[_offer(row, refs) for row in record.offers],
            pauses=[_part(shape.PausePart, row) for row in record.pauses],
            alarms=[_part(shape.AlarmPart, row) for row in record.alarms],
            reports=[_report(row, refs) for row in record.reports],
            journal=[_line(row, refs) for row in record.journal],
        )
    return file if with_names else without_names(file)


def meet_file_text(file: MeetFile) -> str:
    """The file as JSON text, one row of each list on a line of its own."""
    fields = [f" {json.dumps(name)}: {_json(value)}" for name, value in file.model_dump(mode="json").items()]
    return "{\n" + ",\n".join(fields) + "\n}\n"


def _json(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n  " + ",\n  ".join(json.dumps(row, ensure_ascii=False) for row in value) + "\n ]"
    return json.dumps(value, ensure_ascii=False)


def _read_record(session: Session, meet: t.Meet) -> _Record:
    def rows(table: type[Any]) -> Sequence[Any]:
        return session.exec(select(table).where(table.meet_id == meet.id).order_by(table.id)).all()

    settings = select(t.LoanSetting).join(t.Loan, col(t.Loan.id) == t.LoanSetting.loan_id)
    return _Record(
        meet=meet,
        attendances=[row for row in rows(t.Attendance) if row.is_expected or row.checked_in_at is not None],
        chosen=frozenset(token.id for token in queries.meet_tokens(session, meet.id)),
        loans=rows(t.Loan),
        settings=session.exec(settings.where(t.Loan.meet_id == meet.id).order_by(col(t.LoanSetting.id))).all(),
        line=rows(t.LineEntry),
        sharing=rows(t.Sharing),
        offers=rows(t.PassOffer),
        pauses=rows(t.Pause),
        alarms=rows(t.Alarm),
        reports=rows(t.ClashReport),
        journal=rows(t.JournalLine),
    )


def _number(session: Session, record: _Record) -> _Refs:
    """Number every row that the meet names, and those that these name in turn."""

    def told(rows: str) -> list[int]:
        return [each for line in record.journal for each in ids_in(line.facts, rows)]

    refs = _Refs()
    refs.add("loans", [row.id for row in record.loans])
    refs.add("reports", [row.id for row in record.reports])
    refs.add("journal", [row.id for row in record.journal])
    with_token: list[Any] = [*record.loans, *record.sharing]
    refs.add("tokens", [*record.chosen, *told("tokens"), *(row.token_id for row in with_token)])
    with_transmitter: list[Any] = [*record.attendances, *record.settings]
    refs.add("transmitters", [*told("transmitters"), *(row.transmitter_id for row in with_transmitter)])
    owned = [session.get_one(t.PilotTransmitter, each) for each in refs.ids("transmitters")]
    refs.add("kinds", [*told("kinds"), *(own.kind_id for own in owned)])
    with_pilot: list[Any] = [*record.attendances, *record.loans, *record.line, *record.sharing, *record.reports, *owned]
    refs.add(
        "pilots",
        [
            *told("pilots"),
            *(row.pilot_id for row in with_pilot),
            *(row.partner_id for row in record.sharing),
            *(row.to_pilot_id for row in record.offers),
            *(row.actor_pilot_id for row in record.journal),
        ],
    )
    return refs


def _part(part: type[P], row: Any, **more: Any) -> P:
    """A part of the file with the row's columns of the same names, and `more` in place of others."""
    same = {name: _clean(getattr(row, name)) for name in part.model_fields if name not in more}
    return part.model_construct(**same | more)


def _clean(value: Any) -> Any:
    return _CONTROL_SIGNS.sub(" ", value) if isinstance(value, str) else value


def _site(session: Session, site: t.Site) -> shape.SitePart:
    neighbours = select(t.Neighbour).where(t.Neighbour.site_id == site.id).order_by(col(t.Neighbour.id))
    return _part(
        shape.SitePart,
        site,
        band_profile=_band(session, site.band_profile_id),
        neighbours=[_part(shape.NeighbourPart, row) for row in session.exec(neighbours)],
    )


def _band(session: Session, profile_id: int) -> shape.BandPart:
    segments = select(t.BandSegment).where(t.BandSegment.profile_id == profile_id).order_by(col(t.BandSegment.id))
    return _part(
        shape.BandPart,
        session.get_one(t.BandProfile, profile_id),
        segments=[_part(shape.SegmentPart, row) for row in session.exec(segments)],
    )


def _plans(
    session: Session, kinds: Sequence[shape.KindPart], settings: Sequence[t.LoanSetting]
) -> list[shape.PlanPart]:
    """The channel plans whose letters stand in a kind's channels or in a label that was set."""
    texts = [*(f"{kind.tuning} {kind.goggles}" for kind in kinds), *(row.label for row in settings)]
    letters = {letter for text in texts for letter in _PLAN_LETTERS.findall(text.upper())}
    return [
        _part(shape.PlanPart, plan, channels=[_part(shape.PlanChannelPart, row) for row in channels])
        for plan, channels in queries.channel_plans(session)
        if plan.letter in letters and channels
    ]


def _kinds(session: Session, refs: _Refs) -> list[shape.KindPart]:
    return [
        _part(
            shape.KindPart,
            row := session.get_one(t.TransmitterKind, kind_id),
            ref=refs.of("kinds", kind_id),
            power_steps_mw=[float(step) for step in row.power_steps_mw.split()],
        )
        for kind_id in refs.ids("kinds")
    ]


def _pilots(session: Session, record: _Record, refs: _Refs) -> list[shape.PilotPart]:
    came = {row.pilot_id: row for row in record.attendances}
    transmitters: dict[int, list[shape.TransmitterPart]] = {}
    for own_id in refs.ids("transmitters"):
        own = session.get_one(t.PilotTransmitter, own_id)
        part = _part(
            shape.TransmitterPart, own, ref=refs.of("transmitters", own_id), kind=refs.of("kinds", own.kind_id)
        )
        transmitters.setdefault(own.pilot_id, []).append(part)
    return [
        _part(
            shape.PilotPart,
            pilot := session.get_one(t.Pilot, pilot_id),
            ref=refs.of("pilots", pilot_id),
            band_profile=_band(session, pilot.band_profile_id) if pilot.band_profile_id is not None else None,
            transmitters=transmitters.get(pilot_id, []),
            attendance=_attendance(came[pilot_id], refs) if pilot_id in came else None,
        )
        for pilot_id in refs.ids("pilots")
    ]


def _attendance(row: t.Attendance, refs: _Refs) -> shape.AttendancePart:
    return _part(shape.AttendancePart, row, transmitter=refs.maybe("transmitters", row.transmitter_id))


def _tokens(session: Session, record: _Record, refs: _Refs) -> list[shape.TokenPart]:
    return [
        _part(
            shape.TokenPart,
            session.get_one(t.Token, token_id),
            ref=refs.of("tokens", token_id),
            is_in_set=token_id in record.chosen,
        )
        for token_id in refs.ids("tokens")
    ]


def _loans(record: _Record, refs: _Refs) -> list[shape.LoanPart]:
    settings: dict[int, list[shape.SettingPart]] = {}
    for row in record.settings:
        part = _part(shape.SettingPart, row, transmitter=refs.maybe("transmitters", row.transmitter_id))
        settings.setdefault(row.loan_id, []).append(part)
    return [
        _part(
            shape.LoanPart,
            row,
            ref=refs.of("loans", row.id),
            token=refs.maybe("tokens", row.token_id),
            pilot=refs.maybe("pilots", row.pilot_id),
            settings=settings.get(row.id, []),
        )
        for row in record.loans
    ]


def _sharing(row: t.Sharing, refs: _Refs) -> shape.SharingPart:
    return _part(
        shape.SharingPart,
        row,
        token=refs.of("tokens", row.token_id),
        pilot=refs.of("pilots", row.pilot_id),
        partner=refs.of("pilots", row.partner_id),
    )


def _offer(row: t.PassOffer, refs: _Refs) -> shape.PassOfferPart:
    return _part(
        shape.PassOfferPart,
        row,
        loan=refs.of("loans", row.loan_id),
        to_pilot=refs.of("pilots", row.to_pilot_id),
    )


def _report(row: t.ClashReport, refs: _Refs) -> shape.ReportPart:
    return _part(
        shape.ReportPart,
        row,
        ref=refs.of("reports", row.id),
        pilot=refs.maybe("pilots", row.pilot_id),
        loan=refs.maybe("loans", row.loan_id),
    )


def _line(row: t.JournalLine, refs: _Refs) -> shape.JournalPart:
    return _part(
        shape.JournalPart,
        row,
        ref=refs.of("journal", row.id),
        facts=with_ids_changed(row.facts, refs.maybe),
        actor_pilot=refs.maybe("pilots", row.actor_pilot_id),
        undoes=refs.maybe("journal", row.undoes_id),
    )
