"""What the routes of a pilot's own page share: whose it is, the page itself, and where a one-button deed leads."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Request, Response

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.desk import live
from meetapp.flows.errors import MeetError
from meetapp.flows.pilot import pilot_page
from meetapp.store.engine import Store
from meetapp.web.deps import PilotViewer, StoreDep, Viewer
from meetapp.web.forms import BadForm, PostedForm
from meetapp.web.render import go_on, page
from meetapp.web.state import state_of
from meetapp.web.surroundings import Notice

RELOAD_S = 10
"""How often the page comes again by itself where JavaScript is off."""


@dataclass(frozen=True, slots=True)
class Own:
    """The pilot whose phone this is, with the store."""

    store: Store
    viewer: Viewer
    pilot_id: int


def need_own(viewer: PilotViewer, store: StoreDep) -> Own:
    """The pilot of this phone; others are sent to claim their name."""
    assert viewer.pilot_id is not None, "a pilot's session names its pilot"
    return Own(store, viewer, viewer.pilot_id)


OwnDep = Annotated[Own, Depends(need_own)]


def own_page(
    request: Request, own: Own, *, status: int = 200, address: str | None = None, refused: MeetError | None = None
) -> Response:
    """The own page, with a refusal as its notice where there is one. `address`: the secret one, to be kept."""
    now = state_of(request).clock()
    names: dict[str, Any] = {
        # Before the view: what happens in between is then asked for once more, never missed.
        "seen": live.live_version(own.store, now),
        "view": pilot_page.my_view(own.store, own.pilot_id, now),
        "address": address,
        "refresh_s": None if refused else RELOAD_S,
    }
    if refused is not None:
        message = " ".join(refused.errors.values()) if isinstance(refused, BadForm) else refused.message
        names["notice"] = Notice(message, kind="refused", hint=refused.hint)
    return page(request, "my/page.html", fragment="my/_live.html", status=status, viewer=own.viewer, **names)


def done_on_own_page(request: Request, form: PostedForm, own: Own, do: Callable[[Deed], Answer]) -> Response:
    """Do a one-button deed as this pilot and go on; a refusal is told on the own page."""
    try:
        answer = do(form.deed(own.viewer.actor))
    except MeetError as error:
        return own_page(request, own, status=422 if isinstance(error, BadForm) else 409, refused=error)
    return go_on(request, form, answer)
