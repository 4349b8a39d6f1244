"""The club: name, field address, safety words, useful clearance, the organiser's password."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from fastapi.responses import PlainTextResponse
from pydantic import Field

from meetapp.flows.club import club
from meetapp.flows.club.field_address import ANSWER_PATH, installation_id
from meetapp.flows.deeds import Answer
from meetapp.flows.errors import Refused
from meetapp.web.addresses import is_answering
from meetapp.web.deps import OrganiserViewer, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText, ShortText
from meetapp.web.guesser import GuesserDep
from meetapp.web.render import form_done, page
from meetapp.web.state import state_of

router = APIRouter()

Password = Annotated[str, Field(min_length=1, max_length=200)]


class ClubForm(FormModel):
    """What the organiser says about the club."""

    name: Annotated[ShortText, Field(title="the club's name")]
    field_address: Annotated[str, Field(max_length=200, title="the field address")] = ""
    safety_words: Annotated[LongText, Field(title="the safety words")] = ""
    useful_clearance_mhz: Annotated[int, Field(ge=1, le=200, title="the useful clearance")]

    def draft(self) -> club.ClubDraft:
        """The same for the flow."""
        return club.ClubDraft(**self.model_dump())


class NewPasswordForm(FormModel):
    """The password until now, and the new one twice."""

    password: Annotated[Password, Field(title="the password until now")]
    new_password: Annotated[Password, Field(title="the new password")]
    new_password_again: Annotated[Password, Field(title="the new password again")]


@router.get(ANSWER_PATH)
def answers_here(request: Request) -> Response:
    """Says which installation this is, so that it can be found at its field address; tells nothing else."""
    return PlainTextResponse(installation_id(state_of(request).server_secret))


@router.get("/organiser/club")
def show(request: Request, viewer: OrganiserViewer, store: StoreDep, check: str = "") -> Response:
    """The club; with `check` it is asked whether this server answers at the field address."""
    view = club.club_view(store)
    answers = is_answering(request, view.field_address) if check else None
    return page(request, "club/edit.html", viewer=viewer, view=view, answers=answers)


@router.get("/organiser/club/answers")
def answers(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """The part of the club's page that says whether this server answers at the field address."""
    view = club.club_view(store)
    found = is_answering(request, view.field_address)
    return page(request, "club/edit.html", fragment="club/_answers.html", viewer=viewer, view=view, answers=found)


@router.post("/organiser/club")
def save(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Save the club."""

    def do() -> Answer:
        return club.change_club(store, form.deed(viewer.actor), form.read(ClubForm).draft())

    return form_done(request, form, "club/edit.html", do, partial(club.club_view, store), answers=None)


@router.post("/organiser/club/password")
def change_password(
    request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep, guess: GuesserDep
) -> Response:
    """Set another password."""

    def do() -> Answer:
        sent = form.read(NewPasswordForm)
        if sent.new_password != sent.new_password_again:
            raise Refused("The two new passwords differ.", "Type them again.", field="new_password_again")
        deed = form.deed(viewer.actor)
        return guess("password", lambda: club.change_password(store, deed, sent.password, sent.new_password))

    return form_done(request, form, "club/edit.html", do, partial(club.club_view, store), answers=None)
