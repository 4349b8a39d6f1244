"""Sites: a flying field with its time zone, its band profile and the foreign signals beside it."""

from dataclasses import dataclass
from functools import cache
from zoneinfo import available_timezones

from sqlmodel import Session, col, select

from meetapp.flows.club.bands import profiles_to_choose
from meetapp.flows.club.named_rows import SITES, give_name, row_of
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.readings import one_line, refusing
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import check_mhz, exact_mhz
from meetapp.spectrum.wifi import wifi_neighbour
from meetapp.store import tables as t
from meetapp.store.engine import Store

NEIGHBOURS_MAX = 40


@dataclass(frozen=True, slots=True)
class SiteRow:
    """A site in the list."""

    site_id: int
    name: str
    time_zone: str
    profile_name: str
    neighbour_count: int
    is_retired: bool


@dataclass(frozen=True, slots=True)
class NeighbourRow:
    """A neighbour with its edges; all in MHz."""

    neighbour_id: int
    label: str
    centre_mhz: int
    width_mhz: float
    low_mhz: float
    high_mhz: float


@dataclass(frozen=True, slots=True)
class SiteView:
    """The page of one site; `site_id` None: a new one. `profiles`: (id, name) to choose from."""

    site_id: int | None
    name: str
    time_zone: str
    band_profile_id: int | None
    note: str
    is_retired: bool
    neighbours: tuple[NeighbourRow, ...]
    profiles: tuple[tuple[int, str], ...]
    time_zones: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SiteDraft:
    """What the organiser typed about a site."""

    name: str
    time_zone: str
    band_profile_id: int
    note: str


@cache
def time_zones() -> tuple[str, ...]:
    """The names of the time zones (IANA) that this machine knows, without its private aliases."""
    return tuple(sorted(name for name in available_timezones() if name not in ("Factory", "localtime")))


def list_sites(store: Store) -> tuple[SiteRow, ...]:
    """Every site by name, the retired ones last."""
    with store.read() as session:
        rows = session.exec(
            select(t.Site, t.BandProfile).join(t.BandProfile, col(t.BandProfile.id) == t.Site.band_profile_id)
        ).all()
        counts: dict[int, int] = {}
        for site_id in session.exec(select(t.Neighbour.site_id)):
            counts[site_id] = counts.get(site_id, 0) + 1
    sites = [
        SiteRow(
            site.id,
            site.name,
            site.time_zone,
            profile.name,
            counts.get(site.id, 0),
            site.retired_at is not None,
        )
        for site, profile in rows
    ]
    return tuple(sorted(sites, key=lambda site: (site.is_retired, site.name.casefold())))


def new_site_view(store: Store) -> SiteView:
    """The page of a site that isn't there yet; it starts with the time zone of the newest one."""
    with store.read() as session:
        newest = session.exec(select(t.Site).order_by(col(t.Site.id).desc()).limit(1)).first()
        zone = newest.time_zone if newest else ""
        return SiteView(None, "", zone, None, "", False, (), profiles_to_choose(session, None), time_zones())


def site_view(store: Store, site_id: int) -> SiteView:
    """The page of one site."""
    with store.read() as session:
        site: t.Site = row_of(session, SITES, site_id)
        neighbours = session.exec(
            select(t.Neighbour).where(t.Neighbour.site_id == site_id).order_by(col(t.Neighbour.centre_mhz))
        )
        return SiteView(
            site.id,
            site.name,
            site.time_zone,
            site.band_profile_id,
            site.note,
            site.retired_at is not None,
            tuple(_neighbour_row(row) for row in neighbours),
            profiles_to_choose(session, site.band_profile_id),
            time_zones(),
        )


def _neighbour_row(row: t.Neighbour) -> NeighbourRow:
    half = row.width_mhz / 2
    return NeighbourRow(
        row.id,
        row.label,
        row.centre_mhz,
        exact_mhz(row.width_mhz),
        exact_mhz(row.centre_mhz - half),
        exact_mhz(row.centre_mhz + half),
    )


def add_site(store: Store, deed: Deed, draft: SiteDraft) -> Answer:
    """Write a new site down."""

    def work(work: Work) -> Answer:
        site = t.Site(name="", time_zone="", band_profile_id=draft.band_profile_id)
        _fill(work.session, site, draft)
        work.note("site_added", {"site": site.id, "name": site.name})
        return Answer(f"/organiser/sites/{site.id}", f"'{site.name}' is saved. Add its neighbours.", made_id=site.id)

    return do_once(store, deed, work)


