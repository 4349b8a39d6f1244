"""The meet file of a simulated day, with a journal that agrees with its lists."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from meetapp.data.catalog import published_plans
from meetapp.flows.files import meet_file_shape as shape
from meetapp.simulate.day import BAND, HEAD_LIMIT, OPENED, PULL_MHZ, Loan, Pilot, Stay
from meetapp.simulate.kits import Kit
from meetapp.simulate.people import Told
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import name_of
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.handout import TokenIn

Line = tuple[datetime, datetime, str, dict[str, Any]]
"""Happened, entered, kind, facts."""

_LOOK_WORDS = {
    "lines": "lines or snow",
    "other_picture": "another picture",
    "gone": "gone",
    "colour": "colour or sync lost",
    "unsure": "unsure",
}
_INVENTED = "invented for a simulated meet"


@dataclass(frozen=True, slots=True)
class Record:
    """All that the record of a simulated meet says, before it is written as a file; loans and spare tags by number."""

    number: int
    kits: tuple[Kit, ...]
    neighbours: tuple[Neighbour, ...]
    tokens: tuple[TokenIn, ...]
    spares: Mapping[int, int]
    floors: Floors
    pilots: Mapping[int, Pilot]
    loans: Mapping[int, Loan]
    stays: tuple[Stay, ...]
    told: tuple[Told, ...]
    closed_at: datetime

    def width_of(self, loan: Loan) -> float:
        """The occupied width of a loan's transmitter in MHz."""
        return self.kits[self.pilots[loan.pilot_id].kit].width_mhz

    def at_once(self, start: datetime, end: datetime) -> Iterator[Loan]:
        """The loans that are out at some time between two."""
        return (loan for loan in self.loans.values() if loan.out_at < end and loan.in_at > start)


def meet_file_of(record: Record) -> shape.MeetFile:
    """The record as a closed meet; refs of pilots, transmitters and loans are their numbers."""
    loans = [record.loans[number] for number in sorted(record.loans)]
    lines = sorted(_lines(record, loans), key=lambda line: line[1])
    return shape.MeetFile(
        format="meetapp meet file",
        version=2,
        club_name="Simulated club",
        exported_at=record.closed_at,
        has_names=True,
        meet=_meet(record),
        site=_site(record),
        plans=[_plan(plan_) for plan_ in published_plans()],
        kinds=[_kind(number, kit) for number, kit in enumerate(record.kits, start=1)],
        pilots=[_pilot(pilot, record.closed_at) for pilot in record.pilots.values()],
        tokens=[
            *(_token(token.token_id, token.nominal_mhz, is_in_set=True) for token in record.tokens),
            *(_token(number, mhz, is_in_set=False) for number, mhz in sorted(record.spares.items())),
        ],
        loans=[_loan(record, loan) for loan in loans],
        line=[_stay(stay) for stay in record.stays],
        sharing=[],
        pass_offers=[],
        pauses=[],
        alarms=[],
        reports=[_report(ref, told) for ref, told in enumerate(record.told, start=1)],
        journal=[_journal_line(ref, line) for ref, line in enumerate(lines, start=1)],
    )


