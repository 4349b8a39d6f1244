"""Sites and the foreign signals beside them."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import named_rows, sites
from meetapp.flows.deeds import Answer
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText, RowId, ShortText
from meetapp.web.render import form_done, page
from meetapp.web.set_up_fields import Decimal

router = APIRouter(prefix="/organiser/sites")


class SiteForm(FormModel):
    """What the organiser says about a site."""

    name: Annotated[ShortText, Field(title="the site's name")]
    time_zone: Annotated[ShortText, Field(title="the time zone")]
    band_profile_id: Annotated[RowId, Field(title="the band profile")]
    note: Annotated[LongText, Field(title="the note")] = ""

    def draft(self) -> sites.SiteDraft:
        """The same for the flow."""
        return sites.SiteDraft(**self.model_dump())


class WifiForm(FormModel):
    """A Wi-Fi network by its channel number and width."""

    wifi_channel: Annotated[int, Field(ge=1, le=300, title="the Wi-Fi channel")]
    wifi_width_mhz: Annotated[int, Field(title="the width of the channel")]
    wifi_name: Annotated[str, Field(max_length=40, title="whose it is")] = ""


class SignalForm(FormModel):
    """Any other signal by its centre and width."""

    label: Annotated[ShortText, Field(title="what it is")]
    centre_mhz: Annotated[int, Field(title="the centre")]
    width_mhz: Annotated[Decimal, Field(title="the width")]


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every site."""
    return page(request, "sites/list.html", viewer=viewer, sites=sites.list_sites(store))


@router.get("/new")
def new_page(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """A site that isn't there yet."""
    return page(request, "sites/edit.html", viewer=viewer, view=sites.new_site_view(store))


@router.post("/new")
def add(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Add a site."""

    def do() -> Answer:
        return sites.add_site(store, form.deed(viewer.actor), form.read(SiteForm).draft())

    return form_done(request, form, "sites/edit.html", do, partial(sites.new_site_view, store))


@router.get("/{site_id}")
def show(request: Request, site_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One site."""
    return page(request, "sites/edit.html", viewer=viewer, view=sites.site_view(store, site_id))


@router.post("/{site_id}")
def save(
    request: Request, site_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save a site."""

    def do() -> Answer:
        return sites.change_site(store, form.deed(viewer.actor), site_id, form.read(SiteForm).draft())

    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))


@router.post("/{site_id}/neighbours/wifi")
def add_wifi(
    request: Request, site_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Add a Wi-Fi network."""

    def do() -> Answer:
        sent = form.read(WifiForm)
        return sites.add_wifi(
            store, form.deed(viewer.actor), site_id, sent.wifi_channel, sent.wifi_width_mhz, sent.wifi_name
        )

    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))


@router.post("/{site_id}/neighbours/signal")
def add_signal(
    request: Request, site_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Add any other signal."""

    def do() -> Answer:
        sent = form.read(SignalForm)
        return sites.add_signal(
            store, form.deed(viewer.actor), site_id, sent.label, sent.centre_mhz, sent.width_mhz
        )

    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))


@router.post("/{site_id}/neighbours/{neighbour_id}/remove")
def remove_neighbour(
    request: Request,
    site_id: RowIdPath,
    neighbour_id: RowIdPath,
    form: FormDep,
    viewer: OrganiserViewer,
    store: StoreDep,
) -> Response:
    """Take a neighbour off the list."""
    do = partial(sites.remove_neighbour, store, form.deed(viewer.actor), site_id, neighbour_id)
    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))


@router.post("/{site_id}/retire")
def retire(
    request: Request, site_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a site no more."""
    do = partial(named_rows.retire, store, form.deed(viewer.actor), named_rows.SITES, site_id)
    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))


@router.post("/{site_id}/bring-back")
def bring_back(
    request: Request, site_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a site again."""
    do = partial(named_rows.bring_back, store, form.deed(viewer.actor), named_rows.SITES, site_id)
    return form_done(request, form, "sites/edit.html", do, partial(sites.site_view, store, site_id))
