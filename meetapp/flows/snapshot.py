"""The field as one frozen value: who is there with what, which tokens, who is on air, who waits.

Every live page and every decision starts from here, so that they can't disagree.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import bindparam
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from meetapp.flows.deeds import Work, not_open
from meetapp.flows.kits import KIT_TABLES, Kit, kits_of, plans_of
from meetapp.rules.loans import Field, Held
from meetapp.rules.waiting_line import Stand, Stretch
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour, blocked_by
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, ChannelPlan, name_of
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.tuning import Setting, setting_for
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class Person:
    """A pilot at the meet. `kit`: today's transmitter (None: not told yet). `segments`: their band profile's."""

    pilot_id: int
    name: str
    board_name: str
    is_present: bool
    is_retired: bool
    kit: Kit | None
    segments: tuple[Segment, ...]
    band_name: str = ""


@dataclass(frozen=True, slots=True)
class TokenNow:
    """A token of the meet. `state`: 'in', 'out', 'missing', 'withdrawn'; `blocked_by`: wide carriers that cover it."""

    token_id: int
    code: str
    label: str
    nominal_mhz: int
    state: str
    blocked_by: tuple[Carrier, ...] = ()


@dataclass(frozen=True, slots=True)
class OnAir:
    """An open loan with what is really set. `token_id` None: a ground transmitter without a token."""

    loan_id: int
    token_id: int | None
    token_label: str
    pilot_id: int | None
    who: str
    label: str
    mhz: int
    width_mhz: float
    power_mw: float | None
    transmitter_id: int | None
    out_at: datetime
    seen_at: datetime | None
    wake_before_mhz: int | None
    override_reason: str

    @property
    def carrier(self) -> Carrier:
        """What the sums see of it."""
        return Carrier(self.mhz, self.width_mhz)


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A meet at one moment. `line` is in order of arrival; `people` by pilot id; `version` changes with the journal."""

    meet_id: int
    meet_name: str
    state: str
    zone: ZoneInfo
    now: datetime
    version: int
    pull_mhz: int
    head_limit_min: int
    fly_at_once: int
    power_ceiling_mw: float | None
    is_self_service: bool
    floors: Floors
    lower_floors_reason: str
    neighbours: tuple[Neighbour, ...]
    site_segments: tuple[Segment, ...]
    plans: tuple[ChannelPlan, ...]
    tokens: tuple[TokenNow, ...]
    on_air: tuple[OnAir, ...]
    people: Mapping[int, Person]
    line: tuple[Stand, ...]
    pauses: tuple[Stretch, ...]
    sharing: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    """Token id to (holder, partner) for tokens used by turns."""

    @property
    def carriers(self) -> tuple[Carrier, ...]:
        """Everything on air, as the sums see it."""
        return tuple(loan.carrier for loan in self.on_air)

    def loan(self, loan_id: int) -> OnAir | None:
        """An open loan by its id."""
        return next((loan for loan in self.on_air if loan.loan_id == loan_id), None)

    def loan_of(self, pilot_id: int) -> OnAir | None:
        """The open loan of a pilot."""
        return next((loan for loan in self.on_air if loan.pilot_id == pilot_id), None)

    def loan_with(self, token_id: int) -> OnAir | None:
        """The open loan of a token."""
        return next((loan for loan in self.on_air if loan.token_id == token_id), None)

    def token(self, token_id: int) -> TokenNow | None:
        """A token of this meet by its id."""
        return next((token for token in self.tokens if token.token_id == token_id), None)

    def setting(self, person: Person, nominal_mhz: int, kit: Kit | None = None) -> Setting | None:
        """What this person would set for a token, on today's transmitter or on `kit`; None where it can't."""
        kit = kit or person.kit
        if kit is None:
            return None
        return setting_for(
            nominal_mhz,
            self.pull_mhz,
            kit.tuning,
            kit.goggles,
            self.plans,
            segments=person.segments or None,
            width_mhz=kit.width_mhz,
        )

    def name_of(self, mhz: int) -> str:
        """The channel name of a frequency in the club's plans, or its MHz."""
        return name_of(mhz, self.plans)

    def rules_field(self) -> Field:
        """The same as the loan rules see it."""
        states = {token.token_id: "usable" if token.state in ("in", "out") else token.state for token in self.tokens}
        present = frozenset(pilot_id for pilot_id, person in self.people.items() if person.is_present)
        held = tuple(Held(loan.loan_id, loan.token_id, loan.pilot_id, loan.out_at) for loan in self.on_air)
        return Field(states, present, held)


_BEFORE_ALL = datetime.min.replace(tzinfo=UTC)


def take_snapshot(session: Session, meet: t.Meet, now: datetime) -> Snapshot:
    """Read a whole meet as it stands, in one transaction; or take what was read since the last change."""
    snapshot = keep(session, ("snapshot", meet.id), lambda: _read_snapshot(session, meet))
    return replace(snapshot, now=max(now, snapshot.now))


