"""The home page of one meet: what is done, what comes next; its PIN and desk link; opening it."""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.planning.band_exits import BandExits
from meetapp.flows.planning.meet_rows import find_meet, floors_of, lock_unclosed, zone_of
from meetapp.flows.planning.planned_set import bands_left, read_plan
from meetapp.flows.secrets import PIN_DIGITS, password_hash, secret_hash
from meetapp.flows.sessions import end_sessions
from meetapp.flows.steps import DONE, Step, state_of, with_next
from meetapp.spectrum.floors import Floors
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class SetToken:
    """A token of the meet's set; `state`: 'in', 'out', 'missing' or 'withdrawn'."""

    label: str
    nominal_mhz: int
    code: str
    state: str


@dataclass(frozen=True, slots=True)
class MeetHome:
    """One meet: its details, its set, the steps to its opening and what still stands in the way.

    `floors` None: not set yet. `band`: what its set leaves of the band profiles; None where there is no set, or the
    meet is closed. `zone`: the site's, for the times.
    """

    meet_id: int
    name: str
    on_date: date
    site_name: str
    state: str
    zone: ZoneInfo
    opened_at: datetime | None
    closed_at: datetime | None
    fly_at_once: int
    pull_mhz: int
    head_limit_min: int
    power_ceiling_mw: float | None
    floors: Floors | None
    lower_floors_reason: str
    signals: str
    is_self_service: bool
    has_pin: bool
    coming: int
    tokens: tuple[SetToken, ...]
    band: BandExits | None
    on_air: int
    blockers: tuple[str, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class DeskAccess:
    """A PIN just made, to be shown with its link now: only their hashes are kept.

    `field_address` is the club's, empty where none is set.
    """

    meet_id: int
    meet_name: str
    pin: str
    field_address: str


def meet_home(store: Store, meet_id: int, now: datetime) -> MeetHome:
    """Read the home page of a meet."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        coming = sum(
            attendance.is_expected or attendance.checked_in_at is not None
            for attendance, _pilot in queries.attendances(session, meet_id)
        )
        tokens = _set_tokens(session, meet)
        blockers = _blockers(session, meet)
        return MeetHome(
            meet_id=meet.id,
            name=meet.name,
            on_date=meet.on_date,
            site_name=session.get_one(t.Site, meet.site_id).name,
            state=meet.state,
            zone=zone_of(session, meet),
            opened_at=meet.opened_at,
            closed_at=meet.closed_at,
            fly_at_once=meet.fly_at_once,
            pull_mhz=meet.pull_mhz,
            head_limit_min=meet.head_limit_min,
            power_ceiling_mw=meet.power_ceiling_mw,
            floors=floors_of(meet),
            lower_floors_reason=meet.lower_floors_reason,
            signals=meet.signals,
            is_self_service=meet.is_self_service,
            has_pin=meet.pin_hash is not None,
            coming=coming,
            tokens=tokens,
            band=_band(session, meet, tokens, now),
            on_air=len(queries.open_loans(session, meet_id)),
            blockers=blockers,
            steps=_steps(meet, coming, len(tokens), blockers),
        )


def _set_tokens(session: Session, meet: t.Meet) -> tuple[SetToken, ...]:
    out = {loan.token_id for loan, _setting in queries.open_loans(session, meet.id)}
    return tuple(
        SetToken(
            token.label,
            token.nominal_mhz,
            token.code,
            token.state if token.state != "usable" else ("out" if token.id in out else "in"),
        )
        for token in queries.meet_tokens(session, meet.id)
    )


def _band(session: Session, meet: t.Meet, tokens: tuple[SetToken, ...], now: datetime) -> BandExits | None:
    if meet.state == "closed" or not tokens:
        return None
    return bands_left(read_plan(session, meet, now), [token.nominal_mhz for token in tokens])


def _steps(meet: t.Meet, coming: int, tokens: int, blockers: tuple[str, ...]) -> tuple[Step, ...]:
    home = f"/organiser/meets/{meet.id}"
    floors = "floors not set" if meet.spacing_floor_mhz is None else "floors set"
    has_set = tokens > 0 and meet.spacing_floor_mhz is not None
    has_pin = meet.pin_hash is not None
    is_open = meet.state != "planned"
    expected = f"{coming} pilots" if coming else "may stay empty"
    return with_next(
        (
            Step("Details of the day", f"{home}/edit", DONE, f"{meet.fly_at_once} fly at once"),
            Step("Who is expected", f"{home}/expected", state_of(coming > 0), expected),
            Step("Channels", f"{home}/channels", state_of(has_set), f"{tokens} tokens, {floors}"),
            Step("PIN and desk link", f"{home}#desk", state_of(has_pin), "made" if has_pin else "none yet"),
            Step("Open the meet", f"{home}#open", state_of(is_open), "" if blockers else "ready to be opened"),
        )
    )


def _blockers(session: Session, meet: t.Meet) -> tuple[str, ...]:
    """What keeps a planned meet from being opened, one sentence each."""
    usable = [token for token in queries.meet_tokens(session, meet.id) if token.state == "usable"]
    other = session.exec(select(t.Meet).where(t.Meet.state == "open", col(t.Meet.id) != meet.id)).first()
    found = []
    if not usable:
        found.append("No usable token belongs to this meet: choose its channels first.")
    if meet.spacing_floor_mhz is None:
        found.append("The floors aren't set: choose the channels, or give the floors with the details.")
    if meet.pin_hash is None:
        found.append("The desk has no PIN yet: make one.")
    if other is not None:
        found.append(f"'{other.name}' is open: one meet at a time, so close it first.")
    return tuple(found)


def open_meet(store: Store, deed: Deed, meet_id: int) -> Answer:
    """Open a planned meet: from now on the desk hands out."""

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        if meet.state == "open":
            raise Refused(f"'{meet.name}' is open already.", "Go to the desk.")
        blockers = _blockers(work.session, meet)
        if blockers:
            raise Refused(f"'{meet.name}' can't be opened yet.", " ".join(blockers))
        meet.state, meet.opened_at = "open", work.now
        work.session.add(meet)
        work.note("meet_opened", {"name": meet.name}, meet_id=meet.id)
        return Answer(f"/organiser/meets/{meet.id}", f"'{meet.name}' is open. The desk can hand out.")

    return do_once(store, deed, work)


def new_desk_access(
    store: Store, deed: Deed, meet_id: int, link_secret: str, *, sign_out: bool = False
) -> DeskAccess:
    """Make a new PIN and a new desk link; the ones before stop opening the desk.

    Marshals at work stay signed in, unless `sign_out` is asked for.

    `link_secret` is unguessable and the same when the form is sent again, and so is the PIN that follows from it.
    """
    pin = pin_from(link_secret)
    pin_hash = password_hash(pin)  # slow by intent, so not inside the transaction

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        meet.pin_hash, meet.desk_link_hash = pin_hash, secret_hash(link_secret)
        work.session.add(meet)
        ended = end_sessions(work, t.DeskSession.role == "marshal", t.DeskSession.meet_id == meet.id) if sign_out else 0
        work.note("desk_pin_made", {"name": meet.name, "count": ended or None}, meet_id=meet.id)
        return Answer(f"/organiser/meets/{meet.id}", "A new PIN and a new desk link are made.")

    do_once(store, deed, work)
    with store.read() as session:
        meet = find_meet(session, meet_id)
        if meet.desk_link_hash != secret_hash(link_secret):
            raise Refused("This PIN has been replaced by a newer one.", "Make another, and write it down.")
        return DeskAccess(meet.id, meet.name, pin, session.get_one(t.Club, 1).field_address)


def pin_from(link_secret: str) -> str:
    """The PIN of six digits that goes with a desk link. It says nothing about the link."""
    digest = hashlib.sha256(f"pin:{link_secret}".encode()).digest()
    return f"{int.from_bytes(digest) % 10**PIN_DIGITS:0{PIN_DIGITS}}"
