"""The front door: start page, first visit, signing in and out."""

from typing import Annotated, Literal

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from pydantic import Field

from meetapp.flows import access
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import MeetError
from meetapp.web.deps import NowDep, OrganiserViewer, StoreDep, bind, desk_viewer, pilot_viewer
from meetapp.web.forms import FormDep, FormModel, LongText, ShortText
from meetapp.web.guesser import GuesserDep
from meetapp.web.render import form_again, go_on, page
from meetapp.web.security import DESK_COOKIE, PILOT_COOKIE, drop_cookie, is_tls, own_path
from meetapp.web.signing_in import let_in

router = APIRouter()

Password = Annotated[str, Field(min_length=1, max_length=200, title="password")]

FIRST_SAFETY_WORDS = """\
No power before you hold the token.
Antenna on before power; propellers off on the bench; low power is not silence.
Picture gone: come down now by the club's rule, away from people. Nobody walks out until the course is closed. \
Tell the desk after landing.
Give the token up when somebody waits."""


class FirstVisitForm(FormModel):
    """The club's name, the organiser's password twice, and the safety words."""

    name: Annotated[str, Field(min_length=1, max_length=80, title="the club's name")]
    password: Password
    password_again: Password
    safety_words: LongText


class PasswordForm(FormModel):
    """The organiser signs in."""

    password: Password


class PinForm(FormModel):
    """A marshal joins with the meet's PIN and a name."""

    pin: Annotated[str, Field(min_length=1, max_length=12, title="the PIN")]
    name: Annotated[ShortText, Field(title="your name")]


class NameForm(FormModel):
    """A marshal who opened the desk link gives a name."""

    name: Annotated[ShortText, Field(title="your name")]


@router.get("/")
def start(request: Request) -> Response:
    """The start page: the way in for each of the people."""
    return page(request, "access/start.html")


@router.get("/network")
def network(request: Request) -> Response:
    """What a Wi-Fi on a field means for secrets, in plain words."""
    return page(request, "access/network.html", is_encrypted=is_tls(request))


@router.get("/first-visit/{secret}")
def first_visit(request: Request, secret: str, store: StoreDep) -> Response:
    """The page that names the club, behind a one-time link."""
    access.check_first_visit(store, secret)
    return page(request, "access/first_visit.html", secret=secret, first_safety_words=FIRST_SAFETY_WORDS)


@router.post("/first-visit/{secret}")
def name_club(request: Request, secret: str, form: FormDep, store: StoreDep, now: NowDep) -> Response:
    """Name the club and sign the organiser in."""
    try:
        sent = form.read(FirstVisitForm)
        if sent.password != sent.password_again:
            raise access.passwords_differ()
        deed = form.deed(Actor("organiser", "Organiser"))
        answer = access.name_club(store, deed, secret, sent.name, sent.password, sent.safety_words)
    except MeetError as error:
        return form_again(
            request, "access/first_visit.html", form, error, secret=secret, first_safety_words=FIRST_SAFETY_WORDS
        )
    response = go_on(request, form, answer)
    bind(request, response, DESK_COOKIE, access.sign_in_organiser(store, sent.password, now), now)
    return response


@router.get("/sign-in")
def sign_in_page(request: Request, next: str = "/organiser") -> Response:
    """Where the organiser types the password."""
    return page(request, "access/sign_in.html", next_path=own_path(next, "/organiser"))


@router.post("/sign-in")
def sign_in(request: Request, form: FormDep, store: StoreDep, now: NowDep, guess: GuesserDep) -> Response:
    """Sign the organiser in."""
    next_path = own_path(form.values.get("next"), "/organiser")
    try:
        password = form.read(PasswordForm).password
        session = guess("password", lambda: access.sign_in_organiser(store, password, now))
    except MeetError as error:
        return form_again(request, "access/sign_in.html", form.without("password"), error, next_path=next_path)
    return let_in(request, form, session, next_path)


@router.get("/desk/join")
def join_desk_page(request: Request, next: str = "/desk") -> Response:
    """Where a marshal types the meet's PIN and a name."""
    return page(request, "access/join_desk.html", next_path=own_path(next, "/desk"))


@router.post("/desk/join")
def join_desk(request: Request, form: FormDep, store: StoreDep, now: NowDep, guess: GuesserDep) -> Response:
    """Sign a marshal in by PIN."""
    next_path = own_path(form.values.get("next"), "/desk")
    try:
        sent = form.read(PinForm)
        session = guess("PIN", lambda: access.sign_in_marshal_by_pin(store, sent.pin, sent.name, now))
    except MeetError as error:
        return form_again(request, "access/join_desk.html", form.without("pin"), error, next_path=next_path)
    return let_in(request, form, session, next_path)


@router.get("/desk/join/{secret}")
def desk_link_page(request: Request, secret: str, store: StoreDep) -> Response:
    """Where a marshal who opened the meet's desk link gives a name."""
    return page(request, "access/desk_link.html", secret=secret, meet_name=access.meet_by_desk_link(store, secret))


@router.post("/desk/join/{secret}")
def join_by_link(request: Request, secret: str, form: FormDep, store: StoreDep, now: NowDep) -> Response:
    """Sign a marshal in by the meet's desk link."""
    meet_name = access.meet_by_desk_link(store, secret)
    try:
        session = access.sign_in_marshal_by_link(store, secret, form.read(NameForm).name, now)
    except MeetError as error:
        return form_again(request, "access/desk_link.html", form, error, secret=secret, meet_name=meet_name)
    response = RedirectResponse("/desk", status_code=303)
    bind(request, response, DESK_COOKIE, session, now)
    return response


@router.post("/sign-out/{whose}")
def sign_out(
    request: Request, whose: Literal["desk", "pilot"], form: FormDep, store: StoreDep, now: NowDep
) -> Response:
    """End the desk's or the pilot's session of this browser; a marshal who flies too has both."""
    viewer = desk_viewer(request) if whose == "desk" else pilot_viewer(request)
    response = RedirectResponse("/", status_code=303)
    if viewer is not None and viewer.session_id is not None:
        access.sign_out(store, viewer.session_id, now)
        drop_cookie(request, response, DESK_COOKIE if whose == "desk" else PILOT_COOKIE)
    return response


@router.post("/organiser/sign-out-everywhere")
def sign_out_everywhere(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """End every session of the organiser, this one too."""
    response = go_on(request, form, access.sign_out_everywhere(store, form.deed(viewer.actor)))
    drop_cookie(request, response, DESK_COOKIE)
    return response