def locked_snapshot(work: Work, meet_id: int) -> Snapshot:
    """The open meet as it stands behind its lock: whoever acts on it stands in one order from here on, in time as well.

    Where it is kept there is but one lock, and whoever writes holds it already (see `keep`): no row is asked for.

    Raises:
        NotFound, Refused: as `Work.lock_open_meet`.
    """
    session = work.session
    snapshot = keep(session, ("snapshot", meet_id), lambda: _read_snapshot(session, work.lock_open_meet(meet_id)))
    if snapshot.state != "open":
        raise not_open(snapshot.meet_name)
    work.act_after(snapshot.now)
    return replace(snapshot, now=work.now)


def _read_snapshot(session: Session, meet: t.Meet) -> Snapshot:
    """What a tap doesn't touch is kept from the page before (see `keep`), so that little is read after each."""
    version, entered_at = queries.last_entry(session, meet.id) or (0, _BEFORE_ALL)
    site = keep(session, ("site", meet.site_id), lambda: _read_site(session, meet.site_id), of=_SITE_TABLES)
    plans = plans_of(session)
    people = keep(
        session,
        ("people", meet.id),
        lambda: _people(session, meet, plans, site.band_profile_id),
        of=(t.Attendance, t.Pilot, *KIT_TABLES, *_BAND_TABLES),
    )
    tokens = keep(
        session, ("tokens", meet.id), lambda: _read_tokens(session, meet), of=(t.Token, t.MeetToken)
    )
    on_air = _on_air(session, meet, people, {token.token_id: token.label for token in tokens})
    floors = Floors(meet.spacing_floor_mhz or 0, meet.clearance_floor_mhz)
    return Snapshot(
        meet_id=meet.id,
        meet_name=meet.name,
        state=meet.state,
        zone=site.zone,
        now=entered_at,  # no page shows an earlier moment
        version=version,
        pull_mhz=meet.pull_mhz,
        head_limit_min=meet.head_limit_min,
        fly_at_once=meet.fly_at_once,
        power_ceiling_mw=meet.power_ceiling_mw,
        is_self_service=meet.is_self_service,
        floors=floors,
        lower_floors_reason=meet.lower_floors_reason,
        neighbours=site.neighbours,
        site_segments=site.segments,
        plans=plans,
        tokens=_tokens(tokens, on_air, floors),
        on_air=on_air,
        people=people,
        line=keep(session, ("line", meet.id), lambda: _line(session, meet), of=(t.LineEntry,)),
        pauses=keep(session, ("pauses", meet.id), lambda: _pauses(session, meet), of=(t.Pause,)),
        sharing=keep(session, ("sharing", meet.id), lambda: _sharing(session, meet), of=(t.Sharing,)),
    )


_BAND_TABLES = (t.BandProfile, t.BandSegment)
_SITE_TABLES = (t.Site, t.Neighbour, *_BAND_TABLES)


@dataclass(frozen=True, slots=True)
class _Ground:
    """A site as a snapshot needs it."""

    zone: ZoneInfo
    band_profile_id: int
    segments: tuple[Segment, ...]
    neighbours: tuple[Neighbour, ...]


def _read_site(session: Session, site_id: int) -> _Ground:
    site = session.get_one(t.Site, site_id)
    return _Ground(
        ZoneInfo(site.time_zone),
        site.band_profile_id,
        segments_of(session, site.band_profile_id),
        neighbours_of(session, site_id),
    )


def _pauses(session: Session, meet: t.Meet) -> tuple[Stretch, ...]:
    return tuple(Stretch(row.started_at, row.ended_at) for row in queries.pauses(session, meet.id))


def segments_of(session: Session, profile_id: int) -> tuple[Segment, ...]:
    """The stretches of a band profile, from the lowest up."""
    rows = select(t.BandSegment).where(t.BandSegment.profile_id == profile_id)
    return tuple(
        Segment(row.low_mhz, row.high_mhz, row.power_mw)
        for row in session.exec(rows.order_by(col(t.BandSegment.low_mhz)))
    )


def neighbours_of(session: Session, site_id: int) -> tuple[Neighbour, ...]:
    """The known foreign signals beside a site."""
    rows = select(t.Neighbour).where(t.Neighbour.site_id == site_id).order_by(col(t.Neighbour.centre_mhz))
    return tuple(Neighbour(row.label, row.centre_mhz, row.width_mhz) for row in session.exec(rows))


_WHO_CAME = (
    columns(
        col(t.Pilot.id),
        col(t.Pilot.name),
        col(t.Pilot.board_name),
        col(t.Pilot.band_profile_id),
        col(t.Pilot.retired_at),
        col(t.Attendance.transmitter_id),
        col(t.Attendance.checked_in_at),
        col(t.Attendance.left_at),
    )
    .join(t.Attendance, col(t.Attendance.pilot_id) == t.Pilot.id)
    .where(col(t.Attendance.meet_id) == bindparam("meet_id"))
    .order_by(col(t.Pilot.board_name), col(t.Pilot.id))
)


