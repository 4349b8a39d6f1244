"""What a meet's clash reports may have come from: all of them, one by one, and beside other meets."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.review import look_back, several_meets
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.render import page

router = APIRouter(prefix="/organiser/meets/{meet_id}/review")


@router.get("/causes")
def causes_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Every report with its likeliest cause, and what to change."""
    return page(request, "review/causes.html", view=look_back.look_back(store, meet_id, now))


@router.get("/causes/{ref}")
def report_page(
    request: Request, meet_id: RowIdPath, ref: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """One report with every cause."""
    return page(request, "review/causes_of_report.html", view=look_back.look_at_report(store, meet_id, ref, now))


@router.get("/several-meets")
def several_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """What turned up at several meets."""
    view = several_meets.several_meets(store, meet_id, now)
    return page(request, "review/several_meets.html", view=view, limits=look_back.LIMITS)
