"""The meet file of a simulated day, with a journal that agrees with its lists."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any, Literal

from meetapp.data.catalog import published_plans
from meetapp.flows.files import meet_file_shape as shape
from meetapp.simulate.day import BAND, HEAD_LIMIT, NEIGHBOUR, OPENED, PULL_MHZ, Day, Loan
from meetapp.simulate.mishaps import Mishaps
from meetapp.simulate.people import Report
from meetapp.simulate.plan import MeetPlan
from meetapp.spectrum.channels import name_of

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


def meet_file_of(plan: MeetPlan, day: Day, mishaps: Mishaps, reports: Sequence[Report]) -> shape.MeetFile:
    """The record of the day as a closed meet; refs of pilots, transmitters and loans are their numbers."""
    loans = [mishaps.loans[number] for number in sorted(mishaps.loans)]
    lines = sorted(_lines(day, loans, reports), key=lambda line: line[1])
    return shape.MeetFile(
        format="meetapp meet file",
        version=2,
        club_name="Simulated club",
        exported_at=day.closed_at,
        has_names=True,
        meet=_meet(plan, day),
        site=_site(),
        plans=[_plan(plan_) for plan_ in published_plans()],
        kinds=[_kind(number, words) for number, words in enumerate(plan.kit, start=1)],
        pilots=[_pilot(pilot.pilot_id, pilot.kit + 1, pilot.came_at, day.closed_at) for pilot in day.pilots],
        tokens=[
            *(_token(token.token_id, token.nominal_mhz, is_in_set=True) for token in day.tokens),
            *(_token(number, mhz, is_in_set=False) for number, mhz in sorted(mishaps.spares.items())),
        ],
        loans=[_loan(day, loan) for loan in loans],
        line=[
            shape.LinePart(
                pilot=stay.pilot_id,
                joined_at=stay.joined_at,
                head_since=stay.head_since,
                is_skipped=False,
                left_at=stay.left_at,
                was_served=stay.was_served,
                voided_at=None,
            )
            for stay in day.stays
        ],
        sharing=[],
        pass_offers=[],
        pauses=[],
        alarms=[],
        reports=[_report(ref, report) for ref, report in enumerate(reports, start=1)],
        journal=[_journal_line(ref, line) for ref, line in enumerate(lines, start=1)],
    )


def _meet(plan: MeetPlan, day: Day) -> shape.MeetPart:
    return shape.MeetPart(
        name=f"Simulated meet {plan.seed}",
        on_date=OPENED.date(),
        state="closed",
        fly_at_once=len(day.tokens),
        pull_mhz=PULL_MHZ,
        head_limit_min=int(HEAD_LIMIT.total_seconds() // 60),
        power_ceiling_mw=None,
        spacing_floor_mhz=day.floors.spacing_mhz,
        clearance_floor_mhz=day.floors.clearance_mhz,
        lower_floors_reason="",
        signals="both",
        is_self_service=False,
        opened_at=OPENED,
        closed_at=day.closed_at,
    )


def _site() -> shape.SitePart:
    segments = [shape.SegmentPart(low_mhz=each.low_mhz, high_mhz=each.high_mhz, power_mw=None) for each in BAND]
    near = shape.NeighbourPart(
        label=NEIGHBOUR.label, centre_mhz=NEIGHBOUR.centre_mhz, width_mhz=float(NEIGHBOUR.width_mhz), wifi_channel=157
    )
    band = shape.BandPart(name="Simulated band", condition="", source=_INVENTED, read_on=None, segments=segments)
    return shape.SitePart(name="Simulated field", time_zone="UTC", note="", band_profile=band, neighbours=[near])


def _plan(plan: Any) -> shape.PlanPart:
    channels = [shape.PlanChannelPart(number=each.number, mhz=each.mhz) for each in plan.channels]
    return shape.PlanPart(letter=plan.letter, name=plan.name, source=plan.source, is_published=True, channels=channels)


def _kind(ref: int, words: str) -> shape.KindPart:
    return shape.KindPart(
        ref=ref,
        name=f"Simulated kind {ref}: {words}",
        is_digital=False,
        width_mhz=20.0,
        width_source=_INVENTED,
        carson_modulating_mhz=None,
        carson_deviation_mhz=None,
        tuning=words,
        goggles="",
        power_steps_mw=[25.0, 200.0],
        antenna_gain_dbi=None,
        goggles_transmit=False,
        moves_by_itself=False,
        sets_silently=False,
        setting_hint="",
    )


def _pilot(ref: int, kind: int, came_at: datetime, left_at: datetime) -> shape.PilotPart:
    here = shape.AttendancePart(transmitter=ref, is_expected=True, checked_in_at=came_at, left_at=left_at)
    own = [shape.TransmitterPart(ref=ref, kind=kind, nickname="")]
    name = f"Pilot {ref}"
    return shape.PilotPart(ref=ref, name=name, board_name=name, band_profile=None, transmitters=own, attendance=here)


def _token(ref: int, mhz: int, *, is_in_set: bool) -> shape.TokenPart:
    label = name_of(mhz, published_plans())
    return shape.TokenPart(ref=ref, code=f"T{ref}", label=label, nominal_mhz=mhz, is_in_set=is_in_set)


def _power_of(day: Day, loan: Loan) -> float:
    return next(pilot.power_mw for pilot in day.pilots if pilot.pilot_id == loan.pilot_id)


def _loan(day: Day, loan: Loan) -> shape.LoanPart:
    setting = shape.SettingPart(
        transmitter=loan.pilot_id,
        label=loan.setting.label,
        mhz=loan.setting.mhz,
        width_mhz=20.0,
        power_mw=_power_of(day, loan),
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


def _report(ref: int, report: Report) -> shape.ReportPart:
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


def _lines(day: Day, loans: Sequence[Loan], reports: Sequence[Report]) -> Iterator[Line]:
    yield OPENED, OPENED, "meet_opened", {"name": "Simulated meet"}
    for pilot in day.pilots:
        yield pilot.came_at, pilot.came_at, "checked_in", {"pilot": pilot.pilot_id, "transmitter": pilot.pilot_id}
    for stay in day.stays:
        yield stay.joined_at, stay.joined_at, "line_joined", {"pilot": stay.pilot_id}
    for loan in loans:
        yield from _loan_lines(day, loan)
    for ref, report in enumerate(reports, start=1):
        facts = {"pilot": report.pilot_id, "loan": report.loan_id, "report": ref, "look": _LOOK_WORDS[report.look]}
        yield report.happened_at, report.entered_at, "report_added", facts
    at_close = sum(loan.in_at == day.closed_at for loan in loans)
    yield day.closed_at, day.closed_at, "meet_closed", {"name": "Simulated meet", "count": at_close}


def _loan_lines(day: Day, loan: Loan) -> Iterator[Line]:
    who = {"loan": loan.loan_id, "token": loan.token_id, "pilot": loan.pilot_id}
    setting = {
        "transmitter": loan.pilot_id,
        "label": loan.setting.label,
        "mhz": loan.setting.mhz,
        "width_mhz": 20.0,
        "power_mw": _power_of(day, loan),
        "wake_mhz": loan.wake_mhz,
    }
    yield loan.out_at, loan.out_at, "handed_out", who | setting
    if loan.override_reason:
        yield loan.out_at, loan.out_at, "override", who | {"reason": loan.override_reason}
    yield loan.in_at, loan.in_at, "taken_back", who
