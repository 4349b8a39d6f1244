"""A meet file as the record that its reports are explained from."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.files.meet_file_shape import KindPart, LoanPart, MeetFile, SettingPart
from meetapp.review.evidence import Airing, Flier, Kind, MeetRecord, Reported, SetToken, Stay, Suspicion
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.tuning import parse_tuning

_MOST_CHANNELS = 60
"""A range of more is thinned to so many; what a plan or a token names stays."""

_LEAST_ON_AIR_S = 1.0
_AFTER_MISSING_S = 900.0
_BEFORE_ALARM_S = 600.0
_LABEL = re.compile(r"([A-Z]{1,4})(\d{1,3})")


def record_of(file: MeetFile) -> MeetRecord:
    """The record; ids are the file's refs, times seconds since 1970. What was undone is left out."""
    plans = _plans(file)
    named = {channel.mhz for plan in plans for channel in plan.channels} | {token.nominal_mhz for token in file.tokens}
    tunings = {kind.ref: _channels(kind, plans) for kind in file.kinds}
    kinds = {kind.ref: _kind(kind, tunings[kind.ref], named) for kind in file.kinds}
    kind_of = {own.ref: kinds.get(own.kind) for pilot in file.pilots for own in pilot.transmitters}
    end = _end(file)
    slips = _Slips(plans, {own.ref: tunings.get(own.kind, ()) for pilot in file.pilots for own in pilot.transmitters})
    airings, last = [], dict[int, int]()
    for loan, setting in _settings(file):
        airings.append(_airing(loan, setting, kind_of, end, last, slips))
        if setting.transmitter is not None:
            last[setting.transmitter] = setting.mhz
    return MeetRecord(
        airings=tuple(sorted(airings, key=lambda each: (each.since_s, each.loan, each.until_s, each.mhz))),
        reports=_reports(file),
        neighbours=tuple(Neighbour(each.label, each.centre_mhz, each.width_mhz) for each in file.site.neighbours),
        stays=_stays(file),
        tokens=tuple(SetToken(each.ref, each.label, each.nominal_mhz) for each in file.tokens if each.is_in_set),
        fliers=tuple(
            Flier(
                pilot.ref,
                pilot.board_name,
                tuple(kind for own in pilot.transmitters if (kind := kind_of[own.ref]) is not None),
            )
            for pilot in file.pilots
        ),
        suspicions=_suspicions(file),
        pauses=tuple(
            (_seconds(pause.started_at), _seconds(pause.ended_at) if pause.ended_at is not None else end)
            for pause in file.pauses
            if pause.voided_at is None
        ),
        floors=(
            Floors(file.meet.spacing_floor_mhz, file.meet.clearance_floor_mhz)
            if file.meet.spacing_floor_mhz is not None
            else None
        ),
        allowed_mhz=tuple((each.low_mhz, each.high_mhz) for each in file.site.band_profile.segments),
        pull_mhz=file.meet.pull_mhz,
    )


def _plans(file: MeetFile) -> tuple[ChannelPlan, ...]:
    return tuple(
        ChannelPlan(
            plan.letter,
            plan.name,
            tuple(Channel(plan.letter, each.number, each.mhz) for each in plan.channels),
            plan.source,
        )
        for plan in file.plans
    )


def _channels(part: KindPart, plans: tuple[ChannelPlan, ...]) -> tuple[int, ...]:
    try:
        return tuple(sorted(parse_tuning(part.tuning, plans).all_mhz()))
    except BadProblem:  # a file may name a plan that it doesn't hold; then nothing is known of its channels
        return ()


