"""The review of a meet, who was on air at a minute, and its tables for a spreadsheet."""

from fastapi import APIRouter, Request, Response

from meetapp.flows import meet_csv, review
from meetapp.flows.errors import Refused
from meetapp.flows.review import ReviewFacts
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.render import page

router = APIRouter(prefix="/organiser/meets/{meet_id}")


@router.get("/review")
def review_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The review."""
    return page(request, "review/review.html", view=review.review_facts(store, meet_id, now))


@router.get("/review/at")
def at_minute(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep, minute: str = ""
) -> Response:
    """Who was on air at a time of day."""
    try:
        view = review.minute_view(store, meet_id, minute[:20], now)
    except Refused as refused:
        facts = review.review_facts(store, meet_id, now)
        values, errors = {"minute": minute[:20]}, {"minute": refused.sentence}
        return page(request, "review/no_minute.html", status=422, view=facts, form_values=values, form_errors=errors)
    return page(request, "review/minute.html", view=view)


@router.get("/loans.csv")
def loans_csv(meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """Every loan."""
    facts = review.review_facts(store, meet_id, now)
    return _csv(facts, "loans", meet_csv.loans_csv(facts))


@router.get("/journal.csv")
def journal_csv(meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """Every line of the journal."""
    facts = review.review_facts(store, meet_id, now)
    return _csv(facts, "journal", meet_csv.journal_csv(facts))


@router.get("/reports.csv")
def reports_csv(meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """Every clash report."""
    facts = review.review_facts(store, meet_id, now)
    return _csv(facts, "reports", meet_csv.reports_csv(facts))


def _csv(facts: ReviewFacts, what: str, text: str) -> Response:
    # The mark at the front tells spreadsheets that the file is UTF-8.
    return Response(
        text.encode("utf-8-sig"),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{what}-{facts.on_date:%Y-%m-%d}.csv"'},
    )
