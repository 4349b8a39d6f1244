"""The club itself: its name, its field address, its safety words, its password, and the tables it starts with."""

from dataclasses import dataclass
from datetime import timedelta
from ipaddress import ip_address
from urllib.parse import urlsplit

from sqlmodel import Session, col, select

from meetapp.data.catalog import BandRule, KindTemplate, band_rules, kind_templates, published_plans
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused, WrongSecret
from meetapp.flows.readings import one_line, power_steps_text
from meetapp.flows.secrets import PASSWORD_MIN, password_fits, password_hash
from meetapp.flows.sessions import LIFETIMES, end_sessions
from meetapp.spectrum.bandwidth import rounded_up_width_mhz
from meetapp.spectrum.channels import ChannelPlan
from meetapp.store import tables as t
from meetapp.store.engine import Store

SAFETY_LINES_MAX = 8
SAFETY_LINE_LENGTH_MAX = 240
ADDRESS_LENGTH_MAX = 120
CLUB_PAGE = "/organiser/club"


@dataclass(frozen=True, slots=True)
class ClubView:
    """The club as its page shows it."""

    name: str
    field_address: str
    safety_words: str
    useful_clearance_mhz: int
    password_min: int = PASSWORD_MIN
    idle_hours: int = LIFETIMES["organiser"].idle // timedelta(hours=1)
    longest_hours: int = LIFETIMES["organiser"].longest // timedelta(hours=1)

    @property
    def is_only_this_machine(self) -> bool:
        """Whether the field address is a loopback one, which leads every phone to itself (RFC 1122, RFC 6761)."""
        host = urlsplit(self.field_address).hostname or ""
        if host == "localhost" or host.endswith(".localhost"):
            return True
        try:
            address = ip_address(host)
        except ValueError:
            return False
        return address.is_loopback or address.is_unspecified


@dataclass(frozen=True, slots=True)
class ClubDraft:
    """What the organiser typed about the club."""

    name: str
    field_address: str
    safety_words: str
    useful_clearance_mhz: int


def club_view(store: Store) -> ClubView:
    """The club's page."""
    with store.read() as session:
        club = _club(session)
        return ClubView(club.name, club.field_address, club.safety_words, club.useful_clearance_mhz)


def change_club(store: Store, deed: Deed, draft: ClubDraft) -> Answer:
    """Save the club's name, field address, safety words and useful clearance."""
    words = safety_lines(draft.safety_words)
    address = field_address_from(draft.field_address)

    def work(work: Work) -> Answer:
        club = _club(work.session)
        club.name = one_line(draft.name)
        club.field_address = address
        club.safety_words = "\n".join(words)
        club.useful_clearance_mhz = draft.useful_clearance_mhz
        work.session.add(club)
        work.note("club_changed", _facts(club))
        return Answer(f"{CLUB_PAGE}?check=yes", "The club is saved.")

    return do_once(store, deed, work)


def _facts(club: t.Club) -> dict[str, str | int]:
    return {"name": club.name, "address": club.field_address, "clearance_mhz": club.useful_clearance_mhz}


def change_password(store: Store, deed: Deed, current: str, new: str) -> Answer:
    """Set another password for the organiser; whoever else is signed in as organiser has to sign in again."""
    if len(new) < PASSWORD_MIN:
        raise Refused(f"The new password needs at least {PASSWORD_MIN} characters.", field="new_password")

    def work(work: Work) -> Answer:
        club = _club(work.session)
        if not password_fits(current, club.password_hash):
            raise WrongSecret("The password until now doesn't fit.", "Type it once more.", field="password")
        club.password_hash = password_hash(new)
        work.session.add(club)
        ended = end_sessions(
            work, t.DeskSession.role == "organiser", col(t.DeskSession.id) != work.actor.session_id
        )
        work.note("password_changed", {"count": ended})
        return Answer(CLUB_PAGE, "The password is changed. Other browsers have to sign in again.")

    return do_once(store, deed, work)


def _club(session: Session) -> t.Club:
    club = session.get(t.Club, 1)
    if club is None:
        raise NotFound("The club has no name yet.", "Open the first-visit link from the terminal.")
    return club


