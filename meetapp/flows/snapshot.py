"""The field as one frozen value: who is there with what, which tokens, who is on air, who waits.

Every live page and every decision starts from here, so that they can't disagree.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.rules.loans import Field, Held
from meetapp.rules.setting_card_text import parse_card
from meetapp.rules.setting_cards import Card, ToDo
from meetapp.rules.waiting_line import Stand, Stretch
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour, blocked_by
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, Channel, ChannelPlan, name_of
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.tuning import Setting, Tuning, parse_tuning, setting_for
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.kept import keep, kept_before_writing


@dataclass(frozen=True, slots=True)
class Kit:
    """A transmitter as the sums see it. `goggles` None: they receive all that it makes. `wake_mhz` None: unknown."""

    transmitter_id: int
    kind_id: int
    name: str
    tuning: Tuning
    goggles: Tuning | None
    width_mhz: float
    power_steps_mw: tuple[float, ...]
    wake_mhz: int | None
    moves_by_itself: bool
    sets_silently: bool
    goggles_transmit: bool
    setting_hint: str
    card: Card | None = None

    def to_do(self, label: str, mhz: int) -> ToDo | None:
        """What is switched, pressed or chosen on it for a setting; None where nobody has told."""
        return self.card.to_do(card_key(label), mhz) if self.card else None


def card_key(label: str) -> str:
    """The name under which a setting card knows a setting: its channel, or its MHz as digits.

    >>> card_key("R1"), card_key("5740 MHz")
    ('R1', '5740')
    """
    return label.removesuffix(" MHz")


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
    """Read a whole meet as it stands, in one transaction; or take what another page read since the last change.

    Who writes does so too, as long as nothing was changed: behind the write lock, if nobody else's line came since.
    """
    key = ("snapshot", meet.id)
    found = kept_before_writing(session, key)
    if found is None or found[0] != queries.newest_line_id(session):
        found = keep(session, key, lambda: (queries.newest_line_id(session), _read_snapshot(session, meet)))
    snapshot: Snapshot = found[1]
    return replace(snapshot, now=max(now, snapshot.now))


def _read_snapshot(session: Session, meet: t.Meet) -> Snapshot:
    version, entered_at = queries.last_entry(session, meet.id) or (0, _BEFORE_ALL)
    site = session.get_one(t.Site, meet.site_id)
    plans = plans_of(session)
    rows = queries.attendances(session, meet.id)
    bands = _bands(session, {site.band_profile_id, *(pilot.band_profile_id or 0 for _attendance, pilot in rows)})
    people = _people(session, rows, plans, bands, site.band_profile_id)
    tokens = queries.meet_tokens(session, meet.id)
    on_air = _on_air(session, meet, people, {token.id: token.label for token in tokens})
    floors = Floors(meet.spacing_floor_mhz or 0, meet.clearance_floor_mhz)
    return Snapshot(
        meet_id=meet.id,
        meet_name=meet.name,
        state=meet.state,
        zone=ZoneInfo(site.time_zone),
        now=entered_at,  # no page shows an earlier moment
        version=version,
        pull_mhz=meet.pull_mhz,
        head_limit_min=meet.head_limit_min,
        fly_at_once=meet.fly_at_once,
        power_ceiling_mw=meet.power_ceiling_mw,
        is_self_service=meet.is_self_service,
        floors=floors,
        lower_floors_reason=meet.lower_floors_reason,
        neighbours=neighbours_of(session, site.id),
        site_segments=bands[site.band_profile_id][1],
        plans=plans,
        tokens=_tokens(tokens, on_air, floors),
        on_air=on_air,
        people=people,
        line=_line(session, meet),
        pauses=tuple(Stretch(row.started_at, row.ended_at) for row in queries.pauses(session, meet.id)),
        sharing=_sharing(session, meet),
    )


def plans_of(session: Session) -> tuple[ChannelPlan, ...]:
    """The club's channel plans as the sums see them."""
    return tuple(
        ChannelPlan(
            plan.letter,
            plan.name,
            tuple(Channel(plan.letter, row.number, row.mhz) for row in channels),
            plan.source,
        )
        for plan, channels in queries.channel_plans(session)
        if channels
    )


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


def kits_of(
    session: Session, pilot_ids: Collection[int], plans: tuple[ChannelPlan, ...]
) -> dict[int, tuple[Kit, ...]]:
    """The transmitters (not the retired ones) of pilots, by pilot id, the oldest first."""
    kits: dict[int, tuple[Kit, ...]] = {}
    of_kind: dict[int, Kit] = {}  # a club has many transmitters of few kinds
    rows = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(col(t.PilotTransmitter.retired_at).is_(None), col(t.PilotTransmitter.pilot_id).in_(pilot_ids))
        .order_by(col(t.PilotTransmitter.id))
    )
    for own, kind in rows:
        like_it = of_kind.get(kind.id)
        of_kind[kind.id] = kit = _same_kind(like_it, own, kind) if like_it else kit_from(own, kind, plans)
        kits[own.pilot_id] = (*kits.get(own.pilot_id, ()), kit)
    return kits


