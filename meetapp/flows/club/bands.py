"""Band profiles: edges and power by country or licence, each with its source and the day it was read."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from meetapp.flows.club.named_rows import BAND_PROFILES, give_name, row_of
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.readings import one_line, read_segments
from meetapp.flows.snapshot import segments_of
from meetapp.spectrum.bands import Segment
from meetapp.store import tables as t
from meetapp.store.engine import Store

SEGMENTS_MAX = 40


@dataclass(frozen=True, slots=True)
class BandRow:
    """A band profile in the list."""

    profile_id: int
    name: str
    edges: str
    is_own: bool
    is_retired: bool
    read_on: date | None


@dataclass(frozen=True, slots=True)
class BandView:
    """The page of one band profile; `profile_id` None: a new one. `segments` is its text, one piece per line."""

    profile_id: int | None
    name: str
    segments: str
    condition: str
    source: str
    read_on: date | None
    is_own: bool
    is_retired: bool = False
    used_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BandDraft:
    """What the organiser typed about a band profile of their own."""

    name: str
    segments: str
    condition: str
    source: str
    read_on: date | None


def list_bands(store: Store) -> tuple[BandRow, ...]:
    """Every band profile: the club's own first, then the published ones; the retired ones last."""
    with store.read() as session:
        profiles = session.exec(select(t.BandProfile)).all()
        rows = [
            BandRow(
                profile.id,
                profile.name,
                ", ".join(segment.text for segment in segments_of(session, profile.id)),
                profile.is_own,
                profile.retired_at is not None,
                profile.read_on,
            )
            for profile in profiles
        ]
    return tuple(sorted(rows, key=lambda row: (row.is_retired, not row.is_own, row.name.casefold())))


def band_view(store: Store, profile_id: int) -> BandView:
    """The page of one band profile."""
    with store.read() as session:
        profile: t.BandProfile = row_of(session, BAND_PROFILES, profile_id)
        return BandView(
            profile.id,
            profile.name,
            "\n".join(segment.text for segment in segments_of(session, profile.id)),
            profile.condition,
            profile.source,
            profile.read_on,
            profile.is_own,
            profile.retired_at is not None,
            _used_by(session, profile.id),
        )


def new_band_view(store: Store, copied_id: int | None) -> BandView:
    """The page of a profile that isn't there yet, empty or with what another one says."""
    if copied_id is None:
        return BandView(None, "", "", "", "", None, True)
    copied = band_view(store, copied_id)
    name = f"{copied.name[:70]}, our copy"
    return BandView(None, name, copied.segments, copied.condition, copied.source, copied.read_on, True)


def profiles_to_choose(session: Session, kept_id: int | None) -> tuple[tuple[int, str], ...]:
    """The band profiles that are offered, the club's own first, as (id, name); a retired one only where it is kept."""
    rows = session.exec(select(t.BandProfile).order_by(col(t.BandProfile.is_own).desc(), col(t.BandProfile.name)))
    return tuple((row.id, row.name) for row in rows if row.retired_at is None or row.id == kept_id)


def _used_by(session: Session, profile_id: int) -> tuple[str, ...]:
    sites = session.exec(
        select(t.Site.name).where(t.Site.band_profile_id == profile_id, col(t.Site.retired_at).is_(None))
    )
    pilots = session.exec(
        select(t.Pilot.board_name).where(t.Pilot.band_profile_id == profile_id, col(t.Pilot.retired_at).is_(None))
    )
    return (*(f"the site {name}" for name in sorted(sites)), *sorted(pilots))


def add_band(store: Store, deed: Deed, draft: BandDraft) -> Answer:
    """Write a band profile of the club's own down."""
    segments = _segments(draft)

    def work(work: Work) -> Answer:
        profile = t.BandProfile(name="", source="", is_own=True)
        _fill(work.session, profile, draft, segments)
        work.note("band_added", _facts(profile, segments))
        return Answer(_page(profile.id), f"The band profile '{profile.name}' is saved.", made_id=profile.id)

    return do_once(store, deed, work)


def change_band(store: Store, deed: Deed, profile_id: int, draft: BandDraft) -> Answer:
    """Save what changed about a band profile of the club's own; a published one stays as it was read."""
    segments = _segments(draft)

    def work(work: Work) -> Answer:
        profile: t.BandProfile = row_of(work.session, BAND_PROFILES, profile_id)
        if not profile.is_own:
            raise Refused("A published band profile can't be changed.", "Make a copy of your own and change that.")
        for row in work.session.exec(select(t.BandSegment).where(t.BandSegment.profile_id == profile_id)):
            work.session.delete(row)
        _fill(work.session, profile, draft, segments)
        work.note("band_changed", _facts(profile, segments))
        return Answer(_page(profile_id), f"The band profile '{profile.name}' is saved.")

    return do_once(store, deed, work)


def _segments(draft: BandDraft) -> tuple[Segment, ...]:
    segments = read_segments(draft.segments, "segments")
    if len(segments) > SEGMENTS_MAX:
        raise Refused(f"{len(segments)} pieces of band are too many: {SEGMENTS_MAX} at most.", field="segments")
    return segments


def _fill(session: Session, profile: t.BandProfile, draft: BandDraft, segments: tuple[Segment, ...]) -> None:
    give_name(session, BAND_PROFILES, profile, draft.name)
    profile.condition = draft.condition
    profile.source = one_line(draft.source)
    profile.read_on = draft.read_on
    session.add(profile)
    session.flush()
    session.add_all(
        t.BandSegment(profile_id=profile.id, low_mhz=each.low_mhz, high_mhz=each.high_mhz, power_mw=each.power_mw)
        for each in segments
    )


def _facts(profile: t.BandProfile, segments: tuple[Segment, ...]) -> dict[str, int | str]:
    return {"band": profile.id, "name": profile.name, "edges": ", ".join(segment.text for segment in segments)}


def _page(profile_id: int) -> str:
    return f"/organiser/bands/{profile_id}"
