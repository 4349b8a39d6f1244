"""PIN and desk link of a meet, opening it, closing it."""

import segno
from fastapi import APIRouter, Request, Response

from meetapp.flows.club.own_copies import Occasion
from meetapp.flows.deeds import Answer
from meetapp.flows.planning import closing, opening
from meetapp.flows.planning.closing import Settled
from meetapp.web.addresses import base_address
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, PostedForm, row_id
from meetapp.web.link_secrets import link_secret
from meetapp.web.render import form_done, page
from meetapp.web.state import state_of

router = APIRouter(prefix="/organiser/meets/{meet_id}")


class DeskAccessForm(FormModel):
    """A new PIN and desk link; `sign_out`: marshals who are signed in by the old ones have to sign in again."""

    sign_out: bool = False


_SETTLED: dict[str, Settled] = {"back": "back", "missing": "missing"}


@router.post("/pin")
def new_desk_access(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Make a new PIN and desk link and show them this once, with codes to scan."""
    secret = link_secret(request, form)
    sign_out = form.read(DeskAccessForm).sign_out
    access = opening.new_desk_access(store, form.deed(viewer.actor), meet_id, secret, sign_out=sign_out)
    base = base_address(request, access.field_address)
    desk_address, join_address = f"{base}/desk/join/{secret}", f"{base}/join"
    return page(
        request,
        "meets/access_shown.html",
        view=access,
        desk_address=desk_address,
        desk_qr=_qr(desk_address),
        join_address=join_address,
        join_qr=_qr(join_address),
    )


def _qr(address: str) -> str:
    return segno.make(address, micro=False).svg_data_uri(scale=8, border=4, light="white")


@router.post("/open")
def open_meet(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Open the meet."""
    return form_done(
        request,
        form,
        "meets/home.html",
        lambda: _copied(request, form, "opened", opening.open_meet(store, form.deed(viewer.actor), meet_id)),
        lambda: opening.meet_home(store, meet_id, form.now),
    )


@router.get("/close")
def close_page(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """What has to be settled before the meet can close."""
    return page(request, "meets/close.html", view=closing.closing_page(store, meet_id))


@router.post("/close")
def close_meet(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Settle what is out and close the meet."""
    return form_done(
        request,
        form,
        "meets/close.html",
        lambda: _copied(
            request, form, "closed", closing.close_meet(store, form.deed(viewer.actor), meet_id, _settled(form))
        ),
        lambda: closing.closing_page(store, meet_id),
    )


def _copied(request: Request, form: PostedForm, occasion: Occasion, done: Answer) -> Answer:
    """What was done, with a copy of the club on its way."""
    state_of(request).copies.begin(occasion, form.now)
    return done


def _settled(form: PostedForm) -> dict[int, Settled]:
    """What was answered for each loan, by its id."""
    answers = ((name.removeprefix("loan-"), value) for name, value in form.pairs if name.startswith("loan-"))
    known = ((row_id(loan), _SETTLED[value]) for loan, value in answers if value in _SETTLED)
    return {loan_id: settled for loan_id, settled in known if loan_id is not None}
