"""What routes ask for: the store, the time, and who is on the other end."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Path, Request, Response

from meetapp.flows import access
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Forbidden
from meetapp.flows.planning.choosing import SearchJobs
from meetapp.store.engine import Store
from meetapp.web.forms import LARGEST_ID
from meetapp.web.security import DESK_COOKIE, PILOT_COOKIE, read_cookie, seconds_until, set_cookie
from meetapp.web.state import state_of


class SignInNeeded(Exception):
    """The page needs somebody signed in; `door` is where: '/desk/join', '/sign-in' or '/join'."""

    def __init__(self, door: str) -> None:
        super().__init__(door)
        self.door = door


# What takes no time is async: FastAPI hands any other to a thread, and that hand-over is what costs a tap time.
async def get_store(request: Request) -> Store:
    """The club's database."""
    return state_of(request).store


async def get_now(request: Request) -> datetime:
    """The time of this request, UTC."""
    return state_of(request).clock()


async def get_jobs(request: Request) -> SearchJobs:
    """The searches that go on behind pages."""
    return state_of(request).jobs


JobsDep = Annotated[SearchJobs, Depends(get_jobs)]
StoreDep = Annotated[Store, Depends(get_store)]
NowDep = Annotated[datetime, Depends(get_now)]
RowIdPath = Annotated[int, Path(ge=1, le=LARGEST_ID)]


@dataclass(frozen=True, slots=True)
class Viewer:
    """Who looks at the page: 'organiser', 'marshal', 'pilot' or 'bystander'."""

    role: str
    name: str
    session_id: int | None = None
    meet_id: int | None = None
    pilot_id: int | None = None

    @property
    def actor(self) -> Actor:
        """The viewer as the one who acts, for the journal."""
        return Actor(self.role, self.name, self.session_id, self.pilot_id)

    @property
    def keeps_desk(self) -> bool:
        """Whether this person may act for others at the desk."""
        return self.role in ("organiser", "marshal")


BYSTANDER = Viewer("bystander", "")


def _signed_in(request: Request, cookie: str) -> Viewer | None:
    secret = read_cookie(request, cookie)
    if not secret:
        return None
    state = state_of(request)
    # A page left open asks how things stand for as long as it lies there: that is no use of the session.
    is_use = not request.url.path.startswith("/live/")
    return viewer_by(state.store, secret, state.clock(), is_use=is_use)


def viewer_by(store: Store, secret: str, now: datetime, *, is_use: bool = True) -> Viewer | None:
    """Whose session a secret opens."""
    found = access.signed_in(store, secret, now, is_use=is_use)
    return Viewer(found.role, found.name, found.session_id, found.meet_id, found.pilot_id) if found else None


def bind(request: Request, response: Response, cookie: str, session: access.NewSession, now: datetime) -> None:
    """Sign this browser in; whoever was signed in under this cookie before is signed out."""
    if before := read_cookie(request, cookie):
        access.sign_out_by_secret(state_of(request).store, before, now)
    set_cookie(request, response, cookie, session.secret, seconds_until(session.ends_at, now))


def desk_viewer(request: Request) -> Viewer | None:
    """The organiser or marshal signed in on this browser."""
    return _signed_in(request, DESK_COOKIE)


def pilot_viewer(request: Request) -> Viewer | None:
    """The pilot whose phone this is."""
    return _signed_in(request, PILOT_COOKIE)


def any_viewer(request: Request) -> Viewer:
    """Whoever looks: the desk's session first, then the pilot's, else a bystander."""
    return desk_viewer(request) or pilot_viewer(request) or BYSTANDER


def not_signed_out(request: Request) -> Viewer:
    """Whoever looks, bystanders too; a marshal or pilot whose session has ended is sent to sign in first."""
    viewer = any_viewer(request)
    if viewer is BYSTANDER:
        for cookie, door in ((DESK_COOKIE, "/desk/join"), (PILOT_COOKIE, "/join")):
            if read_cookie(request, cookie):
                raise SignInNeeded(door)
    return viewer


def need_desk(request: Request) -> Viewer:
    """A marshal or the organiser; others are sent to the desk's sign-in."""
    viewer = desk_viewer(request)
    if viewer is None:
        raise SignInNeeded("/desk/join")
    return viewer


def need_organiser(request: Request) -> Viewer:
    """The organiser; a marshal is told so, others are sent to sign in."""
    viewer = desk_viewer(request)
    if viewer is None:
        raise SignInNeeded("/sign-in")
    if viewer.role != "organiser":
        raise Forbidden("This page is the organiser's.", "Sign in as organiser, or go back to the desk.")
    return viewer


def need_pilot(request: Request) -> Viewer:
    """The pilot whose phone this is; others are sent to claim their name."""
    viewer = pilot_viewer(request)
    if viewer is None:
        raise SignInNeeded("/join")
    return viewer


AnyViewer = Annotated[Viewer, Depends(any_viewer)]
AnySender = Annotated[Viewer, Depends(not_signed_out)]
DeskViewer = Annotated[Viewer, Depends(need_desk)]
OrganiserViewer = Annotated[Viewer, Depends(need_organiser)]
PilotViewer = Annotated[Viewer, Depends(need_pilot)]
