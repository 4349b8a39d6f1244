"""The organiser's first page."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.club.organiser import organiser_home
from meetapp.web.deps import OrganiserViewer, StoreDep
from meetapp.web.render import page
from meetapp.web.state import state_of

router = APIRouter()


@router.get("/organiser")
def home(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """What is set up, what comes next, which meet is open or coming."""
    copies = state_of(request).copies.view()
    return page(request, "organiser/home.html", viewer=viewer, view=organiser_home(store), copies=copies)
