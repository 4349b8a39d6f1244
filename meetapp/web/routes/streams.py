"""The stream that tells a live page that something changed, and the same as a plain answer for those who ask."""

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import StreamingResponse

from meetapp.flows.desk.live import look
from meetapp.web.broadcast import OwnPage, as_json
from meetapp.web.deps import NowDep, StoreDep, Viewer, desk_viewer, pilot_viewer
from meetapp.web.security import browser_token, masked
from meetapp.web.state import state_of
from meetapp.web.surroundings import new_key

router = APIRouter(prefix="/live")

Whose = Literal["all", "desk", "pilot"]


class SignedOut(Exception):
    """The page belongs to a session that has ended."""


def follower_of(request: Request, whose: Whose) -> Viewer | None:
    """With whose session this page's stream ends; None: the page is everybody's.

    Raises:
        SignedOut: it has ended already.
    """
    if whose == "all":
        return None
    viewer = desk_viewer(request) if whose == "desk" else pilot_viewer(request)
    if viewer is None or viewer.session_id is None:
        raise SignedOut
    return viewer


FollowerDep = Annotated[Viewer | None, Depends(follower_of)]


def own_page_of(request: Request, follower: FollowerDep, shows: str | None = None) -> OwnPage | None:
    """The own page that is followed; its script sends the word of what it `shows`. Whose it is the session says."""
    if shows is None or follower is None or follower.pilot_id is None:
        return None
    token = browser_token(request, state_of(request).server_secret)
    return OwnPage(follower.pilot_id, shows, lambda part: part.dressed(masked(token), new_key))


OwnPageDep = Annotated[OwnPage | None, Depends(own_page_of)]


@router.get("/{whose}")
async def stream(request: Request, follower: FollowerDep, own: OwnPageDep) -> Response:
    """Server-sent events, until the session ends, the page goes or the server stops."""
    broadcaster = state_of(request).broadcaster
    if broadcaster.is_full:
        return Response("Too many pages listen.", status_code=503)
    # 'X-Accel-Buffering' keeps a proxy from holding messages back.
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    messages = broadcaster.follow(follower.session_id if follower else None, own)
    return StreamingResponse(messages, media_type="text/event-stream", headers=headers)


@router.get("/{whose}/now")
def now_in_words(request: Request, store: StoreDep, now: NowDep, own: OwnPageDep) -> Response:
    """What the stream would say now, for pages that can't have it."""
    shown = look(store, now, (), (own.pilot_id,) if own else ())
    part = state_of(request).own_parts.all(shown)[own.pilot_id] if own else None
    return Response(as_json(shown.words, None, own, own.shows if own else "", part), media_type="application/json")
