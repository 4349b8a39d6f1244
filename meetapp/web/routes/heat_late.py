"""A pilot who comes late, fitted into the heats at the desk: looked at first, then done."""

from typing import Annotated, Any

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.heats import changing, heats_page
from meetapp.flows.heats.wishes import FitIn
from meetapp.web.at_desk import OpenDesk, OpenDeskDep
from meetapp.web.deps import NowDep
from meetapp.web.forms import FormDep, FormModel, PostedForm, RowId
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/desk/fit-in")

HOME = "/desk/fit-in"


class LateForm(FormModel):
    """Who is fitted in, and what was looked at."""

    pilot: Annotated[RowId, Field(title="the pilot")]
    basis: Annotated[str, Field(max_length=64, title="what was looked at")] = ""


@router.get("")
def late(request: Request, at: OpenDeskDep, now: NowDep) -> Response:
    """Who is here without a seat; with a pilot in the address, what fitting them in comes to."""
    asked = PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)
    if "pilot" not in asked.values:
        return page(request, "heats/late.html", view=heats_page.heats_page(at.store, at.meet_id, now))
    return _look(request, at, asked, None)


@router.post("")
def fit_in(request: Request, at: OpenDeskDep, form: FormDep) -> Response:
    """Fit somebody in as it was looked at."""
    try:
        sent = form.read(LateForm)
        answer = changing.change_heats(
            at.store, form.deed(at.actor), at.meet_id, FitIn(sent.pilot), sent.basis, home=HOME
        )
    except NotFound:
        raise
    except MeetError as error:
        return _look(request, at, form, error)
    return go_on(request, form, answer)


def _look(request: Request, at: OpenDesk, form: PostedForm, refused: MeetError | None) -> Response:
    """What it comes to, or the list with a sentence on why it can't be."""
    try:
        look = changing.look_at_change(at.store, at.meet_id, FitIn(form.read(LateForm).pilot), form.now)
    except NotFound:
        raise
    except MeetError as error:
        view = heats_page.heats_page(at.store, at.meet_id, form.now)
        return form_again(request, "heats/late.html", form, refused or error, view=view)
    shown: dict[str, Any] = {"look": look, "asked": {"pilot": form.values["pilot"]}, "home": HOME, "action": HOME}
    if refused is not None:
        return form_again(request, "heats/change.html", form, refused, **shown)
    return page(request, "heats/change.html", **shown)
