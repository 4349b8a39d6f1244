"""Undo of one's own last action."""

from fastapi import APIRouter, Request, Response

from meetapp.flows import undo
from meetapp.web.deps import AnyViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep
from meetapp.web.render import go_on

router = APIRouter()


@router.post("/undo/{journal_id}")
def take_back(request: Request, journal_id: RowIdPath, form: FormDep, viewer: AnyViewer, store: StoreDep) -> Response:
    """Take back what one journal line did."""
    return go_on(request, form, undo.undo(store, form.deed(viewer.actor), journal_id))
