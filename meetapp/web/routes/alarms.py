"""Alarms: raised in one tap, ended in one, in sight on every page."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.desk import alarms
from meetapp.flows.desk.live import alarms_word
from meetapp.flows.frame import page_frame
from meetapp.web.deps import AnySender, RowIdPath, StoreDep
from meetapp.web.forms import FormDep
from meetapp.web.render import go_on, page, unchanged

router = APIRouter(prefix="/alarms")


@router.get("")
def strip(request: Request, store: StoreDep, seen: str = "") -> Response:
    """The strip of running alarms; nothing where they are the ones that are shown already."""
    return _where_changed(request, store, seen, "_alarms.html")


@router.get("/no-power")
def no_power(request: Request, store: StoreDep, seen: str = "") -> Response:
    """The line beside what to set; nothing where it is the one that is shown already."""
    return _where_changed(request, store, seen, "_no_power.html")


def _where_changed(request: Request, store: StoreDep, seen: str, template: str) -> Response:
    return unchanged() if alarms_word(page_frame(store).alarms) == seen else page(request, template)


@router.post("/stray")
def stray(request: Request, form: FormDep, viewer: AnySender, store: StoreDep) -> Response:
    """'Stray transmitter now'."""
    return go_on(request, form, alarms.raise_alarm(store, form.deed(viewer.actor), "stray"))


@router.post("/down")
def down(request: Request, form: FormDep, viewer: AnySender, store: StoreDep) -> Response:
    """'Everybody down'."""
    return go_on(request, form, alarms.raise_alarm(store, form.deed(viewer.actor), "down"))


@router.post("/{alarm_id}/over")
def over(request: Request, alarm_id: RowIdPath, form: FormDep, viewer: AnySender, store: StoreDep) -> Response:
    """An alarm is over."""
    return go_on(request, form, alarms.end_alarm(store, form.deed(viewer.actor), alarm_id))
