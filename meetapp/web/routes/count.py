"""Counting the tokens on the board."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.desk import count
from meetapp.flows.errors import MeetError
from meetapp.web.at_desk import OpenDeskDep
from meetapp.web.deps import NowDep
from meetapp.web.forms import LARGEST_ID, FormDep, FormModel, RowId
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/desk/count")


class CountForm(FormModel):
    """The tokens that hang on the board."""

    hanging: Annotated[tuple[RowId, ...], Field(title="the tokens")] = ()


@router.get("")
def show(request: Request, at: OpenDeskDep, now: NowDep, counted: int | None = None) -> Response:
    """The tokens to tick, and what a count found."""
    line = counted if counted is None or 0 < counted <= LARGEST_ID else 0
    view = count.count_page(at.store, at.meet_id, now, line)
    return page(request, "desk/count.html", view=view, ticked=())


@router.post("")
def done(request: Request, form: FormDep, at: OpenDeskDep, now: NowDep) -> Response:
    """Write the count down and say what doesn't agree."""
    try:
        answer = count.count(at.store, form.deed(at.actor), at.meet_id, form.read(CountForm).hanging)
    except MeetError as error:
        view = count.count_page(at.store, at.meet_id, now, None)
        return form_again(request, "desk/count.html", form, error, view=view, ticked=form.all("hanging"))
    return go_on(request, form, answer)
