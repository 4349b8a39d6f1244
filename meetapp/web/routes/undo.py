"""Undo of one's own last action."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.frame import page_frame
from meetapp.flows.loans import undo
from meetapp.web.at_desk import done_at_desk, open_desk
from meetapp.web.deps import AnySender, RowIdPath, StoreDep
from meetapp.web.forms import FormDep
from meetapp.web.render import go_on

router = APIRouter()


@router.post("/undo/{journal_id}")
def take_back(request: Request, journal_id: RowIdPath, form: FormDep, viewer: AnySender, store: StoreDep) -> Response:
    """Take back what one journal line did; at the desk a refusal is told on the desk."""
    if viewer.keeps_desk and page_frame(store).meet_id is not None:
        at = open_desk(viewer, store)
        return done_at_desk(request, form, at, lambda deed: undo.undo(store, deed, journal_id))
    return go_on(request, form, undo.undo(store, form.deed(viewer.actor), journal_id))
