"""One loan at the desk: what to set, take back, hand over, change, seen, by turns."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.deeds import Answer
from meetapp.flows.desk import loan_page
from meetapp.flows.loans import loans, sharing
from meetapp.flows.loans.loans import ChangeSetting, HandOver
from meetapp.web.at_desk import OpenDeskDep, done_at_desk
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, OptionalFloat, RowId
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/desk/loans/{loan_id}")

Reason = Annotated[str, Field(max_length=200, title="the reason")]


class HandOverForm(FormModel):
    """Who takes it over."""

    to_pilot_id: Annotated[RowId, Field(title="who takes it over")]
    override_reason: Reason = ""


class ChangeForm(FormModel):
    """What is set from now on; `choice` is a transmitter and MHz, such as '7:5732'."""

    choice: Annotated[str, Field(pattern=r"^(\d{1,9}:\d{4,5})?$", title="transmitter and channel")] = ""
    power_mw: Annotated[OptionalFloat, Field(title="the power")] = None
    override_reason: Reason = ""

    def order(self, meet_id: int, loan_id: int) -> ChangeSetting:
        """The same for the flow."""
        transmitter, _, mhz = self.choice.partition(":")
        return ChangeSetting(
            meet_id=meet_id,
            loan_id=loan_id,
            transmitter_id=int(transmitter) if transmitter else None,
            mhz=int(mhz) if mhz else None,
            power_mw=self.power_mw,
            override_reason=self.override_reason,
        )


class PartnerForm(FormModel):
    """Who uses the token by turns with its holder."""

    partner_id: Annotated[RowId, Field(title="the other pilot")]


@router.get("")
def show(request: Request, loan_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """What the pilot must set, and everything else about the loan."""
    return page(request, "loans/loan.html", view=loan_page.loan_page(at.store, at.meet_id, loan_id, now))


@router.post("/take-back")
def take_back(request: Request, loan_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """Take the token back to the board."""
    return done_at_desk(request, form, at, lambda deed: loans.take_back(at.store, deed, at.meet_id, loan_id))


@router.post("/seen")
def seen(request: Request, loan_id: RowIdPath, form: FormDep, at: OpenDeskDep) -> Response:
    """The pilot has seen their own picture on their own goggles (a second tap takes it back)."""
    return done_at_desk(request, form, at, lambda deed: loans.mark_seen(at.store, deed, at.meet_id, loan_id))


@router.get("/hand-over")
def hand_over_page(request: Request, loan_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """Who could take the token over."""
    view = loan_page.hand_over_page(at.store, at.meet_id, loan_id, now)
    return page(request, "loans/hand_over.html", view=view)


@router.post("/hand-over")
def hand_over(request: Request, loan_id: RowIdPath, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Hand it over directly."""

    def do() -> Answer:
        sent = form.read(HandOverForm)
        order = HandOver(at.meet_id, loan_id, sent.to_pilot_id, sent.override_reason)
        return loans.hand_over(at.store, form.deed(at.actor), order)

    view = partial(loan_page.hand_over_page, at.store, at.meet_id, loan_id, now)
    return form_done(request, form, "loans/hand_over.html", do, view)


@router.get("/change")
def change_page(request: Request, loan_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """What else could be set during the loan."""
    return page(request, "loans/change.html", view=loan_page.change_page(at.store, at.meet_id, loan_id, now))


@router.post("/change")
def change(request: Request, loan_id: RowIdPath, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Set another transmitter, channel or power."""

    def do() -> Answer:
        order = form.read(ChangeForm).order(at.meet_id, loan_id)
        return loans.change_setting(at.store, form.deed(at.actor), order)

    view = partial(loan_page.change_page, at.store, at.meet_id, loan_id, now)
    return form_done(request, form, "loans/change.html", do, view)


@router.get("/share")
def share_page(request: Request, loan_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """Who could use the token by turns with its holder."""
    return page(request, "loans/share.html", view=loan_page.share_page(at.store, at.meet_id, loan_id, now))


@router.post("/share")
def share(request: Request, loan_id: RowIdPath, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Two pilots use this token by turns from now on."""

    def do() -> Answer:
        partner_id = form.read(PartnerForm).partner_id
        return sharing.share(at.store, form.deed(at.actor), at.meet_id, loan_id, partner_id)

    view = partial(loan_page.share_page, at.store, at.meet_id, loan_id, now)
    return form_done(request, form, "loans/share.html", do, view)
