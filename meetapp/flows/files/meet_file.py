"""A meet written as one JSON file."""

import json
import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any, TypeVar

from sqlmodel import Session, col, select

from meetapp.flows.files import meet_file_shape as shape
from meetapp.flows.files.meet_file_nameless import without_names
from meetapp.flows.files.meet_file_record import Record, Refs, number_rows, read_record
from meetapp.flows.files.meet_file_refs import OWN_LIST, POINTS, with_ids_changed
from meetapp.flows.files.meet_file_shape import MeetFile, Part
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

_CONTROL_SIGNS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_PLAN_LETTERS = re.compile(r"[A-Z]+")
P = TypeVar("P", bound=Part)


def export_meet(store: Store, meet_id: int, now: datetime, *, with_names: bool = True) -> MeetFile:
    """One meet as a file. Without names, people are numbered and what they wrote freely is left out."""
    with store.read() as session:
        record = read_record(session, find_meet(session, meet_id))
        refs = number_rows(session, record)
        site = session.get_one(t.Site, record.meet.site_id)
        kinds = _kinds(session, refs)
        club = session.get(t.Club, 1)  # a database into which a meet was read may have no named club yet
        file = MeetFile.model_construct(
            format=shape.FORMAT,
            version=shape.VERSION,
            club_name=_clean(club.name) if club else "",
            exported_at=now,
            has_names=True,
            meet=_part(shape.MeetPart, record.meet, refs),
            site=_site(session, site, refs),
            plans=_plans(session, kinds, record.settings, refs),
            kinds=kinds,
            pilots=_pilots(session, record, refs),
            tokens=_tokens(session, record, refs),
            loans=_loans(record, refs),
            line=[_part(shape.LinePart, row, refs) for row in record.line],
            sharing=[_part(shape.SharingPart, row, refs) for row in record.sharing],
            pass_offers=[_part(shape.PassOfferPart, row, refs) for row in record.offers],
            pauses=[_part(shape.PausePart, row, refs) for row in record.pauses],
            alarms=[_part(shape.AlarmPart, row, refs) for row in record.alarms],
            reports=[_part(shape.ReportPart, row, refs) for row in record.reports],
            heat_plans=[_part(shape.HeatPlanPart, row, refs) for row in record.heat_plans],
            heats=_heats(record, refs),
            journal=[
                _part(shape.JournalPart, row, refs, facts=with_ids_changed(row.facts, refs.of))
                for row in record.journal
            ],
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


def _part(part: type[P], row: Any, refs: Refs, **more: Any) -> P:
    """A part of the file: the row's columns of the same names, its ids as refs, and `more` in place of others."""
    values = more | {field: refs.of(rows, getattr(row, f"{field}_id")) for field, rows in POINTS.get(part, {}).items()}
    if part in OWN_LIST:
        values["ref"] = refs.of(OWN_LIST[part], row.id)
    same = {name: _clean(getattr(row, name)) for name in part.model_fields if name not in values}
    return part.model_construct(**same | values)


def _clean(value: Any) -> Any:
    return _CONTROL_SIGNS.sub(" ", value) if isinstance(value, str) else value


def _site(session: Session, site: t.Site, refs: Refs) -> shape.SitePart:
    rows = session.exec(select(t.Neighbour).where(t.Neighbour.site_id == site.id).order_by(col(t.Neighbour.id)))
    neighbours = [_part(shape.NeighbourPart, row, refs) for row in rows]
    band = _band(session, site.band_profile_id, refs)
    return _part(shape.SitePart, site, refs, band_profile=band, neighbours=neighbours)


def _band(session: Session, profile_id: int, refs: Refs) -> shape.BandPart:
    rows = select(t.BandSegment).where(t.BandSegment.profile_id == profile_id).order_by(col(t.BandSegment.id))
    segments = [_part(shape.SegmentPart, row, refs) for row in session.exec(rows)]
    return _part(shape.BandPart, session.get_one(t.BandProfile, profile_id), refs, segments=segments)


def _plans(
    session: Session, kinds: Sequence[shape.KindPart], settings: Sequence[t.LoanSetting], refs: Refs
) -> list[shape.PlanPart]:
    """The channel plans whose letters stand in a kind's channels or in a label that was set."""
    texts = [*(f"{kind.tuning} {kind.goggles}" for kind in kinds), *(row.label for row in settings)]
    letters = {letter for text in texts for letter in _PLAN_LETTERS.findall(text.upper())}
    return [
        _part(shape.PlanPart, plan, refs, channels=[_part(shape.PlanChannelPart, row, refs) for row in channels])
        for plan, channels in queries.channel_plans(session)
        if plan.letter in letters and channels
    ]


def _kinds(session: Session, refs: Refs) -> list[shape.KindPart]:
    rows = [session.get_one(t.TransmitterKind, kind_id) for kind_id in refs.ids("kinds")]
    return [
        _part(shape.KindPart, row, refs, power_steps_mw=[float(step) for step in row.power_steps_mw.split()])
        for row in rows
    ]


def _pilots(session: Session, record: Record, refs: Refs) -> list[shape.PilotPart]:
    came = {row.pilot_id: _part(shape.AttendancePart, row, refs) for row in record.attendances}
    transmitters: dict[int, list[shape.TransmitterPart]] = {}
    for own_id in refs.ids("transmitters"):
        own = session.get_one(t.PilotTransmitter, own_id)
        transmitters.setdefault(own.pilot_id, []).append(_part(shape.TransmitterPart, own, refs))
    return [
        _part(
            shape.PilotPart,
            pilot := session.get_one(t.Pilot, pilot_id),
            refs,
            band_profile=_band(session, pilot.band_profile_id, refs) if pilot.band_profile_id is not None else None,
            transmitters=transmitters.get(pilot_id, []),
            attendance=came.get(pilot_id),
        )
        for pilot_id in refs.ids("pilots")
    ]


def _tokens(session: Session, record: Record, refs: Refs) -> list[shape.TokenPart]:
    rows = [session.get_one(t.Token, token_id) for token_id in refs.ids("tokens")]
    return [_part(shape.TokenPart, row, refs, is_in_set=row.id in record.chosen) for row in rows]


def _loans(record: Record, refs: Refs) -> list[shape.LoanPart]:
    settings: dict[int, list[shape.SettingPart]] = {}
    for row in record.settings:
        settings.setdefault(row.loan_id, []).append(_part(shape.SettingPart, row, refs))
    return [_part(shape.LoanPart, row, refs, settings=settings.get(row.id, [])) for row in record.loans]


def _heats(record: Record, refs: Refs) -> list[shape.HeatPart]:
    seats: dict[int, list[shape.HeatSeatPart]] = {}
    for row in record.seats:
        seats.setdefault(row.heat_id, []).append(_part(shape.HeatSeatPart, row, refs))
    return [_part(shape.HeatPart, row, refs, seats=seats.get(row.id, [])) for row in record.heats]