def change_site(store: Store, deed: Deed, site_id: int, draft: SiteDraft) -> Answer:
    """Save what changed about a site."""

    def work(work: Work) -> Answer:
        site: t.Site = row_of(work.session, SITES, site_id)
        _fill(work.session, site, draft)
        work.note("site_changed", {"site": site.id, "name": site.name})
        return Answer(f"/organiser/sites/{site.id}", f"'{site.name}' is saved.")

    return do_once(store, deed, work)


def _fill(session: Session, site: t.Site, draft: SiteDraft) -> None:
    profile = session.get(t.BandProfile, draft.band_profile_id)
    is_kept = site.id is not None and site.band_profile_id == draft.band_profile_id
    if profile is None or (profile.retired_at is not None and not is_kept):
        raise Refused("This band profile isn't offered any more.", "Choose another one.", field="band_profile_id")
    give_name(session, SITES, site, draft.name)
    site.time_zone = _zone(draft.time_zone)
    site.band_profile_id = profile.id
    site.note = draft.note
    session.add(site)
    session.flush()


def _zone(typed: str) -> str:
    wanted = one_line(typed).casefold().replace(" ", "_")
    zone = next((name for name in time_zones() if name.casefold() == wanted), None)
    if zone is None:
        raise Refused(
            f"'{typed}' is no time zone.", "Choose one from the list, such as Europe/Berlin.", field="time_zone"
        )
    return zone


def add_wifi(store: Store, deed: Deed, site_id: int, channel: int, width_mhz: int, name: str) -> Answer:
    """A Wi-Fi network beside a site, by its channel number and width (IEEE 802.11)."""
    with refusing("wifi_channel"):
        found = wifi_neighbour(channel, width_mhz)
    label = f"{one_line(name)}, {found.label}" if name.strip() else found.label
    return _add_neighbour(store, deed, site_id, Neighbour(label, found.centre_mhz, width_mhz), channel)


def add_signal(store: Store, deed: Deed, site_id: int, label: str, centre_mhz: int, width_mhz: float) -> Answer:
    """Any other foreign signal beside a site, by its centre and width in MHz."""
    with refusing("centre_mhz"):
        check_mhz("centre_mhz", centre_mhz)
    with refusing("width_mhz"):
        neighbour = Neighbour(one_line(label), centre_mhz, width_mhz)
    return _add_neighbour(store, deed, site_id, neighbour, None)


def _add_neighbour(
    store: Store, deed: Deed, site_id: int, neighbour: Neighbour, wifi_channel: int | None
) -> Answer:
    def work(work: Work) -> Answer:
        site: t.Site = row_of(work.session, SITES, site_id)
        known = work.session.exec(select(t.Neighbour).where(t.Neighbour.site_id == site_id)).all()
        if len(known) >= NEIGHBOURS_MAX:
            raise Refused(f"{len(known)} neighbours are enough: remove one first.")
        work.session.add(
            t.Neighbour(
                site_id=site.id,
                label=neighbour.label,
                centre_mhz=neighbour.centre_mhz,
                width_mhz=neighbour.width_mhz,
                wifi_channel=wifi_channel,
            )
        )
        work.note("neighbour_added", _facts(site.id, neighbour.label, neighbour.centre_mhz, neighbour.width_mhz))
        where = f"{neighbour.centre_mhz} MHz, {neighbour.width_mhz:g} MHz wide"
        return Answer(f"/organiser/sites/{site.id}#neighbours", f"'{neighbour.label}' is a neighbour now: {where}.")

    return do_once(store, deed, work)


def remove_neighbour(store: Store, deed: Deed, site_id: int, neighbour_id: int) -> Answer:
    """A foreign signal isn't there any more."""

    def work(work: Work) -> Answer:
        row = work.session.get(t.Neighbour, neighbour_id)
        if row is None or row.site_id != site_id:
            raise NotFound("This neighbour isn't there.", "Load the site's page again.")
        facts = _facts(site_id, row.label, row.centre_mhz, row.width_mhz)
        work.session.delete(row)
        work.note("neighbour_removed", facts)
        return Answer(f"/organiser/sites/{site_id}#neighbours", f"'{row.label}' is removed.")

    return do_once(store, deed, work)


def _facts(site_id: int, label: str, centre_mhz: int, width_mhz: float) -> dict[str, int | float | str]:
    return {"site": site_id, "name": label, "mhz": centre_mhz, "width_mhz": width_mhz}

