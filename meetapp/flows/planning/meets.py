"""The organiser's meets: the list, and the details of one."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, func, or_, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.planning.meet_rows import find_meet, lock_unclosed, told_floors
from meetapp.flows.planning.planned_set import checked_reason, figures, read_plan, usual_floors
from meetapp.flows.readings import one_line
from meetapp.spectrum.floors import Floors
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class MeetLine:
    """A meet in the list; `coming` counts the pilots who are expected or came, `tokens` those of its set."""

    meet_id: int
    name: str
    on_date: date
    site_name: str
    state: str
    coming: int
    tokens: int


@dataclass(frozen=True, slots=True)
class MeetDraft:
    """What the organiser says about a meet. Floors None: not set yet (spacing), no floor (clearance)."""

    name: str
    on_date: date
    site_id: int
    fly_at_once: int
    pull_mhz: int
    head_limit_min: int
    power_ceiling_mw: float | None
    signals: str
    is_self_service: bool
    spacing_floor_mhz: float | None = None
    clearance_floor_mhz: float | None = None
    lower_floors_reason: str = ""

    @property
    def floors(self) -> Floors | None:
        """The floors, once they are set."""
        if self.spacing_floor_mhz is None:
            return None
        return Floors(self.spacing_floor_mhz, self.clearance_floor_mhz)


@dataclass(frozen=True, slots=True)
class MeetForm:
    """What the form of a meet needs: its values (None: a new meet), the sites as (id, name), and what its set reaches.

    `usual` None: no set is chosen yet. `state` is 'planned' for a new meet.
    """

    meet_id: int | None
    state: str
    values: MeetDraft | None
    sites: tuple[tuple[int, str], ...]
    usual: Floors | None


def meets_list(store: Store) -> tuple[MeetLine, ...]:
    """Every meet: the open one first, then the latest day first."""
    with store.read() as session:
        coming = _coming_by_meet(session)
        tokens = _tokens_by_meet(session)
        rows = session.exec(
            select(t.Meet, t.Site.name)
            .join(t.Site, col(t.Site.id) == t.Meet.site_id)
            .order_by(col(t.Meet.state) != "open", col(t.Meet.on_date).desc(), col(t.Meet.id).desc())
        )
        return tuple(
            MeetLine(m.id, m.name, m.on_date, site, m.state, coming.get(m.id, 0), tokens.get(m.id, 0))
            for m, site in rows
        )


def _coming_by_meet(session: Session) -> dict[int, int]:
    came = or_(col(t.Attendance.is_expected), col(t.Attendance.checked_in_at).is_not(None))
    count = select(t.Attendance.meet_id, func.count()).where(came).group_by(col(t.Attendance.meet_id))
    return dict(session.exec(count).all())


def _tokens_by_meet(session: Session) -> dict[int, int]:
    count = select(t.MeetToken.meet_id, func.count()).group_by(col(t.MeetToken.meet_id))
    return dict(session.exec(count).all())


def meet_form(store: Store, meet_id: int | None, now: datetime) -> MeetForm:
    """The form of a new meet, or of one that isn't closed."""
    with store.read() as session:
        if meet_id is None:
            return MeetForm(None, "planned", None, _sites(session, None), None)
        meet = find_meet(session, meet_id)
        usual = _usual(session, meet, now)
        return MeetForm(meet.id, meet.state, _draft_of(meet), _sites(session, meet.site_id), usual)


def _sites(session: Session, own_id: int | None) -> tuple[tuple[int, str], ...]:
    offered = or_(col(t.Site.retired_at).is_(None), col(t.Site.id) == own_id)
    rows = session.exec(select(t.Site.id, t.Site.name).where(offered).order_by(col(t.Site.name)))
    return tuple((site_id, name) for site_id, name in rows)


def _draft_of(meet: t.Meet) -> MeetDraft:
    return MeetDraft(**{name: getattr(meet, name) for name in MeetDraft.__dataclass_fields__})


def _usual(session: Session, meet: t.Meet, now: datetime) -> Floors | None:
    mhz = [token.nominal_mhz for token in queries.meet_tokens(session, meet.id)]
    if not mhz:
        return None
    plan = read_plan(session, meet, now)
    return usual_floors(plan, figures(plan, mhz))


def add_meet(store: Store, deed: Deed, draft: MeetDraft) -> Answer:
    """Plan a new meet."""

    def work(work: Work) -> Answer:
        _check_name(draft)
        site = _site(work.session, draft.site_id)
        if site.retired_at is not None:
            raise Refused(f"The site '{site.name}' is retired.", "Choose another one.", field="site_id")
        unset = {"spacing_floor_mhz": None, "clearance_floor_mhz": None, "lower_floors_reason": ""}
        meet = t.Meet(**_columns(draft) | unset)
        work.session.add(meet)
        work.session.flush()
        work.note("meet_added", {"name": meet.name}, meet_id=meet.id)
        notice = f"'{meet.name}' is planned. Say who is expected next, then choose the channels."
        return Answer(f"/organiser/meets/{meet.id}", notice, made_id=meet.id)

    return do_once(store, deed, work)


def change_meet(store: Store, deed: Deed, meet_id: int, draft: MeetDraft) -> Answer:
    """Change the details of a meet that isn't closed. The site stays while the meet is open."""

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        _check_name(draft)
        _check_site(work.session, meet, draft)
        reason = _reason_to_keep(work.session, meet, draft, work.now)
        for name, value in _columns(draft).items():
            setattr(meet, name, value)
        meet.lower_floors_reason = reason
        if draft.floors is None:
            meet.clearance_floor_mhz = None
        work.session.add(meet)
        work.note("meet_changed", {"name": meet.name, **told_floors(meet)}, meet_id=meet.id)
        return Answer(f"/organiser/meets/{meet.id}", f"'{meet.name}' is saved.")

    return do_once(store, deed, work)


def _columns(draft: MeetDraft) -> dict[str, Any]:
    columns = {name: getattr(draft, name) for name in MeetDraft.__dataclass_fields__}
    return columns | {"name": one_line(draft.name)}


def _check_name(draft: MeetDraft) -> None:
    if not one_line(draft.name):
        raise Refused("Give the meet a name.", field="name")


def _site(session: Session, site_id: int) -> t.Site:
    site = session.get(t.Site, site_id)
    if site is None:
        raise Refused("This site isn't there.", "Choose one from the list.", field="site_id")
    return site


def _check_site(session: Session, meet: t.Meet, draft: MeetDraft) -> None:
    _site(session, draft.site_id)
    if meet.state == "open" and draft.site_id != meet.site_id:
        raise Refused("A meet can't move to another site while it is open.", field="site_id")


def _reason_to_keep(session: Session, meet: t.Meet, draft: MeetDraft, now: datetime) -> str:
    """The reason that stays in sight: none where the floors reach what the set reaches."""
    if draft.floors is None:
        if meet.state == "open":
            raise Refused("An open meet needs its spacing floor.", "Give it in MHz.", field="spacing_floor_mhz")
        return ""
    before = (meet.spacing_floor_mhz, meet.clearance_floor_mhz, meet.lower_floors_reason)
    if before == (draft.spacing_floor_mhz, draft.clearance_floor_mhz, draft.lower_floors_reason):
        return meet.lower_floors_reason
    usual = _usual(session, meet, now)
    return checked_reason(draft.floors, usual, draft.lower_floors_reason) if usual else ""
