"""The organiser's heats: the question in the address, the look at an answer, the making, the list."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.heats import changing, heat_sheet, heats_page, making
from meetapp.flows.heats.changing import ChangeLook
from meetapp.flows.heats.day_plan import PlannedDay, Wanted
from meetapp.flows.heats.heats_page import HeatsLook, HeatsQuestion
from meetapp.flows.heats.plan_text import as_text, from_text
from meetapp.flows.heats.wishes import FitIn, Move, Reseat, Swap, TakeOut, Wish
from meetapp.store.engine import Store
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import BadForm, Blank, FormDep, FormModel, LongText, OptionalRowId, PostedForm, RowId, row_id
from meetapp.web.heat_search import HeatSearchDep
from meetapp.web.render import form_again, go_on, page
from meetapp.web.sealed import sealed, unsealed
from meetapp.web.state import state_of

router = APIRouter(prefix="/organiser/meets/{meet_id}/heats")

_PADS_MAX = 50


class WantedForm(FormModel):
    """What is asked for."""

    size: Annotated[int, Field(ge=1, le=16, title="how many fly at once")]
    rounds: Annotated[int, Field(ge=1, le=50, title="the rounds")]
    pads: Annotated[Annotated[int, Field(ge=1, le=_PADS_MAX)] | None, Blank, Field(title="the places")] = None
    pilot: Annotated[tuple[RowId, ...], Field(max_length=500, title="who flies")] = ()

    def wanted(self) -> Wanted:
        """The same for the flow."""
        return Wanted(self.size, self.rounds, self.pads, frozenset(self.pilot))


class MakeForm(FormModel):
    """Heats that were looked at, as they were then."""

    plan: Annotated[str, Field(min_length=1, max_length=1_000_000, title="the heats")]


class ChangeForm(FormModel):
    """A change of heats that are made already; which fields it needs depends on `what`."""

    what: Annotated[Literal["swap", "move", "seat", "fit-in", "take-out"], Field(title="what to change")]
    pilot: Annotated[RowId, Field(title="the pilot")]
    heat: Annotated[OptionalRowId, Field(title="the heat")] = None
    other: Annotated[str, Field(max_length=40, title="whom to swap with")] = ""
    to: Annotated[OptionalRowId, Field(title="the heat to fly in")] = None
    mhz: Annotated[Annotated[int, Field(ge=1000, le=10_000)] | None, Blank, Field(title="the channel")] = None
    pad: Annotated[Annotated[int, Field(ge=1, le=_PADS_MAX)] | None, Blank, Field(title="the pad")] = None
    everywhere: bool = False

    def wish(self) -> Wish:
        """The same for the flow. Raises: BadForm where a field that it needs is empty."""
        match self.what:
            case "swap":
                heat, _, pilot = self.other.partition("-")
                if (other_heat := row_id(heat)) is None or (other_pilot := row_id(pilot)) is None:
                    raise BadForm({"other": "Choose whom to swap with."})
                return Swap(self._needed("heat"), self.pilot, other_heat, other_pilot)
            case "move":
                return Move(self._needed("heat"), self.pilot, self._needed("to"))
            case "seat":
                return Reseat(
                    self._needed("heat"), self.pilot, self._needed("mhz"), self._needed("pad"), self.everywhere
                )
            case "fit-in":
                return FitIn(self.pilot)
            case "take-out":
                return TakeOut(self.pilot)

    def _needed(self, name: str) -> int:
        value = getattr(self, name)
        if value is None:
            raise BadForm({name: f"Choose {ChangeForm.model_fields[name].title}."})
        return int(value)


class ConfirmForm(ChangeForm):
    """The change that was looked at, done: `basis` says what it came to."""

    basis: Annotated[str, Field(min_length=1, max_length=64, title="what was looked at")]
    override_reason: Annotated[LongText, Field(title="the reason")] = ""


@router.get("")
def heats(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """The heats of a meet."""
    return page(request, "heats/list.html", view=heats_page.heats_page(store, meet_id, now))


@router.get("/plan")
def plan_page(
    request: Request,
    meet_id: RowIdPath,
    viewer: OrganiserViewer,
    store: StoreDep,
    now: NowDep,
    search: HeatSearchDep,
) -> Response:
    """The question, and the heats that would be made once it is asked."""
    asked = PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)
    view = heats_page.heats_question(store, meet_id, now)
    if "size" not in asked.values:
        return page(request, "heats/plan.html", **_shown(view, None))
    try:
        look = heats_page.look_at_heats(store, meet_id, asked.read(WantedForm).wanted(), now, search)
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "heats/plan.html", asked, error, **_shown(view, asked))
    shown = _shown(view, asked, look, _carried(request, meet_id, look))
    return page(request, "heats/plan.html", **shown, form_values=asked.values)


def _shown(
    view: HeatsQuestion, asked: PostedForm | None, look: HeatsLook | None = None, carried: str = ""
) -> dict[str, Any]:
    ticked = [str(pilot_id) for pilot_id in view.ticked] if asked is None else asked.all("pilot")
    return {"view": view, "ticked": ticked, "look": look, "carried": carried}


def _purpose(meet_id: int) -> str:
    return f"heats of meet {meet_id}"


def _carried(request: Request, meet_id: int, look: HeatsLook) -> str:
    return sealed(state_of(request).server_secret, _purpose(meet_id), as_text(look.day))


@router.post("/make")
def make(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Make the heats that were looked at."""
    day: PlannedDay | None = None
    try:
        text = unsealed(state_of(request).server_secret, _purpose(meet_id), form.read(MakeForm).plan)
        day = from_text(text)
        answer = making.keep_heats(store, form.deed(viewer.actor), meet_id, day)
    except NotFound:
        raise
    except MeetError as error:
        view = heats_page.heats_question(store, meet_id, now)
        asked = _asked_again(form, day)
        return form_again(request, "heats/plan.html", asked or form, error, **_shown(view, asked))
    return go_on(request, form, answer)


