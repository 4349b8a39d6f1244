"""The waiting line at the desk: into it, out of it, not ready, ready again."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.loans import line
from meetapp.web.at_desk import OpenDeskDep, done_at_desk
from meetapp.web.deps import RowIdPath
from meetapp.web.forms import FormDep

router = APIRouter(prefix="/desk/line/{pilot_id}")


@router.post("/join")
def join(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Put a pilot at the end of the line."""
    return done_at_desk(request, form, at, lambda deed: line.join_line(at.store, deed, at.meet_id, pilot_id))


@router.post("/leave")
def leave(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Take a pilot out of the line."""
    return done_at_desk(request, form, at, lambda deed: line.leave_line(at.store, deed, at.meet_id, pilot_id))


@router.post("/not-ready")
def not_ready(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Pass a pilot once; the place is kept."""
    return done_at_desk(request, form, at, lambda deed: line.not_ready(at.store, deed, at.meet_id, pilot_id))


@router.post("/ready")
def ready(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """A pilot who wasn't ready is ready again."""
    return done_at_desk(request, form, at, lambda deed: line.ready_again(at.store, deed, at.meet_id, pilot_id))
