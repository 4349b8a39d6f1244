"""Band profiles: published ones to read, own ones to write."""

from datetime import date
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import bands, named_rows
from meetapp.flows.deeds import Answer
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import Blank, FormDep, FormModel, LongText, ShortText, row_id
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/organiser/bands")


class BandForm(FormModel):
    """What the organiser says about a band profile."""

    name: Annotated[ShortText, Field(title="the name")]
    segments: Annotated[LongText, Field(title="the edges")] = ""
    condition: Annotated[LongText, Field(title="the condition")] = ""
    source: Annotated[str, Field(min_length=1, max_length=500, title="the source")]
    read_on: Annotated[date | None, Blank, Field(title="the day it was read")] = None

    def draft(self) -> bands.BandDraft:
        """The same for the flow."""
        return bands.BandDraft(**self.model_dump())


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every band profile."""
    return page(request, "bands/list.html", viewer=viewer, bands=bands.list_bands(store))


@router.get("/new")
def new_page(request: Request, viewer: OrganiserViewer, store: StoreDep, like: str = "") -> Response:
    """A profile that isn't there yet, empty or like another one."""
    return page(request, "bands/edit.html", viewer=viewer, view=bands.new_band_view(store, row_id(like)))


@router.post("/new")
def add(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Add a profile of the club's own."""

    def do() -> Answer:
        return bands.add_band(store, form.deed(viewer.actor), form.read(BandForm).draft())

    return form_done(request, form, "bands/edit.html", do, partial(bands.new_band_view, store, None))


@router.get("/{profile_id}")
def show(request: Request, profile_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One profile."""
    view = bands.band_view(store, profile_id)
    template = "bands/edit.html" if view.is_own else "bands/published.html"
    return page(request, template, viewer=viewer, view=view)


@router.post("/{profile_id}")
def save(
    request: Request, profile_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save a profile of the club's own."""

    def do() -> Answer:
        return bands.change_band(store, form.deed(viewer.actor), profile_id, form.read(BandForm).draft())

    return form_done(request, form, "bands/edit.html", do, partial(bands.band_view, store, profile_id))


@router.post("/{profile_id}/retire")
def retire(
    request: Request, profile_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a profile no more."""
    do = partial(named_rows.retire, store, form.deed(viewer.actor), named_rows.BAND_PROFILES, profile_id)
    return form_done(request, form, "bands/published.html", do, partial(bands.band_view, store, profile_id))


@router.post("/{profile_id}/bring-back")
def bring_back(
    request: Request, profile_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a profile again."""
    do = partial(named_rows.bring_back, store, form.deed(viewer.actor), named_rows.BAND_PROFILES, profile_id)
    return form_done(request, form, "bands/published.html", do, partial(bands.band_view, store, profile_id))