def _kind(part: KindPart, channels: tuple[int, ...], named: set[int]) -> Kind:
    step = -(-len(channels) // _MOST_CHANNELS) or 1
    kept = tuple(mhz for number, mhz in enumerate(channels) if number % step == 0 or mhz in named)
    return Kind(part.ref, part.name, kept, part.is_digital, part.moves_by_itself, part.sets_silently)


@dataclass(frozen=True)
class _Slips:
    """What lies one slip away from a channel, by its label. `can`: each transmitter's channels, empty if not known."""

    plans: tuple[ChannelPlan, ...]
    can: Mapping[int, tuple[int, ...]]

    def of(self, setting: SettingPart) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """A step beside in the same plan; the same number in others."""
        if not (match := _LABEL.fullmatch(setting.label)):
            return (), ()
        letter, number = match[1], int(match[2])
        can = set(self.can.get(setting.transmitter, ())) if setting.transmitter is not None else set()
        beside, same = set(), set()
        for plan in self.plans:
            for channel in plan.channels:
                if can and channel.mhz not in can:
                    continue
                if plan.letter == letter and abs(channel.number - number) == 1:
                    beside.add(channel.mhz)
                elif plan.letter != letter and channel.number == number:
                    same.add(channel.mhz)
        return tuple(sorted(beside - {setting.mhz})), tuple(sorted(same - {setting.mhz}))


def _settings(file: MeetFile) -> list[tuple[LoanPart, SettingPart]]:
    """In the order they began, so that each transmitter's last channel is known."""
    found = [
        (loan, setting)
        for loan in file.loans
        if loan.voided_at is None
        for setting in loan.settings
        if setting.voided_at is None
    ]
    return sorted(found, key=lambda pair: (pair[1].since_at, pair[0].ref, pair[1].mhz))


def _suspicions(file: MeetFile) -> tuple[Suspicion, ...]:
    """Tags that stayed missing with their holders, and 'stray transmitter' where it was called."""
    missing = [
        Suspicion(_seconds(loan.in_at), _seconds(loan.in_at) + _AFTER_MISSING_S, loan.pilot, loan.settings[-1].mhz)
        for loan in file.loans
        if loan.ended_missing and loan.in_at is not None and loan.voided_at is None and loan.settings
    ]
    called = [
        Suspicion(_seconds(alarm.started_at) - _BEFORE_ALARM_S, _seconds(alarm.ended_at or alarm.started_at))
        for alarm in file.alarms
        if alarm.kind == "stray" and alarm.voided_at is None
    ]
    return (*missing, *called)


def _end(file: MeetFile) -> float:
    moments = [each.entered_at for each in file.journal] + [each.entered_at for each in file.reports]
    moments += [each.out_at for each in file.loans] + [each.in_at for each in file.loans if each.in_at is not None]
    return _seconds(file.meet.closed_at or max(moments, default=file.exported_at))


def _airing(
    loan: LoanPart,
    setting: SettingPart,
    kind_of: Mapping[int, Kind | None],
    end: float,
    last: Mapping[int, int],
    slips: _Slips,
) -> Airing:
    since = _seconds(setting.since_at)
    until_at = setting.until_at or loan.in_at
    until = _seconds(until_at) if until_at is not None else end
    beside, same = slips.of(setting)
    known = last.get(setting.transmitter) if setting.transmitter is not None else None
    return Airing(
        loan=loan.ref,
        token=loan.token,
        pilot=loan.pilot,
        mhz=setting.mhz,
        since_s=since,
        until_s=max(until, since + _LEAST_ON_AIR_S),
        width_mhz=setting.width_mhz,
        power_mw=setting.power_mw,
        wake_before_mhz=setting.wake_before_mhz if setting.wake_before_mhz is not None else known,
        kind=kind_of.get(setting.transmitter) if setting.transmitter is not None else None,
        step_beside_mhz=beside,
        same_number_mhz=same,
        is_override=bool(loan.override_reason.strip()),
    )


def _reports(file: MeetFile) -> tuple[Reported, ...]:
    loans = {loan.ref for loan in file.loans if loan.voided_at is None}
    return tuple(
        Reported(
            ref=each.ref,
            pilot=each.pilot,
            loan=each.loan if each.loan in loans else None,
            at_s=_seconds(each.happened_at),
            window_s=each.window_s,
            look=each.look,
            place=each.place,
            entered_s=_seconds(each.entered_at),
            lasted_s=each.lasted_s,
        )
        for each in file.reports
        if each.voided_at is None
    )


def _stays(file: MeetFile) -> tuple[Stay, ...]:
    return tuple(
        Stay(each.pilot, _seconds(each.joined_at), _seconds(each.left_at), each.was_served)
        for each in file.line
        if each.voided_at is None and each.left_at is not None
    )


def _seconds(when: datetime) -> float:
    return when.timestamp()
