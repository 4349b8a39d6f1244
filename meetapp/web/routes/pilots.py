"""The club's pilots and their transmitters."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import pilots, transmitters
from meetapp.flows.deeds import Answer
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, RowId, ShortText
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/organiser/pilots")

LONGEST_SEARCH = 80
Nickname = Annotated[str, Field(max_length=80, title="the nickname")]
Wake = Annotated[str, Field(max_length=20, title="what it wakes on")]


class PilotForm(FormModel):
    """What the organiser says about a pilot."""

    name: Annotated[ShortText, Field(title="the name")]
    board_name: Annotated[str, Field(max_length=80, title="the board name")] = ""
    band_profile_id: OptionalRowId = None

    def draft(self) -> pilots.PilotDraft:
        """The same for the flow."""
        return pilots.PilotDraft(self.name, self.board_name, self.band_profile_id)


class NewPilotForm(PilotForm):
    """A new pilot, with a first transmitter where its kind is told."""

    kind_id: OptionalRowId = None
    nickname: Nickname = ""
    wake: Wake = ""

    def transmitter(self) -> transmitters.TransmitterDraft | None:
        """The first transmitter, if one was told."""
        if self.kind_id is None:
            return None
        return transmitters.TransmitterDraft(self.kind_id, self.nickname, self.wake)


class TransmitterForm(FormModel):
    """What is said about a transmitter."""

    kind_id: Annotated[RowId, Field(title="the kind of transmitter")]
    nickname: Nickname = ""
    wake: Wake = ""

    def draft(self) -> transmitters.TransmitterDraft:
        """The same for the flow."""
        return transmitters.TransmitterDraft(self.kind_id, self.nickname, self.wake)


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep, search: str = "") -> Response:
    """The pilots by name."""
    return page(
        request, "pilots/list.html", viewer=viewer, view=pilots.list_pilots(store, search[:LONGEST_SEARCH])
    )


@router.get("/new")
def new_page(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """A pilot who isn't there yet."""
    return page(request, "pilots/edit.html", viewer=viewer, view=pilots.new_pilot_view(store))


@router.post("/new")
def add(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Add a pilot."""

    def do() -> Answer:
        sent = form.read(NewPilotForm)
        return pilots.add_pilot(store, form.deed(viewer.actor), sent.draft(), sent.transmitter())

    return form_done(request, form, "pilots/edit.html", do, partial(pilots.new_pilot_view, store))


@router.get("/{pilot_id}")
def show(request: Request, pilot_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One pilot."""
    return page(request, "pilots/edit.html", viewer=viewer, view=pilots.pilot_view(store, pilot_id))


@router.post("/{pilot_id}")
def save(
    request: Request, pilot_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save a pilot."""

    def do() -> Answer:
        return pilots.change_pilot(store, form.deed(viewer.actor), pilot_id, form.read(PilotForm).draft())

    return form_done(request, form, "pilots/edit.html", do, partial(pilots.pilot_view, store, pilot_id))


@router.post("/{pilot_id}/retire")
def retire(
    request: Request, pilot_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """A pilot doesn't come any more."""
    do = partial(pilots.retire_pilot, store, form.deed(viewer.actor), pilot_id)
    return form_done(request, form, "pilots/edit.html", do, partial(pilots.pilot_view, store, pilot_id))


@router.post("/{pilot_id}/bring-back")
def bring_back(
    request: Request, pilot_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """A pilot comes again."""
    do = partial(pilots.bring_back_pilot, store, form.deed(viewer.actor), pilot_id)
    return form_done(request, form, "pilots/edit.html", do, partial(pilots.pilot_view, store, pilot_id))


@router.get("/{pilot_id}/transmitters/new")
def new_transmitter(request: Request, pilot_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """A transmitter that isn't there yet."""
    view = transmitters.new_transmitter_view(store, pilot_id)
    return page(request, "pilots/transmitter.html", viewer=viewer, view=view)


@router.post("/{pilot_id}/transmitters/new")
def add_transmitter(
    request: Request, pilot_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Add a transmitter to a pilot."""

    def do() -> Answer:
        return transmitters.add_transmitter(
            store, form.deed(viewer.actor), pilot_id, form.read(TransmitterForm).draft()
        )

    view = partial(transmitters.new_transmitter_view, store, pilot_id)
    return form_done(request, form, "pilots/transmitter.html", do, view)


@router.get("/{pilot_id}/transmitters/{transmitter_id}")
def show_transmitter(
    request: Request, pilot_id: RowIdPath, transmitter_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """One transmitter."""
    view = transmitters.transmitter_view(store, pilot_id, transmitter_id)
    return page(request, "pilots/transmitter.html", viewer=viewer, view=view)


@router.post("/{pilot_id}/transmitters/{transmitter_id}")
def save_transmitter(
    request: Request,
    pilot_id: RowIdPath,
    transmitter_id: RowIdPath,
    form: FormDep,
    viewer: OrganiserViewer,
    store: StoreDep,
) -> Response:
    """Save a transmitter."""

    def do() -> Answer:
        return transmitters.change_transmitter(
            store, form.deed(viewer.actor), pilot_id, transmitter_id, form.read(TransmitterForm).draft()
        )

    view = partial(transmitters.transmitter_view, store, pilot_id, transmitter_id)
    return form_done(request, form, "pilots/transmitter.html", do, view)


@router.post("/{pilot_id}/transmitters/{transmitter_id}/retire")
def retire_transmitter(
    request: Request,
    pilot_id: RowIdPath,
    transmitter_id: RowIdPath,
    form: FormDep,
    viewer: OrganiserViewer,
    store: StoreDep,
) -> Response:
    """A pilot doesn't fly it any more."""
    do = partial(transmitters.retire_transmitter, store, form.deed(viewer.actor), pilot_id, transmitter_id)
    view = partial(transmitters.transmitter_view, store, pilot_id, transmitter_id)
    return form_done(request, form, "pilots/transmitter.html", do, view)


@router.post("/{pilot_id}/transmitters/{transmitter_id}/bring-back")
def bring_back_transmitter(
    request: Request,
    pilot_id: RowIdPath,
    transmitter_id: RowIdPath,
    form: FormDep,
    viewer: OrganiserViewer,
    store: StoreDep,
) -> Response:
    """A pilot flies it again."""
    do = partial(transmitters.bring_back_transmitter, store, form.deed(viewer.actor), pilot_id, transmitter_id)
    view = partial(transmitters.transmitter_view, store, pilot_id, transmitter_id)
    return form_done(request, form, "pilots/transmitter.html", do, view)