def _asked_again(form: PostedForm, day: PlannedDay | None) -> PostedForm | None:
    """The question that a day answers, as if it had been typed."""
    if day is None:
        return None
    wanted = day.wanted
    typed = {"size": str(wanted.size), "rounds": str(wanted.rounds), "pads": str(wanted.pads or "")}
    ticked = tuple(("pilot", str(pilot_id)) for pilot_id in sorted(wanted.pilot_ids))
    return PostedForm((*typed.items(), *ticked), {}, form.key, form.digest, form.now)


@router.get("/print")
def heats_on_paper(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The heats on paper."""
    back = f"/organiser/meets/{meet_id}/heats"
    return page(request, "heats/print.html", view=heat_sheet.heat_sheet(store, meet_id, now), back=back)


@router.get("/{heat_id}/pilots/{pilot_id}")
def seat(
    request: Request,
    meet_id: RowIdPath,
    heat_id: RowIdPath,
    pilot_id: RowIdPath,
    viewer: OrganiserViewer,
    store: StoreDep,
    now: NowDep,
) -> Response:
    """A seat, and what may be changed about it."""
    return page(request, "heats/seat.html", view=changing.seat_page(store, meet_id, heat_id, pilot_id, now))


@router.get("/change")
def look_at_change(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """What a change comes to, nothing written."""
    asked = PostedForm(tuple(request.query_params.multi_items()), {}, "", "", now)
    try:
        look = changing.look_at_change(store, meet_id, asked.read(ChangeForm).wish(), now)
    except NotFound:
        raise
    except MeetError as error:
        return _where_asked(request, store, meet_id, asked, error)
    return page(request, "heats/change.html", **_change_shown(look, asked))


def _change_shown(look: ChangeLook, form: PostedForm) -> dict[str, Any]:
    home = f"/organiser/meets/{look.meet_id}/heats"
    return {"look": look, "asked": form.values, "home": home, "action": f"{home}/change"}


def _where_asked(request: Request, store: Store, meet_id: int, form: PostedForm, error: MeetError) -> Response:
    """Why a change of heats can't be, on the page where it was asked for, and what was asked still in it.

    That is the seat's page; where there is no such seat (any more), or none was named, the list of heats.
    """
    heat_id, pilot_id = (row_id(form.values.get(name, "")) for name in ("heat", "pilot"))
    if heat_id is not None and pilot_id is not None:
        try:
            view = changing.seat_page(store, meet_id, heat_id, pilot_id, form.now)
        except MeetError:
            pass
        else:
            return form_again(request, "heats/seat.html", form, error, view=view)
    return form_again(request, "heats/list.html", form, error, view=heats_page.heats_page(store, meet_id, form.now))


@router.post("/change")
def change(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Do a change as it was looked at."""
    sent = form.read(ConfirmForm)
    try:
        answer = changing.change_heats(
            store, form.deed(viewer.actor), meet_id, sent.wish(), sent.basis, sent.override_reason
        )
    except NotFound:
        raise
    except MeetError as error:
        try:
            look = changing.look_at_change(store, meet_id, sent.wish(), now)
        except MeetError:
            return _where_asked(request, store, meet_id, form, error)
        return form_again(request, "heats/change.html", form, error, **_change_shown(look, form))
    return go_on(request, form, answer)