def kit_from(own: t.PilotTransmitter, kind: t.TransmitterKind, plans: tuple[ChannelPlan, ...]) -> Kit:
    """One transmitter of a pilot with what its kind says."""
    return Kit(
        transmitter_id=own.id,
        kind_id=kind.id,
        name=_kit_name(own, kind),
        tuning=_parsed(kind.tuning, plans),
        goggles=_parsed(kind.goggles, plans) if kind.goggles else None,
        width_mhz=kind.width_mhz,
        power_steps_mw=tuple(float(step) for step in kind.power_steps_mw.split()),
        wake_mhz=own.wake_mhz,
        moves_by_itself=kind.moves_by_itself,
        sets_silently=kind.sets_silently,
        goggles_transmit=kind.goggles_transmit,
        setting_hint=kind.setting_hint,
        card=_parsed_card(kind.setting_card) if kind.setting_card else None,
    )


def _same_kind(kit: Kit, own: t.PilotTransmitter, kind: t.TransmitterKind) -> Kit:
    return replace(kit, transmitter_id=own.id, name=_kit_name(own, kind), wake_mhz=own.wake_mhz)


def _kit_name(own: t.PilotTransmitter, kind: t.TransmitterKind) -> str:
    return f"{own.nickname} ({kind.name})" if own.nickname else kind.name


# Every page parses the same dozen texts; plans and texts are values, so what they parse to may be kept.
_parsed = lru_cache(maxsize=256)(parse_tuning)
_parsed_card = lru_cache(maxsize=256)(parse_card)


def _people(
    session: Session,
    rows: Sequence[tuple[t.Attendance, t.Pilot]],
    plans: tuple[ChannelPlan, ...],
    bands: Mapping[int, tuple[str, tuple[Segment, ...]]],
    site_profile_id: int,
) -> dict[int, Person]:
    kits = kits_of(session, [pilot.id for _attendance, pilot in rows], plans)
    return {
        pilot.id: Person(
            pilot_id=pilot.id,
            name=pilot.name,
            board_name=pilot.board_name,
            is_present=attendance.checked_in_at is not None and attendance.left_at is None,
            is_retired=pilot.retired_at is not None,
            kit=_today_kit(attendance, kits.get(pilot.id, ())),
            segments=bands[pilot.band_profile_id or site_profile_id][1],
            band_name=bands[pilot.band_profile_id or site_profile_id][0],
        )
        for attendance, pilot in rows
    }


def _bands(session: Session, profile_ids: Collection[int]) -> dict[int, tuple[str, tuple[Segment, ...]]]:
    profiles = session.exec(select(t.BandProfile).where(col(t.BandProfile.id).in_(profile_ids)))
    return {profile.id: (profile.name, segments_of(session, profile.id)) for profile in profiles}


def _today_kit(attendance: t.Attendance, kits: Sequence[Kit]) -> Kit | None:
    return next((kit for kit in kits if kit.transmitter_id == attendance.transmitter_id), None)


def _on_air(
    session: Session, meet: t.Meet, people: Mapping[int, Person], labels: Mapping[int, str]
) -> tuple[OnAir, ...]:
    return tuple(
        OnAir(
            loan_id=loan.id,
            token_id=loan.token_id,
            token_label=labels.get(loan.token_id or 0, ""),
            pilot_id=loan.pilot_id,
            who=_who(loan, people),
            label=setting.label,
            mhz=setting.mhz,
            width_mhz=setting.width_mhz,
            power_mw=setting.power_mw,
            transmitter_id=setting.transmitter_id,
            out_at=loan.out_at,
            seen_at=loan.seen_at,
            wake_before_mhz=setting.wake_before_mhz,
            override_reason=loan.override_reason,
        )
        for loan, setting in queries.open_loans(session, meet.id)
    )


def _who(loan: t.Loan, people: Mapping[int, Person]) -> str:
    person = people.get(loan.pilot_id) if loan.pilot_id is not None else None
    return person.board_name if person else loan.holder_name


def _tokens(rows: Sequence[t.Token], on_air: Sequence[OnAir], floors: Floors) -> tuple[TokenNow, ...]:
    out = {loan.token_id for loan in on_air}
    carriers = [loan.carrier for loan in on_air]
    return tuple(
        TokenNow(
            token_id=row.id,
            code=row.code,
            label=row.label,
            nominal_mhz=row.nominal_mhz,
            state=(state := _state(row, out)),
            blocked_by=blocked_by(row.nominal_mhz, REFERENCE_WIDTH_MHZ, carriers, floors.spacing_mhz)
            if state == "in"
            else (),
        )
        for row in rows
    )


def _state(token: t.Token, out: Collection[int | None]) -> str:
    if token.state != "usable":
        return token.state
    return "out" if token.id in out else "in"


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
