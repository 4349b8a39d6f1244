"""A pilot's own page: what to set and what to wait for, the line, today's transmitter, a clash report."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response

from meetapp.flows import access
from meetapp.flows.club import own_links
from meetapp.flows.desk import reports
from meetapp.flows.errors import MeetError
from meetapp.flows.loans import line, undo
from meetapp.flows.pilot import pilot_page
from meetapp.flows.pilot.self_service import open_meet_id
from meetapp.web.deps import NowDep, RowIdPath, StoreDep, Viewer, bind, pilot_viewer
from meetapp.web.forms import FormDep
from meetapp.web.own_page import Own, OwnDep, done_on_own_page, own_page, own_part
from meetapp.web.render import form_again, go_on, page, unchanged
from meetapp.web.routes.join import BroughtForm
from meetapp.web.routes.reports import ReportForm
from meetapp.web.security import PILOT_COOKIE
from meetapp.web.state import state_of

router = APIRouter(prefix="/my")


@router.get("")
def my_page(request: Request, own: OwnDep) -> Response:
    """The own page of whose phone this is."""
    return own_page(request, own)


@router.get("/live")
def my_live(request: Request, own: OwnDep, now: NowDep, seen: str = "") -> Response:
    """The part of the page that changes by itself; nothing where it hasn't changed."""
    _view, part = own_part(own, now, state_of(request).own_parts)
    return unchanged() if part.word == seen else own_page(request, own)


@router.post("/here")
def say_here(request: Request, form: FormDep, own: OwnDep) -> Response:
    """'I am here'."""
    return done_on_own_page(
        request,
        form,
        own,
        lambda deed: pilot_page.say_here(own.store, deed, open_meet_id(own.store), own.pilot_id),
    )


@router.get("/transmitter")
def transmitter_page(request: Request, own: OwnDep, now: NowDep) -> Response:
    """Where a pilot says which transmitter they use today."""
    view = pilot_page.transmitter_view(own.store, own.pilot_id, now)
    return page(request, "my/transmitter.html", viewer=own.viewer, view=view)


@router.post("/transmitter")
def bring_transmitter(request: Request, form: FormDep, own: OwnDep, now: NowDep) -> Response:
    """Today's transmitter, one of the pilot's own or a new one."""
    try:
        brought = form.read(BroughtForm).brought()
        answer = pilot_page.bring_transmitter(
            own.store, form.deed(own.viewer.actor), open_meet_id(own.store), own.pilot_id, brought
        )
    except MeetError as error:
        view = pilot_page.transmitter_view(own.store, own.pilot_id, now)
        return form_again(request, "my/transmitter.html", form, error, viewer=own.viewer, view=view)
    return go_on(request, form, answer)


@router.post("/line/join")
def join_line(request: Request, form: FormDep, own: OwnDep) -> Response:
    """'I want to fly'."""
    return done_on_own_page(
        request, form, own, lambda deed: line.join_line(own.store, deed, open_meet_id(own.store), own.pilot_id)
    )


@router.post("/line/leave")
def leave_line(request: Request, form: FormDep, own: OwnDep) -> Response:
    """Leave the line."""
    return done_on_own_page(
        request, form, own, lambda deed: line.leave_line(own.store, deed, open_meet_id(own.store), own.pilot_id)
    )


@router.post("/line/not-ready")
def not_ready(request: Request, form: FormDep, own: OwnDep) -> Response:
    """Not ready: passed once, the place kept."""
    return done_on_own_page(
        request, form, own, lambda deed: line.not_ready(own.store, deed, open_meet_id(own.store), own.pilot_id)
    )


@router.post("/line/ready")
def ready(request: Request, form: FormDep, own: OwnDep) -> Response:
    """Ready again."""
    return done_on_own_page(
        request, form, own, lambda deed: line.ready_again(own.store, deed, open_meet_id(own.store), own.pilot_id)
    )


@router.get("/report")
def report_page(request: Request, own: OwnDep, now: NowDep) -> Response:
    """Where a pilot tells of a clash, after landing."""
    return page(request, "my/report.html", **_report_names(own, now))


@router.post("/report")
def report(request: Request, form: FormDep, own: OwnDep, now: NowDep) -> Response:
    """Write the clash report down."""
    try:
        draft = form.read(ReportForm).draft(open_meet_id(own.store))
        answer = reports.add(own.store, form.deed(own.viewer.actor), replace(draft, pilot_id=own.pilot_id))
    except MeetError as error:
        return form_again(request, "my/report.html", form, error, **_report_names(own, now))
    return go_on(request, form, answer)


def _report_names(own: Own, now: datetime) -> dict[str, Any]:
    return {"viewer": own.viewer, "asks": reports.questions(own.store, open_meet_id(own.store), now)}


@router.post("/undo/{journal_id}")
def take_back(request: Request, journal_id: RowIdPath, form: FormDep, own: OwnDep) -> Response:
    """Take back one's own last step."""
    return done_on_own_page(request, form, own, lambda deed: undo.undo(own.store, deed, journal_id))


@router.get("/{secret}")
def open_link(request: Request, secret: str, store: StoreDep, now: NowDep) -> Response:
    """The own page behind its secret address; opening it binds this phone."""
    found = own_links.open_link(store, secret, now)
    address = str(request.url_for("open_link", secret=secret))
    bound = pilot_viewer(request)
    if bound is not None and bound.pilot_id == found.pilot_id:
        return own_page(request, Own(store, bound, found.pilot_id), address=address)
    session = access.sign_in_pilot(store, found.pilot_id, found.board_name, now)
    viewer = Viewer("pilot", found.board_name, pilot_id=found.pilot_id)
    response = own_page(request, Own(store, viewer, found.pilot_id), address=address)
    bind(request, response, PILOT_COOKIE, session, now)
    return response
