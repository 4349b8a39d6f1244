"""Choosing the channels of a meet: the question in the address, so that an answer can be kept and shared."""

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Any, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from pydantic import BeforeValidator, Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.planning import choosing, chosen_set
from meetapp.flows.planning.choosing import ChoosingPage, Question
from meetapp.flows.planning.chosen_set import AcceptedSet
from meetapp.web.deps import JobsDep, NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import Blank, FormDep, FormModel, LongText, PostedForm, RowId
from meetapp.web.htmx import wants_fragment
from meetapp.web.meet_fields import Floor, MhzList, MhzRanges, OptionalFloor
from meetapp.web.render import form_again, go_on, page
from meetapp.web.state import state_of
from meetapp.web.trade_off_picture import curve_of

router = APIRouter(prefix="/organiser/meets/{meet_id}/channels")

REFRESH_S = 5
"""After so long a page without JavaScript looks again, while a search goes on."""

Spacing = Annotated[int, Field(ge=0, le=300, title="the spacing")]
Pull = Annotated[Annotated[int, Field(ge=0, le=20)] | None, Blank, Field(title="the pull")]


_MANY = ("plans", "set")
"""Fields of a question that come several times; of the others the last one counts."""


def _ids(value: Any) -> Any:
    """Numbers from the last of several texts such as '3 17'."""
    return tuple(value[-1].split()) if value else ()


def _sets(value: Any) -> Any:
    """Sets from several texts such as '5658 5740', each read as a list of its own."""
    return tuple((text,) for text in value if text.strip())


class QuestionForm(FormModel):
    """What is asked for."""

    count: Annotated[int, Field(ge=1, le=16, title="how many channels")]
    spacing: Spacing
    signals: Annotated[Literal["both", "two"], Field(title="what to compare first")] = "both"
    source: Annotated[Literal["plans", "tokens"], Field(title="where to choose from")] = "plans"
    plans: Annotated[tuple[Annotated[str, Field(max_length=8)], ...], Field(max_length=60, title="the plans")] = ()
    mhz: Annotated[MhzRanges, Field(title="the frequencies")] = ()
    band: Annotated[Literal["within", "none"], Field(title="the band rule")] = "within"
    who: Annotated[Literal["expected", "anybody"], Field(title="who is to be served")] = "expected"
    widths: Annotated[Literal["expected", "reference"], Field(title="how wide the tokens are counted")] = "expected"
    pull: Pull = None
    any_kit: Annotated[
        tuple[RowId, ...], BeforeValidator(_ids), Field(max_length=200, title="who is counted with another transmitter")
    ] = ()
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
            for_expected=self.who == "expected",
            as_wide_as_expected=self.widths == "expected",
            pull_mhz=self.pull,
            with_any_kit=self.any_kit,
        )


class SetForm(FormModel):
    """A set of frequencies."""

    mhz: Annotated[MhzList, Field(min_length=1, title="the set")]
    pull: Pull = None


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
            self.pull,
        )


class CompareForm(QuestionForm):
    """Sets to compare, with the question that they answer."""

    set: Annotated[
        tuple[MhzList, ...], BeforeValidator(_sets), Field(max_length=20, title="the sets to compare")
    ] = ()


@router.get("")
def choose_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, jobs: JobsDep, now: NowDep
) -> Response:
    """The question, and its answer once it is asked; the answer alone for a page that asks again."""
    view = choosing.choosing_page(store, meet_id, now)
    asked = _asked(request, now)
    if "count" not in asked.values:
        return page(request, "meets/channels.html", **_shown(view, None), choice=None)

    def answer() -> Response:
        question = asked.read(QuestionForm).question()
        choice = choosing.choose(store, jobs, meet_id, question, now, _patience(request))
        return page(
            request,
            "meets/channels.html",
            fragment="meets/_choice.html",
            **_shown(view, asked),
            choice=choice,
            form_values=asked.values,
            refresh_s=REFRESH_S if choice.is_searching else None,
        )

    return _answered(request, view, asked, answer)


@router.get("/trade-off")
def trade_off_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, jobs: JobsDep, now: NowDep
) -> Response:
    """What each spacing and each number of channels costs in clearance, around a question."""
    view = choosing.choosing_page(store, meet_id, now)
    asked = _asked(request, now)

    def answer() -> Response:
        question = asked.read(QuestionForm).question()
        found = choosing.trade_off(store, jobs, meet_id, question, now, _patience(request))
        shown = _shown(view, asked)
        return page(
            request,
            "meets/trade_off.html",
            fragment="meets/_trade_off.html",
            **shown,
            found=found,
            picture=curve_of(found, _address(view), shown["again"]),
            refresh_s=REFRESH_S if found.is_searching else None,
        )

    return _answered(request, view, asked, answer)


@router.get("/compare")
def compare_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Two or three sets side by side, the meet's own among them."""
    view = choosing.choosing_page(store, meet_id, now)
    asked = _asked(request, now)

    def answer() -> Response:
        form = asked.read(CompareForm)
        found = choosing.compare(store, meet_id, form.question(), form.set, now)
        return page(request, "meets/compare.html", **_shown(view, asked), found=found)

    return _answered(request, view, asked, answer)


def _asked(request: Request, now: datetime) -> PostedForm:
    """The question of an address, read like a form."""
    return PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)


def _answered(request: Request, view: ChoosingPage, asked: PostedForm, answer: Callable[[], Response]) -> Response:
    """The answer, or the question again with a sentence beside what can't be meant."""
    try:
        return answer()
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "meets/channels.html", asked, error, **_shown(view, asked), choice=None)


def _patience(request: Request) -> float:
    """How long a page waits for a search before it shows what there is; a fragment that asks again doesn't wait."""
    return 0 if wants_fragment(request) else state_of(request).search_seconds


def _address(view: ChoosingPage) -> str:
    return f"/organiser/meets/{view.meet_id}/channels"


def _shown(view: ChoosingPage, asked: PostedForm | None) -> dict[str, Any]:
    """What the form starts with, or what was asked.

    `again`: the question as a query (`pairs`: as fields), without the set that was looked at and those that were
    compared; `whole`: all that was asked.
    """
    if asked is None:
        return {"view": view, "ticked": view.ticked, "again": "", "whole": "", "pairs": ()}
    last = {name: value for name, value in asked.pairs if name not in (*_MANY, "look")}
    pairs = (*last.items(), *(("plans", letter) for letter in asked.all("plans")))
    return {
        "view": view,
        "ticked": asked.all("plans"),
        "again": urlencode(pairs),
        "whole": urlencode(asked.pairs),
        "pairs": pairs,
    }


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
        sent = _set_sent(form)
        shown = choosing.look_at(store, meet_id, sent.mhz, now, sent.pull)
        return form_again(request, "meets/accept.html", form, error, view=view, shown=shown)
    return go_on(request, form, answer)


def _set_sent(form: PostedForm) -> SetForm:
    """The set of a form that was refused.

    Raises:
        BadForm: not even the set can be read, so there is nothing to show again.
    """
    return form.read(SetForm)