def _meet(record: Record) -> shape.MeetPart:
    return shape.MeetPart(
        name=f"Simulated meet {record.number}",
        on_date=OPENED.date(),
        state="closed",
        fly_at_once=len(record.tokens),
        pull_mhz=PULL_MHZ,
        head_limit_min=int(HEAD_LIMIT.total_seconds() // 60),
        power_ceiling_mw=None,
        spacing_floor_mhz=record.floors.spacing_mhz,
        clearance_floor_mhz=record.floors.clearance_mhz,
        lower_floors_reason="",
        signals="both",
        is_self_service=False,
        opened_at=OPENED,
        closed_at=record.closed_at,
    )


def _site(record: Record) -> shape.SitePart:
    segments = [shape.SegmentPart(low_mhz=each.low_mhz, high_mhz=each.high_mhz, power_mw=None) for each in BAND]
    near = [
        shape.NeighbourPart(
            label=each.label, centre_mhz=each.centre_mhz, width_mhz=float(each.width_mhz), wifi_channel=None
        )
        for each in record.neighbours
    ]
    band = shape.BandPart(name="Simulated band", condition="", source=_INVENTED, read_on=None, segments=segments)
    return shape.SitePart(name="Simulated field", time_zone="UTC", note="", band_profile=band, neighbours=near)


def _plan(plan: Any) -> shape.PlanPart:
    channels = [shape.PlanChannelPart(number=each.number, mhz=each.mhz) for each in plan.channels]
    return shape.PlanPart(letter=plan.letter, name=plan.name, source=plan.source, is_published=True, channels=channels)


def _kind(ref: int, kit: Kit) -> shape.KindPart:
    return shape.KindPart(
        ref=ref,
        name=f"Simulated kind {ref}: {kit.tuning}",
        is_digital=kit.is_digital,
        width_mhz=kit.width_mhz,
        width_source=_INVENTED,
        carson_modulating_mhz=None,
        carson_deviation_mhz=None,
        tuning=kit.tuning,
        goggles="",
        power_steps_mw=[25.0, 200.0],
        antenna_gain_dbi=None,
        goggles_transmit=False,
        moves_by_itself=kit.moves_by_itself,
        sets_silently=kit.sets_silently,
        setting_hint="",
    )


def _pilot(pilot: Pilot, left_at: datetime) -> shape.PilotPart:
    ref = pilot.pilot_id
    here = shape.AttendancePart(transmitter=ref, is_expected=True, checked_in_at=pilot.came_at, left_at=left_at)
    own = [shape.TransmitterPart(ref=ref, kind=pilot.kit + 1, nickname="")]
    name = f"Pilot {ref}"
    return shape.PilotPart(ref=ref, name=name, board_name=name, band_profile=None, transmitters=own, attendance=here)


def _token(ref: int, mhz: int, *, is_in_set: bool) -> shape.TokenPart:
    label = name_of(mhz, published_plans())
    return shape.TokenPart(ref=ref, code=f"T{ref}", label=label, nominal_mhz=mhz, is_in_set=is_in_set)


def _stay(stay: Stay) -> shape.LinePart:
    return shape.LinePart(
        pilot=stay.pilot_id,
        joined_at=stay.joined_at,
        head_since=stay.head_since,
        is_skipped=False,
        left_at=stay.left_at,
        was_served=stay.was_served,
        voided_at=None,
    )


def _loan(record: Record, loan: Loan) -> shape.LoanPart:
    setting = shape.SettingPart(
        transmitter=loan.pilot_id,
        label=loan.setting.label,
        mhz=loan.setting.mhz,
        width_mhz=record.width_of(loan),
        power_mw=record.pilots[loan.pilot_id].power_mw,
        wake_before_mhz=loan.wake_mhz,
        since_at=loan.out_at,
        until_at=loan.in_at,
        voided_at=None,
    )
    return shape.LoanPart(
        ref=loan.loan_id,
        token=loan.token_id,
        pilot=loan.pilot_id,
        holder_name="",
        out_at=loan.out_at,
        in_at=loan.in_at,
        entered_at=loan.out_at,
        ended_missing=False,
        override_reason=loan.override_reason,
        seen_at=None,
        voided_at=None,
        settings=[setting],
    )


def _report(ref: int, report: Told) -> shape.ReportPart:
    look: Any = report.look
    place: Any = report.place
    return shape.ReportPart(
        ref=ref,
        pilot=report.pilot_id,
        loan=report.loan_id,
        happened_at=report.happened_at,
        window_s=report.window_s,
        look=look,
        place=place,
        lasted_s=report.lasted_s,
        note="",
        entered_at=report.entered_at,
        voided_at=None,
    )


def _journal_line(ref: int, line: Line) -> shape.JournalPart:
    happened_at, entered_at, kind, facts = line
    role: Literal["organiser", "marshal"] = "organiser" if kind in ("meet_opened", "meet_closed") else "marshal"
    return shape.JournalPart(
        ref=ref,
        kind=kind,
        facts=facts,
        actor_role=role,
        actor_name="",
        actor_pilot=None,
        happened_at=happened_at,
        entered_at=entered_at,
        undoes=None,
    )


def _lines(record: Record, loans: Sequence[Loan]) -> Iterator[Line]:
    yield OPENED, OPENED, "meet_opened", {"name": "Simulated meet"}
    for pilot in record.pilots.values():
        yield pilot.came_at, pilot.came_at, "checked_in", {"pilot": pilot.pilot_id, "transmitter": pilot.pilot_id}
    for stay in record.stays:
        yield stay.joined_at, stay.joined_at, "line_joined", {"pilot": stay.pilot_id}
    for loan in loans:
        yield from _loan_lines(record, loan)
    for ref, told in enumerate(record.told, start=1):
        facts = {"pilot": told.pilot_id, "loan": told.loan_id, "report": ref, "look": _LOOK_WORDS[told.look]}
        yield told.happened_at, told.entered_at, "report_added", facts
    at_close = sum(loan.in_at == record.closed_at for loan in loans)
    yield record.closed_at, record.closed_at, "meet_closed", {"name": "Simulated meet", "count": at_close}


def _loan_lines(record: Record, loan: Loan) -> Iterator[Line]:
    who = {"loan": loan.loan_id, "token": loan.token_id, "pilot": loan.pilot_id}
    setting = {
        "transmitter": loan.pilot_id,
        "label": loan.setting.label,
        "mhz": loan.setting.mhz,
        "width_mhz": record.width_of(loan),
        "power_mw": record.pilots[loan.pilot_id].power_mw,
        "wake_mhz": loan.wake_mhz,
    }
    yield loan.out_at, loan.out_at, "handed_out", who | setting
    if loan.override_reason:
        yield loan.out_at, loan.out_at, "override", who | {"reason": loan.override_reason}
    yield loan.in_at, loan.in_at, "taken_back", who
