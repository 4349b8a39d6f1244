"""What the desk's routes share: the open meet of whoever keeps the desk, and where a one-button deed leads."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Protocol

from fastapi import Depends, Request, Response

from meetapp.flows.deeds import Actor, Answer, Deed
from meetapp.flows.desk import desk
from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.frame import page_frame
from meetapp.flows.giving_way import PATIENCE_S, deeds
from meetapp.store.engine import Store
from meetapp.web.deps import Viewer, need_desk
from meetapp.web.forms import BadForm, PostedForm
from meetapp.web.htmx import wants_fragment
from meetapp.web.render import drawn, go_on, page
from meetapp.web.security import form_token, own_path
from meetapp.web.state import state_of
from meetapp.web.surroundings import Notice, new_key


@dataclass(frozen=True, slots=True)
class OpenDesk:
    """The desk of the open meet, and who keeps it."""

    store: Store
    meet_id: int
    actor: Actor


def need_open_desk(request: Request) -> OpenDesk:
    """The desk of the open meet, for whoever is signed in to it."""
    return open_desk(need_desk(request), state_of(request).store)


def open_desk(viewer: Viewer, store: Store) -> OpenDesk:
    """The desk of the open meet; refused where none is open or this marshal's is another one."""
    return OpenDesk(store, desk.open_meet_id(store, viewer.meet_id), viewer.actor)


OpenDeskDep = Annotated[OpenDesk, Depends(need_open_desk)]


def desk_page(request: Request, at: OpenDesk, *, status: int = 200, refused: MeetError | None = None) -> Response:
    """The desk, with a refusal as its notice where there is one."""
    state = state_of(request)
    deeds.let_pass(PATIENCE_S)
    view = desk.desk_view(at.store, at.meet_id, state.clock(), at.actor)
    part = state.desk_parts.part(view, page_frame(at.store), form_token(request, state.server_secret), new_key)
    if refused is not None:
        return page(request, "desk/desk.html", status=status, view=view, part=part, notice=Notice.of_refusal(refused))
    if wants_fragment(request):
        return drawn(part)
    return page(request, "desk/desk.html", view=view, part=part)


class DeskPage(Protocol):
    """A page of the desk that can be shown with a refusal as its notice."""

    def __call__(
        self, request: Request, at: OpenDesk, *, status: int = 200, refused: MeetError | None = None
    ) -> Response:
        """The page."""


def done_at_desk(
    request: Request, form: PostedForm, at: OpenDesk, do: Callable[[Deed], Answer], told_on: DeskPage = desk_page
) -> Response:
    """Do a one-button deed and go on; a refusal is told on the desk page, or on another one.

    A hidden field `back` brings the marshal back to another page of the desk.
    """
    try:
        answer = do(form.deed(at.actor))
    except NotFound:
        raise
    except MeetError as error:
        return told_on(request, at, status=422 if isinstance(error, BadForm) else 409, refused=error)
    back = own_path(form.values.get("back"), "")
    return go_on(request, form, replace(answer, location=back) if back.startswith("/desk") else answer)
