"""The open meet's public page: claim a name, add oneself; and the desk's new link for a pilot."""

from typing import Annotated

import segno
from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import Field

from meetapp.flows.club import own_links
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import MeetError
from meetapp.flows.pilot import claims
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.web.addresses import base_address
from meetapp.web.deps import AnyViewer, DeskViewer, RowIdPath, StoreDep, pilot_viewer
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, PostedForm, ShortText
from meetapp.web.link_secrets import link_secret
from meetapp.web.render import form_again, page

router = APIRouter()

BoardName = Annotated[str, Field(max_length=24, title="the name for the board")]
LONGEST_SEARCH = 80
Wake = Annotated[str, Field(max_length=20, title="what it wakes on")]


class BroughtForm(FormModel):
    """Today's transmitter: one of the pilot's own, or a new one by its kind; and whether the pilot is at the field."""

    transmitter: OptionalRowId = None
    kind_id: OptionalRowId = None
    wake: Wake = ""
    is_here: bool = False

    def brought(self) -> Brought:
        """The same for the flow. A kind that was chosen is a new transmitter."""
        return Brought(None if self.kind_id else self.transmitter, self.kind_id, self.wake)


class NewcomerForm(BroughtForm):
    """A pilot who isn't on the list."""

    name: Annotated[ShortText, Field(title="your name")]
    board_name: BoardName = ""


@router.get("/join")
def join_page(request: Request, viewer: AnyViewer, store: StoreDep, search: str = "") -> Response:
    """The list of names to claim."""
    bound = pilot_viewer(request)
    return page(
        request,
        "join/names.html",
        view=claims.join_view(store, search[:LONGEST_SEARCH]),
        bound_to=bound.name if bound else None,
        gives_links=viewer.keeps_desk,
    )


@router.get("/join/new")
def newcomer_page(request: Request, store: StoreDep) -> Response:
    """Where a pilot who isn't on the list adds themself."""
    return page(request, "join/new.html", kinds=claims.kinds_for_newcomer(store))


@router.post("/join/new")
def add_self(request: Request, form: FormDep, store: StoreDep) -> Response:
    """Add oneself; the phone is bound when the own page opens."""
    secret = link_secret(request, form)
    try:
        sent = form.read(NewcomerForm)
        newcomer = claims.Newcomer(sent.name, sent.board_name, sent.brought(), sent.is_here)
        claims.add_self(store, form.deed(Actor("pilot", sent.board_name or sent.name)), newcomer, secret)
    except MeetError as error:
        return form_again(request, "join/new.html", form, error, kinds=claims.kinds_for_newcomer(store))
    return _to_own_page(form, secret)


@router.get("/join/{pilot_id}")
def claim_page(request: Request, pilot_id: RowIdPath, store: StoreDep) -> Response:
    """One name: is it you, and what did you bring?"""
    return page(request, "join/claim.html", view=claims.claim_view(store, pilot_id))


@router.post("/join/{pilot_id}")
def claim(request: Request, pilot_id: RowIdPath, form: FormDep, store: StoreDep) -> Response:
    """Claim a name; the phone is bound when the own page opens."""
    secret = link_secret(request, form)
    actor = Actor("pilot", own_links.pilot_name(store, pilot_id), pilot_id=pilot_id)
    try:
        sent = form.read(BroughtForm)
        claims.claim(store, form.deed(actor), claims.Claim(pilot_id, sent.brought(), sent.is_here), secret)
    except MeetError as error:
        return form_again(request, "join/claim.html", form, error, view=claims.claim_view(store, pilot_id))
    return _to_own_page(form, secret)


def _to_own_page(form: PostedForm, secret: str) -> Response:
    return RedirectResponse(f"/my/{secret}?done={form.key}", status_code=303)


@router.get("/desk/pilots/{pilot_id}/new-link")
def new_link_page(request: Request, pilot_id: RowIdPath, viewer: DeskViewer, store: StoreDep) -> Response:
    """What a new link does, and the button."""
    name = own_links.pilot_name(store, pilot_id)
    return page(request, "join/new_link.html", viewer=viewer, pilot_id=pilot_id, board_name=name)


@router.post("/desk/pilots/{pilot_id}/new-link")
def new_link(
    request: Request, pilot_id: RowIdPath, form: FormDep, viewer: DeskViewer, store: StoreDep
) -> Response:
    """Make a new link and show it this once, with a code to scan."""
    secret = link_secret(request, form)
    own_links.new_link(store, form.deed(viewer.actor), pilot_id, secret)
    address = f"{base_address(request, own_links.field_address(store))}/my/{secret}"
    return page(
        request,
        "join/link_shown.html",
        viewer=viewer,
        pilot_id=pilot_id,
        board_name=own_links.pilot_name(store, pilot_id),
        address=address,
        qr=segno.make(address, micro=False).svg_data_uri(scale=8, border=4, light="white"),
    )
