"""Channel plans: published ones to read, own ones to write."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import plans
from meetapp.flows.deeds import Answer
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText, ShortText
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/organiser/plans")


class PlanForm(FormModel):
    """What the organiser says about a channel plan."""

    letter: Annotated[str, Field(min_length=1, max_length=10, title="the letter")]
    name: Annotated[ShortText, Field(title="the name")]
    source: Annotated[str, Field(min_length=1, max_length=500, title="the source")]
    lines: Annotated[LongText, Field(title="the channels")] = ""

    def draft(self) -> plans.PlanDraft:
        """The same for the flow."""
        return plans.PlanDraft(**self.model_dump())


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every plan with its channels."""
    return page(request, "plans/list.html", viewer=viewer, plans=plans.list_plans(store))


@router.get("/new")
def new_page(request: Request, viewer: OrganiserViewer) -> Response:
    """A plan that isn't there yet."""
    return page(request, "plans/edit.html", viewer=viewer, view=plans.NEW_PLAN)


@router.post("/new")
def add(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Add a plan of the club's own."""

    def do() -> Answer:
        return plans.add_plan(store, form.deed(viewer.actor), form.read(PlanForm).draft())

    return form_done(request, form, "plans/edit.html", do, lambda: plans.NEW_PLAN)


@router.get("/{plan_id}")
def show(request: Request, plan_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One plan: to read, or to change where it is the club's own."""
    return page(request, "plans/edit.html", viewer=viewer, view=plans.plan_view(store, plan_id))


@router.post("/{plan_id}")
def save(
    request: Request, plan_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save a plan of the club's own."""

    def do() -> Answer:
        return plans.change_plan(store, form.deed(viewer.actor), plan_id, form.read(PlanForm).draft())

    return form_done(request, form, "plans/edit.html", do, partial(plans.plan_view, store, plan_id))
