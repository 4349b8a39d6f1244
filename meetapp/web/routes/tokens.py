"""The club's tokens."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import token_replacing, tokens
from meetapp.flows.club.token_drafts import TokenDraft
from meetapp.flows.deeds import Answer
from meetapp.flows.loans import token_states
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/organiser/tokens")


class TakeOverForm(FormModel):
    """Tags that hang on the board already, one line each."""

    lines: Annotated[LongText, Field(title="the tokens")] = ""


class MakeForm(FormModel):
    """Channels or MHz that get new tokens."""

    channels: Annotated[LongText, Field(title="the channels")] = ""


class TokenForm(FormModel):
    """What stands on a tag."""

    code: Annotated[str, Field(min_length=1, max_length=20, title="the code")]
    label: Annotated[str, Field(min_length=1, max_length=20, title="the label")]
    nominal_mhz: Annotated[int, Field(ge=1, le=99_999, title="the frequency")]

    def draft(self) -> TokenDraft:
        """The same for the flow."""
        return TokenDraft(self.code, self.label, self.nominal_mhz)


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every token."""
    return page(request, "tokens/list.html", viewer=viewer, view=tokens.list_tokens(store))


@router.get("/new")
def new_page(request: Request, viewer: OrganiserViewer) -> Response:
    """Tokens to take over, or new ones."""
    return page(request, "tokens/new.html", viewer=viewer, view=None)


@router.post("/new/take-over")
def take_over(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Take over tags as they are."""

    def do() -> Answer:
        return tokens.take_over(store, form.deed(viewer.actor), form.read(TakeOverForm).lines)

    return form_done(request, form, "tokens/new.html", do, lambda: None)


@router.post("/new/make")
def make(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Make new tokens."""

    def do() -> Answer:
        return tokens.make_tokens(store, form.deed(viewer.actor), form.read(MakeForm).channels)

    return form_done(request, form, "tokens/new.html", do, lambda: None)


@router.get("/{token_id}")
def show(request: Request, token_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One token."""
    return page(request, "tokens/edit.html", viewer=viewer, view=tokens.token_view(store, token_id))


@router.post("/{token_id}")
def save(
    request: Request, token_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Correct what stands on a tag."""

    def do() -> Answer:
        return tokens.change_token(store, form.deed(viewer.actor), token_id, form.read(TokenForm).draft())

    return form_done(request, form, "tokens/edit.html", do, partial(tokens.token_view, store, token_id))


@router.post("/{token_id}/missing")
def mark_missing(
    request: Request, token_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """A token is missing."""
    do = partial(token_states.mark_missing, store, form.deed(viewer.actor), None, token_id)
    return form_done(request, form, "tokens/edit.html", do, partial(tokens.token_view, store, token_id))


@router.post("/{token_id}/found")
def mark_found(
    request: Request, token_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """A missing token is there again, or a withdrawn one comes back into use."""
    do = partial(token_states.mark_found, store, form.deed(viewer.actor), None, token_id)
    return form_done(request, form, "tokens/edit.html", do, partial(tokens.token_view, store, token_id))


@router.post("/{token_id}/replace")
def replace(
    request: Request, token_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Make a new tag for a token that is lost for good."""
    do = partial(token_replacing.replace_token, store, form.deed(viewer.actor), token_id)
    return form_done(request, form, "tokens/edit.html", do, partial(tokens.token_view, store, token_id))


@router.post("/{token_id}/withdraw")
def withdraw(
    request: Request, token_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Take a token out of use."""
    do = partial(token_states.withdraw, store, form.deed(viewer.actor), None, token_id)
    return form_done(request, form, "tokens/edit.html", do, partial(tokens.token_view, store, token_id))
