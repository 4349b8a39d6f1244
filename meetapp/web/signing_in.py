"""Who isn't signed in is shown the door, and let in again where they came from, with what they had typed."""

from urllib.parse import quote

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from starlette.concurrency import run_in_threadpool

from meetapp.flows.access import NewSession
from meetapp.flows.errors import MeetError
from meetapp.web.deps import BYSTANDER, SignInNeeded, bind, viewer_by
from meetapp.web.forms import PostedForm, read_form
from meetapp.web.htmx import wants_fragment
from meetapp.web.kept_forms import kept_form, packed, page_before, unpacked
from meetapp.web.render import page
from meetapp.web.security import DESK_COOKIE
from meetapp.web.state import state_of

_PAGES = {"/desk/join": "access/join_desk.html", "/sign-in": "access/sign_in.html"}
_BEHIND = {"/desk/join": "/desk", "/sign-in": "/organiser"}


async def sign_in_needed(request: Request, error: Exception) -> Response:
    """The way to the door; for a form the door itself, with the form kept."""
    assert isinstance(error, SignInNeeded)
    if request.method != "POST":
        return _to_door(request, error.door, _address(request))
    if wants_fragment(request):
        return _to_door(request, error.door, _page_before(request, error.door))
    try:
        form = getattr(request.state, "posted", None) or await read_form(request)
    except MeetError:  # no form of ours: nothing to keep
        return _to_door(request, error.door, "")
    return await run_in_threadpool(_door, request, error.door, form)


def _address(request: Request) -> str:
    return request.url.path + (f"?{request.url.query}" if request.url.query else "")


def _page_before(request: Request, door: str) -> str:
    return page_before(request, _BEHIND.get(door, "/my"))


def _to_door(request: Request, door: str, next_path: str) -> Response:
    address = f"{door}?next={quote(next_path)}" if door in _PAGES else door
    if wants_fragment(request):
        return Response(status_code=200, headers={"HX-Redirect": address})
    return RedirectResponse(address, status_code=303)


def _door(request: Request, door: str, form: PostedForm) -> Response:
    before = _page_before(request, door)
    kept = kept_form(request, form, before)
    if door not in _PAGES:
        if kept is None:
            return _to_door(request, door, "")
        return page(request, "access/send_again.html", status=401, viewer=BYSTANDER, kept=kept, door=door)
    values = {"kept": packed(request, kept) if kept else ""}
    return page(request, _PAGES[door], status=401, next_path=before, form_values=values)


def let_in(request: Request, form: PostedForm, session: NewSession, next_path: str) -> Response:
    """Sign in at the desk and go on; where a form was kept, ask whether to send it again."""
    state = state_of(request)
    now = form.now
    kept = unpacked(request, form.values.get("kept", ""))
    response: Response
    if kept is None:
        response = RedirectResponse(next_path, status_code=303)
    else:
        viewer = viewer_by(state.store, session.secret, now)
        response = page(request, "access/send_again.html", viewer=viewer, kept=kept, door=None)
    bind(request, response, DESK_COOKIE, session, now)
    return response
