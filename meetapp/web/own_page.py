"""What the routes of a pilot's own page share: whose it is, the page itself, and where a one-button deed leads."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends, Request, Response

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.desk import live
from meetapp.flows.errors import MeetError
from meetapp.flows.pilot.own_view import MyView, no_page
from meetapp.store.engine import Store
from meetapp.web.deps import PilotViewer, StoreDep, Viewer
from meetapp.web.forms import BadForm, PostedForm
from meetapp.web.htmx import wants_fragment
from meetapp.web.own_part import OwnPart, OwnParts
from meetapp.web.render import drawn, go_on, page
from meetapp.web.security import form_token
from meetapp.web.state import state_of
from meetapp.web.surroundings import Notice, new_key

RELOAD_S = 10
"""How often the page comes again by itself where JavaScript is off."""


@dataclass(frozen=True, slots=True)
class Own:
    """The pilot whose phone this is, with the store."""

    store: Store
    viewer: Viewer
    pilot_id: int


async def need_own(viewer: PilotViewer, store: StoreDep) -> Own:
    """The pilot of this phone; others are sent to claim their name."""
    assert viewer.pilot_id is not None, "a pilot's session names its pilot"
    return Own(store, viewer, viewer.pilot_id)


OwnDep = Annotated[Own, Depends(need_own)]


def own_part(own: Own, now: datetime, parts: OwnParts) -> tuple[MyView, OwnPart]:
    """What the own page shows now, and the part of it that changes by itself.

    Raises:
        NotFound: the pilot was retired.
    """
    shown = live.look(own.store, now, (), (own.pilot_id,))
    view = shown.own[own.pilot_id]
    if view is None:
        raise no_page()
    return view, parts.part(view, shown.frame)


def own_page(
    request: Request, own: Own, *, status: int = 200, address: str | None = None, refused: MeetError | None = None
) -> Response:
    """The own page, with a refusal as its notice where there is one. `address`: the secret one, to be kept."""
    state = state_of(request)
    view, part = own_part(own, state.clock(), state.own_parts)
    html = part.dressed(form_token(request, state.server_secret), new_key)
    if wants_fragment(request):
        return drawn(html, status)
    names: dict[str, Any] = {
        "view": view,
        "part": html,
        "address": address,
        "refresh_s": None if refused else RELOAD_S,
    }
    if refused is not None:
        names["notice"] = Notice.of_refusal(refused)
    return page(request, "my/page.html", status=status, viewer=own.viewer, **names)


def done_on_own_page(request: Request, form: PostedForm, own: Own, do: Callable[[Deed], Answer]) -> Response:
    """Do a one-button deed as this pilot and go on; a refusal is told on the own page."""
    try:
        answer = do(form.deed(own.viewer.actor))
    except MeetError as error:
        return own_page(request, own, status=422 if isinstance(error, BadForm) else 409, refused=error)
    return go_on(request, form, answer)
