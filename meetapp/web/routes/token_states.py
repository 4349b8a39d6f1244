"""One token at the desk: where it is, who had it, missing, found, withdrawn, whose turn it is."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.desk import token_page
from meetapp.flows.loans import sharing, token_states
from meetapp.web.at_desk import OpenDeskDep, done_at_desk
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep
from meetapp.web.render import page

router = APIRouter(prefix="/desk/tokens/{token_id}")


@router.get("")
def details(request: Request, token_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """One token: its state, who has it or had it, what can be done with it."""
    return page(request, "desk/token.html", view=token_page.token_page(at.store, at.meet_id, token_id, now))


@router.post("/missing")
def missing(request: Request, token_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Say that a token is missing."""
    return done_at_desk(request, form, at, lambda deed: token_states.mark_missing(at.store, deed, at.meet_id, token_id))


@router.post("/found")
def found(request: Request, token_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Say that a missing token is here again, or put a withdrawn one back in use."""
    return done_at_desk(request, form, at, lambda deed: token_states.mark_found(at.store, deed, at.meet_id, token_id))


@router.post("/withdraw")
def withdraw(request: Request, token_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Take a token out of use."""
    return done_at_desk(request, form, at, lambda deed: token_states.withdraw(at.store, deed, at.meet_id, token_id))


@router.post("/swap-turns")
def swap_turns(request: Request, token_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """The other one's turn, where two pilots use this token by turns."""
    return done_at_desk(request, form, at, lambda deed: sharing.swap_turns(at.store, deed, at.meet_id, token_id))


@router.post("/end-turns")
def end_turns(request: Request, token_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """They don't use it by turns any more; whoever holds it keeps it."""
    return done_at_desk(request, form, at, lambda deed: sharing.end(at.store, deed, at.meet_id, token_id))
