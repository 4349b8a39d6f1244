"""The review of a meet, who was on air at a minute, and its tables for a spreadsheet."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.files import meet_csv
from meetapp.flows.review import review
from meetapp.flows.review.day import day_facts
from meetapp.flows.review.minute import minute_view
from meetapp.flows.review.review import ReviewFacts
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import Blank, FormModel, PostedForm
from meetapp.web.render import form_again, page

router = APIRouter(prefix="/organiser/meets/{meet_id}")

Day = Annotated[date, Field(ge=date(2000, 1, 1), le=date(2199, 12, 31))]


class MinuteForm(FormModel):
    """A time of day, and the day where the meet had several."""

    minute: Annotated[str, Field(max_length=20, title="the time of day")] = ""
    day: Annotated[Day | None, Blank, Field(title="the day")] = None


@router.get("/review")
def review_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep, loans: str = ""
) -> Response:
    """The review. `loans`: 'open' unfolds them, for a link that leads to one."""
    facts = review.review_facts(store, meet_id, now)
    return page(request, "review/review.html", view=facts, day=day_facts(facts), shows_loans=loans == "open")


@router.get("/review/at")
def at_minute(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """Who was on air at a time of day."""
    asked = PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)
    try:
        question = asked.read(MinuteForm)
        view = minute_view(store, meet_id, question.minute, question.day, now)
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "review/no_minute.html", asked, error, view=review.review_facts(store, meet_id, now))
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
