"""The board: read-only, for a tablet or a television at the field."""

from datetime import datetime

from fastapi import APIRouter, Request, Response

from meetapp.flows.desk import live
from meetapp.flows.pilot import board
from meetapp.store.engine import Store
from meetapp.web.deps import NowDep, StoreDep
from meetapp.web.own_page import RELOAD_S
from meetapp.web.render import page, unchanged

router = APIRouter(prefix="/board")


@router.get("")
def board_page(request: Request, store: StoreDep, now: NowDep) -> Response:
    """The whole board."""
    return _page(request, store, now)


@router.get("/live")
def board_live(request: Request, store: StoreDep, now: NowDep, seen: str = "") -> Response:
    """The part that changes by itself (all of it); nothing where it hasn't changed."""
    return unchanged() if live.live_version(store, now) == seen else _page(request, store, now)


def _page(request: Request, store: Store, now: datetime) -> Response:
    seen = live.live_version(store, now)
    view = board.board_view(store, now)
    return page(
        request, "board/page.html", fragment="board/_live.html", view=view, seen=seen, refresh_s=RELOAD_S
    )
