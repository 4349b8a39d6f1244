"""Deleting pilots' names: who hasn't come for long, what it reaches, and the one step that does it."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import former_pilots
from meetapp.flows.errors import MeetError, NotFound, Refused
from meetapp.web.deps import NowDep, OrganiserViewer, StoreDep
from meetapp.web.forms import Blank, FormDep, FormModel, RowId, asked_in_address, row_id
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/organiser/pilots/names")

TEMPLATE = "pilots/names.html"
MONTHS = 24
Months = Annotated[int, Field(ge=1, le=600)]


class WhoForm(FormModel):
    """Whose names are offered: not seen for so many months, or these pilots."""

    months: Annotated[Months | None, Blank, Field(title="the number of months")] = None
    pilot_id: tuple[RowId, ...] = ()


class DeleteForm(FormModel):
    """The names to delete, and that it is understood."""

    pilot_id: Annotated[tuple[RowId, ...], Field(max_length=5000)] = ()
    understood: bool = False


@router.get("")
def show(request: Request, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """What deleting does, and whose names may go."""
    asked = asked_in_address(request, now)
    try:
        who = asked.read(WhoForm)
    except MeetError as error:
        empty = former_pilots.names_chosen(store, ())
        return form_again(request, TEMPLATE, asked, error, viewer=viewer, view=empty, ticked=(), months=MONTHS)
    if who.months is not None:
        view = former_pilots.names_not_seen(store, who.months, now)
        # Who never came may be new on the list: they are offered, and not ticked.
        ticked = tuple(row.pilot_id for row in view.rows if row.last_seen is not None)
    else:
        view = former_pilots.names_chosen(store, who.pilot_id)
        ticked = who.pilot_id
    return page(request, TEMPLATE, viewer=viewer, view=view, ticked=ticked, months=who.months or MONTHS)


@router.post("")
def delete(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Delete the names that are ticked."""
    try:
        sent = form.read(DeleteForm)
        if not sent.understood:
            raise Refused("Tick that it can't be taken back.", field="understood")
        answer = former_pilots.delete_names(store, form.deed(viewer.actor), sent.pilot_id)
    except NotFound:
        raise
    except MeetError as error:
        ticked = tuple(number for each in form.all("pilot_id") if (number := row_id(each)) is not None)
        view = former_pilots.names_chosen(store, ticked)
        return form_again(request, TEMPLATE, form, error, viewer=viewer, view=view, ticked=ticked, months=MONTHS)
    return go_on(request, form, answer)