def safety_lines(text: str) -> tuple[str, ...]:
    """The safety words, one line each, empty lines dropped.

    Raises:
        Refused: none left, too many, or one too long to be read.
    """
    lines = tuple(line for line in (one_line(piece) for piece in text.splitlines()) if line)
    if not lines:
        raise Refused("Leave at least one line of safety words.", "They stay in sight on every page.", "safety_words")
    if len(lines) > SAFETY_LINES_MAX:
        raise Refused(
            f"{len(lines)} lines of safety words are too many to be read: {SAFETY_LINES_MAX} at most.",
            field="safety_words",
        )
    if (long := max(lines, key=len)) and len(long) > SAFETY_LINE_LENGTH_MAX:
        raise Refused(
            f"The safety words that begin '{long[:30]}' are too long for one line: {SAFETY_LINE_LENGTH_MAX} "
            "characters at most.",
            field="safety_words",
        )
    return lines


def field_address_from(text: str) -> str:
    """The address that phones open at the field, such as 'http://192.168.1.20:8022'; '' where none is given.

    'http://' is added where it is missing, a slash at the end goes away.

    Raises:
        Refused: anything but http or https with a host and, if wanted, a port.
    """
    typed = text.strip()
    if not typed:
        return ""
    with_scheme = typed if "://" in typed else f"http://{typed}"
    try:
        parts = urlsplit(with_scheme)
        host, port = parts.hostname, parts.port
    except ValueError as error:
        raise _no_address(typed) from error
    is_plain = parts.scheme in ("http", "https") and host and "@" not in parts.netloc and port != 0
    has_more = parts.path not in ("", "/") or parts.query or parts.fragment
    if not is_plain or has_more or len(typed) > ADDRESS_LENGTH_MAX or any(sign.isspace() for sign in typed):
        raise _no_address(typed)
    return f"{parts.scheme}://{parts.netloc.lower()}"


def _no_address(typed: str) -> Refused:
    return Refused(
        f"'{typed[:60]}' is no field address.",
        "Write it as the phones will open it, such as http://192.168.1.20:8022, without anything behind.",
        field="field_address",
    )


def seed_catalogue(session: Session) -> None:
    """Copy the published plans, band rules and kinds of transmitter into the club's tables.

    Only what isn't there yet (by letter or name) is added, so it may be called again; flushes, never commits.
    """
    letters = set(session.exec(select(t.ChannelPlanRow.letter)))
    profiles = set(session.exec(select(t.BandProfile.name)))
    kinds = set(session.exec(select(t.TransmitterKind.name)))
    for position, plan in enumerate(published_plans()):
        if plan.letter not in letters:
            _add_plan(session, plan, position)
    for rule in band_rules():
        if rule.name not in profiles:
            _add_profile(session, rule)
    session.add_all(_kind_row(kind) for kind in kind_templates() if not kind.is_example and kind.name not in kinds)
    session.flush()


def _add_plan(session: Session, plan: ChannelPlan, position: int) -> None:
    row = t.ChannelPlanRow(
        letter=plan.letter, name=plan.name, source=plan.source, is_published=True, position=position
    )
    session.add(row)
    session.flush()
    session.add_all(t.PlanChannel(plan_id=row.id, number=each.number, mhz=each.mhz) for each in plan.channels)


def _add_profile(session: Session, rule: BandRule) -> None:
    row = t.BandProfile(
        name=rule.name, condition=f"{rule.condition} Power: {rule.power}", source=rule.source, read_on=rule.read_on
    )
    session.add(row)
    session.flush()
    session.add_all(
        t.BandSegment(profile_id=row.id, low_mhz=each.low_mhz, high_mhz=each.high_mhz, power_mw=each.power_mw)
        for each in rule.segments
    )


def _kind_row(kind: KindTemplate) -> t.TransmitterKind:
    return t.TransmitterKind(
        name=kind.name,
        is_digital=kind.is_digital,
        width_mhz=rounded_up_width_mhz(kind.width_mhz),
        width_source=kind.width_source,
        carson_modulating_mhz=kind.carson_modulating_mhz,
        carson_deviation_mhz=kind.carson_deviation_mhz,
        tuning=kind.tuning,
        goggles=kind.goggles or "",
        power_steps_mw=power_steps_text(kind.power_steps_mw),
        antenna_gain_dbi=kind.antenna_gain_dbi,
        goggles_transmit=kind.goggles_transmit,
        moves_by_itself=kind.moves_by_itself,
        sets_silently=kind.sets_silently,
        setting_hint=kind.setting_hint,
        setting_card=kind.setting_card or None,
    )
