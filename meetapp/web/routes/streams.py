"""The stream that tells a live page that something changed, and the same as a plain answer for those who ask."""

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import StreamingResponse

from meetapp.flows.desk.live import look
from meetapp.web.broadcast import as_json
from meetapp.web.deps import NowDep, StoreDep, desk_viewer, pilot_viewer
from meetapp.web.state import state_of

router = APIRouter(prefix="/live")

Whose = Literal["all", "desk", "pilot"]


class SignedOut(Exception):
    """The page belongs to a session that has ended."""


def session_of(request: Request, whose: Whose) -> int | None:
    """The session that this page's stream ends with; None: the page is everybody's.

    Raises:
        SignedOut: it has ended already.
    """
    if whose == "all":
        return None
    viewer = desk_viewer(request) if whose == "desk" else pilot_viewer(request)
    if viewer is None or viewer.session_id is None:
        raise SignedOut
    return viewer.session_id


SessionDep = Annotated[int | None, Depends(session_of)]


@router.get("/{whose}")
async def stream(request: Request, session_id: SessionDep) -> Response:
    """Server-sent events, until the session ends, the page goes or the server stops."""
    broadcaster = state_of(request).broadcaster
    if broadcaster.is_full:
        return Response("Too many pages listen.", status_code=503)
    # 'X-Accel-Buffering' keeps a proxy from holding messages back.
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    return StreamingResponse(broadcaster.follow(session_id), media_type="text/event-stream", headers=headers)


@router.get("/{whose}/now")
def now_in_words(store: StoreDep, now: NowDep, _session_id: SessionDep) -> Response:
    """What the stream would say now, for pages that can't have it."""
    return Response(as_json(look(store, now, ()).words), media_type="application/json")
