"""Handing a token out to one pilot."""

from functools import partial
from typing import Annotated, Self

from fastapi import APIRouter, Request, Response
from pydantic import Field, model_validator

from meetapp.flows.deeds import Answer
from meetapp.flows.errors import Refused
from meetapp.flows.loans import loans, suggestions
from meetapp.flows.loans.loans import HandOut
from meetapp.web.at_desk import OpenDeskDep
from meetapp.web.deps import NowDep, RowIdPath
from meetapp.web.forms import FormDep, FormModel, OptionalFloat, OptionalRowId
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/desk/pilots/{pilot_id}")


class HandOutForm(FormModel):
    """Which token, and what else was chosen for it; `choice` is a token and MHz, such as '4:5732'."""

    token_id: Annotated[OptionalRowId, Field(title="the token")] = None
    choice: Annotated[str, Field(pattern=r"^(\d{1,9}:\d{4,5})?$", title="token and channel")] = ""
    power_mw: Annotated[OptionalFloat, Field(title="the power")] = None
    override_reason: Annotated[str, Field(max_length=200, title="the reason")] = ""

    @model_validator(mode="after")
    def _names_a_token(self) -> Self:
        if self.token_id is None and not self.choice:
            raise ValueError("Choose a token.")
        return self

    def order(self, meet_id: int, pilot_id: int) -> HandOut:
        """The same for the flow."""
        token, _, mhz = self.choice.partition(":")
        return HandOut(
            meet_id=meet_id,
            pilot_id=pilot_id,
            token_id=int(token) if token else self.token_id or 0,
            mhz=int(mhz) if mhz else None,
            power_mw=self.power_mw,
            override_reason=self.override_reason,
        )


@router.get("")
def hand_out_page(request: Request, pilot_id: RowIdPath, at: OpenDeskDep, now: NowDep) -> Response:
    """The tokens for one pilot, the suggested one first."""
    view = suggestions.hand_out_view(at.store, at.meet_id, pilot_id, now)
    return page(request, "desk/hand_out.html", view=view)


@router.post("/hand-out")
def hand_out(request: Request, pilot_id: RowIdPath, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Hand it out."""

    def do() -> Answer:
        order = form.read(HandOutForm).order(at.meet_id, pilot_id)
        try:
            return loans.hand_out(at.store, form.deed(at.actor), order)
        except Refused as error:
            raise _reason_asked(error) if "override_reason" in form.values else error from error

    view = partial(suggestions.hand_out_view, at.store, at.meet_id, pilot_id, now)
    return form_done(request, form, "desk/hand_out.html", do, view)


def _reason_asked(error: Refused) -> Refused:
    """The page says beside the box already what would be broken; the box only needs to be filled."""
    if error.field != "override_reason":
        return error
    return Refused("Write down why it goes out all the same, in a few words.", field="override_reason")
