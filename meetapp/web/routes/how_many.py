"""How many tokens? The question in the address, so that an answer can be kept and shared."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.drawings.shapes import Picture
from meetapp.drawings.token_counts import CountColumn, counts_picture
from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.planning import token_counts
from meetapp.flows.planning.token_counts import CountRow, CountsAnswer, CountsPage, CountsQuestion
from meetapp.flows.readings import refusing
from meetapp.spectrum.queueing import MOST_PILOTS, MeanTimes
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormModel, asked_in_address
from meetapp.web.render import form_again, page
from meetapp.web.set_up_fields import Decimal

router = APIRouter(prefix="/organiser/meets/{meet_id}/how-many")

Minutes = Annotated[Decimal, Field(ge=0.5, le=600)]


class CountsForm(FormModel):
    """Pilots, their times and the spacing."""

    pilots: Annotated[int, Field(ge=1, le=MOST_PILOTS, title="how many pilots")]
    flight_min: Annotated[Minutes, Field(title="the time with a token")]
    ground_min: Annotated[Minutes, Field(title="the time between")]
    spacing_mhz: Annotated[int, Field(ge=0, le=300, title="the spacing")]

    def question(self) -> CountsQuestion:
        """The same for the flow."""
        with refusing():
            return CountsQuestion(self.pilots, MeanTimes(self.flight_min, self.ground_min), self.spacing_mhz)


@router.get("")
def how_many_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The times, and the answer for them: those in the address, else what the form starts with."""
    view = token_counts.counts_page(store, meet_id, now)
    asked = asked_in_address(request, now)
    try:
        question = asked.read(CountsForm).question() if "pilots" in asked.values else _usual(view)
        answer = token_counts.token_counts(store, meet_id, question, now)
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "meets/how_many.html", asked, error, view=view, answer=None, picture=None)
    picture, typed = _picture(answer), asked.values
    return page(request, "meets/how_many.html", view=view, answer=answer, picture=picture, form_values=typed)


def _usual(view: CountsPage) -> CountsQuestion:
    return CountsQuestion(view.pilots, view.times, view.spacing_mhz)


def _picture(answer: CountsAnswer) -> Picture | None:
    return counts_picture([_column(row) for row in answer.rows]) if answer.rows else None


def _column(row: CountRow) -> CountColumn:
    return CountColumn(
        row.tokens,
        row.queue.air_share,
        row.mixed.air_share if row.mixed else None,
        row.found.measures.clearance_mhz,
        row.found.worst.clearance_mhz,
        row.is_usual,
    )
