"""Self-service on a pilot's own page: bring the token back, pass it on, take over what is offered, turns."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError
from meetapp.flows.loans import pass_offers
from meetapp.flows.pilot import self_service
from meetapp.flows.pilot.self_service import open_meet_id
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, RowId
from meetapp.web.own_page import OwnDep, done_on_own_page
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/my")


class OfferForm(FormModel):
    """To whom the token is offered."""

    to_pilot_id: Annotated[RowId, Field(title="to whom it goes")]


@router.post("/loans/{loan_id}/bring-back")
def bring_back(request: Request, loan_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """The token hangs on the board again."""
    return done_on_own_page(request, form, own, lambda deed: self_service.bring_back(own.store, deed, loan_id))


@router.post("/loans/{loan_id}/take-over")
def take_over(request: Request, loan_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """Take over the token that is offered."""
    return done_on_own_page(
        request, form, own, lambda deed: self_service.take_over(own.store, deed, own.pilot_id, loan_id)
    )


@router.get("/offers/new")
def pass_on_page(request: Request, own: OwnDep, now: NowDep) -> Response:
    """Where a pilot offers their token to somebody."""
    view = pass_offers.pass_on_view(own.store, own.pilot_id, now)
    return page(request, "my/pass_on.html", viewer=own.viewer, view=view)


@router.post("/offers/new")
def offer(request: Request, form: FormDep, own: OwnDep, now: NowDep) -> Response:
    """Offer the token; it passes when the other one takes it."""
    try:
        to_pilot_id = form.read(OfferForm).to_pilot_id
        deed = form.deed(own.viewer.actor)
        answer = pass_offers.offer(own.store, deed, open_meet_id(own.store), own.pilot_id, to_pilot_id)
    except MeetError as error:
        view = pass_offers.pass_on_view(own.store, own.pilot_id, now)
        return form_again(request, "my/pass_on.html", form, error, viewer=own.viewer, view=view)
    return go_on(request, form, answer)


@router.post("/offers/{offer_id}/withdraw")
def withdraw(request: Request, offer_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """Take the offer back."""
    return done_on_own_page(
        request,
        form,
        own,
        lambda deed: pass_offers.withdraw(own.store, deed, open_meet_id(own.store), own.pilot_id, offer_id),
    )


@router.post("/offers/{offer_id}/refuse")
def refuse(request: Request, offer_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """Say no to the offer."""
    return done_on_own_page(
        request,
        form,
        own,
        lambda deed: pass_offers.refuse(own.store, deed, open_meet_id(own.store), own.pilot_id, offer_id),
    )


@router.post("/turns/{token_id}/swap")
def give_turn(request: Request, token_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """The other one's turn."""
    return done_on_own_page(request, form, own, lambda deed: self_service.give_turn(own.store, deed, token_id))


@router.post("/turns/{token_id}/end")
def end_turns(request: Request, token_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """No more turns on this token."""
    return done_on_own_page(request, form, own, lambda deed: self_service.end_turns(own.store, deed, token_id))
