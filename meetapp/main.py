"""Put the app together: store, clock, templates, routes, error pages."""

from collections.abc import Callable
from datetime import datetime

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from meetapp.config import Settings, data_folder
from meetapp.flows import access
from meetapp.flows.club.own_copies import OwnCopies, Start, in_a_thread
from meetapp.flows.desk.live import look
from meetapp.flows.guess_counts import counts_of
from meetapp.flows.guessing import Guesses
from meetapp.flows.journal import newest_entry_of_open_meet
from meetapp.flows.planning.choosing import SearchJobs
from meetapp.steady_clock import SteadyClock
from meetapp.store.engine import Store
from meetapp.web.bodies import BodyLimits
from meetapp.web.broadcast import Broadcaster, Told
from meetapp.web.desk_part import DeskParts
from meetapp.web.errors import add_error_pages
from meetapp.web.hosts import own_names
from meetapp.web.own_part import OwnParts
from meetapp.web.render import make_templates
from meetapp.web.routes import all_routers
from meetapp.web.security import OwnPagesOnly
from meetapp.web.state import AppState
from meetapp.web.static_files import FingerprintedFiles
from meetapp.web.turns import Turns


def create_app(
    settings: Settings, clock: Callable[[], datetime] | None = None, jobs: SearchJobs | None = None
) -> FastAPI:
    """The web app over a database that has been brought forward already.

    `clock` None: the machine's, never backwards. `jobs` None: searches in threads.
    """
    app = routed_app()
    app.state.meetapp = app_state(settings, clock or _clock(settings), jobs or SearchJobs())
    return app


def _clock(settings: Settings) -> SteadyClock:
    store = Store(settings.database_url)
    newest = newest_entry_of_open_meet(store)
    store.close()
    return SteadyClock(newest)


def routed_app() -> FastAPI:
    """The app's routes, error pages and guards; it serves once `app.state.meetapp` is there."""
    app = FastAPI(title="meetapp", docs_url=None, redoc_url=None, openapi_url=None)
    app.add_middleware(BodyLimits)
    app.add_middleware(OwnPagesOnly)
    app.add_middleware(Turns)
    # Outermost, so that it packs everything; it sends event streams on as they come. Level 6: half the time of 9.
    app.add_middleware(GZipMiddleware, compresslevel=6)
    app.mount("/static", FingerprintedFiles(data_folder("static")), name="static")
    for router in all_routers():
        app.include_router(router)
    add_error_pages(app)
    return app


def app_state(
    settings: Settings, clock: Callable[[], datetime], jobs: SearchJobs, copying: Start = in_a_thread
) -> AppState:
    """What the app carries, over its database."""
    store, templates = Store(settings.database_url), make_templates(data_folder("templates"))
    own_parts = OwnParts(templates)

    def tell(session_ids: frozenset[int], pilot_ids: frozenset[int]) -> Told:
        shown = look(store, clock(), session_ids, pilot_ids)
        return Told(shown.words, shown.sessions, own_parts.all(shown))

    return AppState(
        store=store,
        clock=clock,
        templates=templates,
        server_secret=access.server_secret(store, clock()),
        jobs=jobs,
        broadcaster=Broadcaster(tell, store.changes.subscribe),
        own_parts=own_parts,
        desk_parts=DeskParts(templates),
        own_names=own_names(settings.host, *settings.names),
        guesses=Guesses(counts=counts_of(store)),
        copies=OwnCopies(settings.database_url, data_folder("migrations"), copying),
        is_demo=settings.is_demo,
        search_seconds=settings.search_seconds,
    )
