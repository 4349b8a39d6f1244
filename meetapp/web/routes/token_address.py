"""A token's own short address, for the code on the tag: scanned or typed."""

from urllib.parse import quote

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from meetapp.flows.errors import NotFound
from meetapp.flows.pilot import self_service, token_address
from meetapp.web.deps import AnyViewer, NowDep, StoreDep
from meetapp.web.forms import FormDep
from meetapp.web.own_page import OwnDep, done_on_own_page
from meetapp.web.render import page

router = APIRouter(prefix="/t")

LONGEST_CODE = 40


@router.get("")
def type_code(request: Request, code: str = "") -> Response:
    """Where a code is typed; goes on to the token's address."""
    typed = "".join(sign for sign in code.upper() if sign.isalnum() or sign in "-._")[:LONGEST_CODE]
    if typed:
        return RedirectResponse(f"/t/{quote(typed)}", status_code=303)
    return page(request, "token/type.html", refused=None, typed="", is_empty="code" in request.query_params)


@router.get("/{code}")
def token(request: Request, code: str, viewer: AnyViewer, store: StoreDep, now: NowDep) -> Response:
    """The right action for whoever opens it; a stranger learns only whom to ask."""
    try:
        if viewer.keeps_desk:
            view = token_address.desk_tag(store, code, now)
            return page(request, "token/desk.html", viewer=viewer, view=view)
        if viewer.pilot_id is not None:
            mine = token_address.pilot_tag(store, code, viewer.pilot_id, now)
            return page(request, "token/pilot.html", viewer=viewer, view=mine)
    except NotFound as error:
        return page(request, "token/type.html", status=404, refused=error.sentence, typed=code, is_empty=False)
    return page(request, "token/stranger.html")


@router.post("/{code}/take")
def take(request: Request, code: str, form: FormDep, own: OwnDep) -> Response:
    """A pilot takes the token from the board."""
    return done_on_own_page(
        request,
        form,
        own,
        lambda deed: self_service.take(own.store, deed, own.pilot_id, token_address.token_id_of(own.store, code)),
    )
