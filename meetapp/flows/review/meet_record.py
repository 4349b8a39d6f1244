"""A meet file as the record that its reports are explained from."""

from datetime import datetime

from meetapp.flows.files.meet_file_shape import KindPart, LoanPart, MeetFile, SettingPart
from meetapp.review.evidence import Airing, Flier, Kind, MeetRecord, Reported, SetToken, Stay
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan
from meetapp.spectrum.tuning import parse_tuning

_MOST_CHANNELS = 60
_LEAST_ON_AIR_S = 1.0


def record_of(file: MeetFile) -> MeetRecord:
    """The record; ids are the file's refs, times seconds since 1970. What was undone is left out."""
    kinds = {kind.ref: _kind(kind, _plans(file)) for kind in file.kinds}
    kind_of = {own.ref: kinds.get(own.kind) for pilot in file.pilots for own in pilot.transmitters}
    end = _end(file)
    airings = [
        _airing(loan, setting, kind_of, end)
        for loan in file.loans
        if loan.voided_at is None
        for setting in loan.settings
        if setting.voided_at is None
    ]
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


def _kind(part: KindPart, plans: tuple[ChannelPlan, ...]) -> Kind:
    try:
        channels = sorted(parse_tuning(part.tuning, plans).all_mhz())
    except BadProblem:  # a file may name a plan that it doesn't hold; then nothing is known of its channels
        channels = []
    step = -(-len(channels) // _MOST_CHANNELS) or 1
    return Kind(
        part.ref, part.name, tuple(channels[::step]), part.is_digital, part.moves_by_itself, part.sets_silently
    )


def _end(file: MeetFile) -> float:
    moments = [each.entered_at for each in file.journal] + [each.entered_at for each in file.reports]
    moments += [each.out_at for each in file.loans] + [each.in_at for each in file.loans if each.in_at is not None]
    return _seconds(file.meet.closed_at or max(moments, default=file.exported_at))


def _airing(loan: LoanPart, setting: SettingPart, kind_of: dict[int, Kind | None], end: float) -> Airing:
    since = _seconds(setting.since_at)
    until_at = setting.until_at or loan.in_at
    until = _seconds(until_at) if until_at is not None else end
    return Airing(
        loan=loan.ref,
        token=loan.token,
        pilot=loan.pilot,
        mhz=setting.mhz,
        since_s=since,
        until_s=max(until, since + _LEAST_ON_AIR_S),
        width_mhz=setting.width_mhz,
        power_mw=setting.power_mw,
        wake_before_mhz=setting.wake_before_mhz,
        kind=kind_of.get(setting.transmitter) if setting.transmitter is not None else None,
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
