"""What the running app carries: the store, the clock, the templates. Put on the app by `meetapp.main`."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from fastapi import Request
from jinja2 import Environment

from meetapp.flows.club.own_copies import OwnCopies
from meetapp.flows.guessing import Guesses
from meetapp.flows.planning.choosing import SearchJobs
from meetapp.store.engine import Store
from meetapp.web.broadcast import Broadcaster
from meetapp.web.desk_part import DeskParts
from meetapp.web.own_part import OwnParts


@dataclass(frozen=True, slots=True)
class AppState:
    """One per app. `clock` gives aware UTC times, `server_secret` makes form tokens, `jobs` search behind pages,
    `broadcaster` tells live pages that something changed,
    `own_parts` draws pilots' own pages, `desk_parts` the desk, `copies` makes copies of the club's file,
    `guesses` holds guessing of PINs and passwords back, `own_names` are this machine's.

    `search_seconds`: see `meetapp.config.Settings`.
    """

    store: Store
    clock: Callable[[], datetime]
    templates: Environment
    server_secret: str
    jobs: SearchJobs
    broadcaster: Broadcaster
    own_parts: OwnParts
    desk_parts: DeskParts
    copies: OwnCopies
    guesses: Guesses = field(default_factory=Guesses)
    own_names: frozenset[str] = frozenset()
    is_demo: bool = False
    search_seconds: float = 2


def state_of(request: Request) -> AppState:
    """The state of the app that serves this request."""
    state: AppState = request.app.state.meetapp
    return state