def _people(
    session: Session, meet: t.Meet, plans: tuple[ChannelPlan, ...], site_profile_id: int
) -> dict[int, Person]:
    rows = session.execute(_WHO_CAME, {"meet_id": meet.id}).all()
    profile_ids = frozenset({site_profile_id, *(row.band_profile_id or 0 for row in rows)})
    bands = keep(session, ("bands", profile_ids), lambda: _bands(session, profile_ids), of=_BAND_TABLES)
    kits = kits_of(session, [row.id for row in rows], plans)
    people = {}
    for row in rows:
        band_name, segments = bands[row.band_profile_id or site_profile_id]
        people[row.id] = Person(
            pilot_id=row.id,
            name=row.name,
            board_name=row.board_name,
            is_present=row.checked_in_at is not None and row.left_at is None,
            is_retired=row.retired_at is not None,
            kit=next((kit for kit in kits.get(row.id, ()) if kit.transmitter_id == row.transmitter_id), None),
            segments=segments,
            band_name=band_name,
        )
    return people


def _bands(session: Session, profile_ids: Collection[int]) -> dict[int, tuple[str, tuple[Segment, ...]]]:
    profiles = session.exec(select(t.BandProfile).where(col(t.BandProfile.id).in_(profile_ids)))
    return {profile.id: (profile.name, segments_of(session, profile.id)) for profile in profiles}


_OUT_NOW = (
    columns(
        col(t.Loan.id),
        col(t.Loan.token_id),
        col(t.Loan.pilot_id),
        col(t.Loan.holder_name),
        col(t.Loan.out_at),
        col(t.Loan.seen_at),
        col(t.Loan.override_reason),
        col(t.LoanSetting.label),
        col(t.LoanSetting.mhz),
        col(t.LoanSetting.width_mhz),
        col(t.LoanSetting.power_mw),
        col(t.LoanSetting.transmitter_id),
        col(t.LoanSetting.wake_before_mhz),
    )
    .join(t.LoanSetting, col(t.LoanSetting.loan_id) == t.Loan.id)
    .where(
        col(t.Loan.meet_id) == bindparam("meet_id"),
        col(t.Loan.in_at).is_(None),
        col(t.Loan.voided_at).is_(None),
        col(t.LoanSetting.until_at).is_(None),
        col(t.LoanSetting.voided_at).is_(None),
    )
    .order_by(col(t.Loan.out_at), col(t.Loan.id))
)


def _on_air(
    session: Session, meet: t.Meet, people: Mapping[int, Person], labels: Mapping[int, str]
) -> tuple[OnAir, ...]:
    found = []
    for row in session.execute(_OUT_NOW, {"meet_id": meet.id}):
        person = people.get(row.pilot_id) if row.pilot_id is not None else None
        on_air = OnAir(
            loan_id=row.id,
            token_id=row.token_id,
            token_label=labels.get(row.token_id or 0, ""),
            pilot_id=row.pilot_id,
            who=person.board_name if person else row.holder_name,
            label=row.label,
            mhz=row.mhz,
            width_mhz=row.width_mhz,
            power_mw=row.power_mw,
            transmitter_id=row.transmitter_id,
            out_at=row.out_at,
            seen_at=row.seen_at,
            wake_before_mhz=row.wake_before_mhz,
            override_reason=row.override_reason,
        )
        found.append(on_air)
    return tuple(found)


def _read_tokens(session: Session, meet: t.Meet) -> tuple[TokenNow, ...]:
    """The tokens of the meet with the states of their rows, whoever holds them."""
    rows = queries.meet_tokens(session, meet.id)
    return tuple(TokenNow(row.id, row.code, row.label, row.nominal_mhz, row.state) for row in rows)


def _tokens(tokens: Sequence[TokenNow], on_air: Sequence[OnAir], floors: Floors) -> tuple[TokenNow, ...]:
    out = {loan.token_id for loan in on_air}
    carriers = [loan.carrier for loan in on_air]
    return tuple(_token_now(token, token.token_id in out, carriers, floors) for token in tokens)


def _token_now(token: TokenNow, is_out: bool, carriers: Sequence[Carrier], floors: Floors) -> TokenNow:
    if token.state != "usable":
        return token
    if is_out:
        return replace(token, state="out")
    covered = blocked_by(token.nominal_mhz, REFERENCE_WIDTH_MHZ, carriers, floors.spacing_mhz)
    return replace(token, state="in", blocked_by=covered)


def _line(session: Session, meet: t.Meet) -> tuple[Stand, ...]:
    return tuple(
        Stand(row.id, row.pilot_id, row.joined_at, row.head_since, row.is_skipped)
        for row in queries.standing_in_line(session, meet.id)
    )


def _sharing(session: Session, meet: t.Meet) -> dict[int, tuple[int, int]]:
    running = select(t.Sharing).where(
        t.Sharing.meet_id == meet.id, col(t.Sharing.ended_at).is_(None), col(t.Sharing.voided_at).is_(None)
    )
    return {row.token_id: (row.pilot_id, row.partner_id) for row in session.exec(running)}
