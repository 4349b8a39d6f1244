"""Choosing the channels of a meet: the question in the address, so that an answer can be kept and shared."""

from typing import Annotated, Any, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.planning import choosing, chosen_set
from meetapp.flows.planning.choosing import ChoosingPage, Question
from meetapp.flows.planning.chosen_set import AcceptedSet
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText, PostedForm
from meetapp.web.meet_fields import Floor, MhzList, OptionalFloor
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/organiser/meets/{meet_id}/channels")

Spacing = Annotated[int, Field(ge=0, le=300, title="the spacing")]


class QuestionForm(FormModel):
    """What is asked for."""

    count: Annotated[int, Field(ge=1, le=16, title="how many channels")]
    spacing: Spacing
    signals: Annotated[Literal["both", "two"], Field(title="what to compare first")] = "both"
    source: Annotated[Literal["plans", "tokens"], Field(title="where to choose from")] = "plans"
    plans: Annotated[tuple[Annotated[str, Field(max_length=8)], ...], Field(max_length=60, title="the plans")] = ()
    mhz: Annotated[MhzList, Field(title="the frequencies")] = ()
    band: Annotated[Literal["within", "none"], Field(title="the band rule")] = "within"
    look: Annotated[MhzList, Field(title="the set to look at")] = ()

    def question(self) -> Question:
        """The same for the flow."""
        return Question(
            count=self.count,
            spacing_mhz=self.spacing,
            signals=self.signals,
            letters=self.plans,
            extra_mhz=self.mhz,
            only_owned=self.source == "tokens",
            within_band=self.band == "within",
            looked_at=self.look,
        )


class SetForm(FormModel):
    """A set of frequencies."""

    mhz: Annotated[MhzList, Field(min_length=1, title="the set")]


class AcceptForm(SetForm):
    """The set that is accepted, with its floors."""

    spacing: Spacing
    spacing_floor_mhz: Annotated[Floor, Field(title="the spacing floor")]
    clearance_floor_mhz: Annotated[OptionalFloor, Field(title="the clearance floor")] = None
    lower_floors_reason: Annotated[LongText, Field(title="the reason for lower floors")] = ""

    def accepted(self, meet_id: int) -> AcceptedSet:
        """The same for the flow."""
        return AcceptedSet(
            meet_id,
            self.mhz,
            self.spacing,
            self.spacing_floor_mhz,
            self.clearance_floor_mhz,
            self.lower_floors_reason,
        )


@router.get("")
def choose_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The question, and its answer once it is asked."""
    view = choosing.choosing_page(store, meet_id, now)
    asked = PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)
    if "count" not in asked.values:
        return page(request, "meets/channels.html", **_shown(view, None), choice=None)
    try:
        question = asked.read(QuestionForm).question()
        choice = choosing.choose(store, meet_id, question, now)
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "meets/channels.html", asked, error, **_shown(view, asked), choice=None)
    return page(request, "meets/channels.html", **_shown(view, asked), choice=choice, form_values=asked.values)


def _shown(view: ChoosingPage, asked: PostedForm | None) -> dict[str, Any]:
    """What the form starts with, or what was asked; `again`: the question without the set that was looked at."""
    if asked is None:
        return {"view": view, "ticked": view.ticked, "again": ""}
    again = urlencode([pair for pair in asked.pairs if pair[0] != "look"])
    return {"view": view, "ticked": asked.all("plans"), "again": again}


@router.post("/accept")
def accept(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Make a set the meet's."""
    try:
        accepted = form.read(AcceptForm).accepted(meet_id)
        answer = chosen_set.accept_set(store, form.deed(viewer.actor), accepted)
    except NotFound:
        raise
    except MeetError as error:
        view = choosing.choosing_page(store, meet_id, now)
        shown = choosing.look_at(store, meet_id, _set_sent(form), now)
        return form_again(request, "meets/accept.html", form, error, view=view, shown=shown)
    return go_on(request, form, answer)


def _set_sent(form: PostedForm) -> tuple[int, ...]:
    """The set of a form that was refused.

    Raises:
        BadForm: not even the set can be read, so there is nothing to show again.
    """
    return form.read(SetForm).mhz
