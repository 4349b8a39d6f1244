"""Kinds of transmitter."""

from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import kinds, named_rows
from meetapp.flows.club.kind_drafts import KindDraft
from meetapp.flows.deeds import Answer
from meetapp.rules.setting_card_text import TEXT_MAX
from meetapp.web.deps import OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, LongText, ShortText, row_id
from meetapp.web.render import form_done, page
from meetapp.web.set_up_fields import OptionalDecimal, OptionalGain

router = APIRouter(prefix="/organiser/kinds")


class KindForm(FormModel):
    """What the organiser says about a kind of transmitter."""

    name: Annotated[ShortText, Field(title="the name")]
    signal: Annotated[Literal["analogue", "digital"], Field(title="analogue or digital")]
    width_from: Annotated[Literal["carson", "own"], Field(title="how the width is known")]
    carson_modulating_mhz: Annotated[OptionalDecimal, Field(title="M")] = None
    carson_deviation_mhz: Annotated[OptionalDecimal, Field(title="D")] = None
    width_mhz: Annotated[OptionalDecimal, Field(title="the width")] = None
    width_source: Annotated[str, Field(max_length=300, title="where the width comes from")] = ""
    tuning: Annotated[LongText, Field(title="its channels")] = ""
    goggles: Annotated[LongText, Field(title="the channels of the goggles")] = ""
    power_steps: Annotated[str, Field(max_length=200, title="the power steps")] = ""
    antenna_gain_dbi: Annotated[OptionalGain, Field(title="the antenna gain")] = None
    goggles_transmit: bool = False
    moves_by_itself: bool = False
    sets_silently: bool = False
    setting_hint: Annotated[str, Field(max_length=300, title="how its channel is set")] = ""
    setting_card: Annotated[str, Field(max_length=TEXT_MAX, title="the setting card")] = ""

    def draft(self) -> KindDraft:
        """The same for the flow."""
        return KindDraft(is_digital=self.signal == "digital", **self.model_dump(exclude={"signal"}))


@router.get("")
def show_all(request: Request, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Every kind."""
    return page(request, "kinds/list.html", viewer=viewer, kinds=kinds.list_kinds(store))


@router.get("/new")
def new_page(
    request: Request, viewer: OrganiserViewer, store: StoreDep, template: str = "", like: str = ""
) -> Response:
    """A kind that isn't there yet: empty, from a template, or like another one."""
    view = kinds.new_kind_view(store, template=row_id(template), copied_id=row_id(like))
    return page(request, "kinds/edit.html", viewer=viewer, view=view, templates=kinds.template_names())


@router.post("/new")
def add(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Add a kind."""

    def do() -> Answer:
        return kinds.add_kind(store, form.deed(viewer.actor), form.read(KindForm).draft())

    view = partial(kinds.new_kind_view, store)
    return form_done(request, form, "kinds/edit.html", do, view, templates=kinds.template_names())


@router.get("/{kind_id}")
def show(request: Request, kind_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """One kind, and what its words mean in MHz."""
    return page(request, "kinds/edit.html", viewer=viewer, view=kinds.kind_view(store, kind_id), templates=())


@router.post("/{kind_id}")
def save(
    request: Request, kind_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save a kind."""

    def do() -> Answer:
        return kinds.change_kind(store, form.deed(viewer.actor), kind_id, form.read(KindForm).draft())

    return form_done(request, form, "kinds/edit.html", do, partial(kinds.kind_view, store, kind_id), templates=())


@router.post("/{kind_id}/retire")
def retire(
    request: Request, kind_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a kind no more."""
    do = partial(named_rows.retire, store, form.deed(viewer.actor), named_rows.KINDS, kind_id)
    return form_done(request, form, "kinds/edit.html", do, partial(kinds.kind_view, store, kind_id), templates=())


@router.post("/{kind_id}/bring-back")
def bring_back(
    request: Request, kind_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Offer a kind again."""
    do = partial(named_rows.bring_back, store, form.deed(viewer.actor), named_rows.KINDS, kind_id)
    return form_done(request, form, "kinds/edit.html", do, partial(kinds.kind_view, store, kind_id), templates=())
