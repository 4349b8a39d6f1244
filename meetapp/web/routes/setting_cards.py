"""The setting card of a kind of transmitter: told in one of three ways, filled in by rule, looked at, saved."""

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field

from meetapp.flows.club import setting_cards
from meetapp.flows.club.setting_cards import CardDraft, CardView, Rule, channel_field
from meetapp.flows.errors import MeetError, NotFound, Refused
from meetapp.flows.printing.setting_card import card_to_print
from meetapp.paper.card_places import CardSize
from meetapp.paper.setting_cards import setting_card_sheets
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.rules.counting import Counting
from meetapp.rules.setting_cards import LEVERS_MAX
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormDep, FormModel, OptionalRowId, PostedForm
from meetapp.web.pdf import SmallPaper, pdf_answer
from meetapp.web.render import form_again, form_done, go_on, page

router = APIRouter(prefix="/organiser/kinds/{kind_id}/setting")
TEMPLATE = "kinds/setting.html"


class CardForm(FormModel):
    """What the organiser says about the way that counts, and how the channels are filled in."""

    do: Literal["fill", "look", "save"] = "save"
    way: Literal["switches", "button", "menu"]
    levers: Annotated[int, Field(ge=1, le=LEVERS_MAX, title="the number of switches")] = setting_cards.USUAL_LEVERS
    on_end: Annotated[Literal["up", "down"], Field(title="which end is up")] = "up"
    lamps: Annotated[str, Field(max_length=200, title="the lamps")] = ""
    plan_step: Annotated[str, Field(max_length=120, title="how a press for the plan is made")] = ""
    channel_step: Annotated[str, Field(max_length=120, title="how a press for the channel is made")] = ""
    menu_asks: Annotated[Literal["channel", "mhz"], Field(title="what the menu asks for")] = "channel"
    ones: Annotated[Literal["first", "last"], Field(title="which end counts the ones")] = "first"
    start: Annotated[Literal["0", "1"], Field(title="where counting begins")] = "0"
    inverted: bool = False
    lamp_rule: Annotated[Literal["", "one", "binary"], Field(title="how the lamps count")] = ""

    def draft(self, told: Mapping[str, str]) -> CardDraft:
        """The same for the flow, with a text for each channel."""
        return CardDraft(
            self.way,
            self.levers,
            self.on_end == "up",
            self.lamps,
            self.plan_step,
            self.channel_step,
            self.menu_asks == "mhz",
            told,
        )

    def rule(self) -> Rule:
        """How the channels are filled in."""
        return Rule(Counting(self.ones == "first", self.inverted, int(self.start)), self.lamp_rule)


class CardWanted(BaseModel):
    """Which card, on which paper; `meet`: only the channels of its tokens."""

    size: CardSize = CardSize.ID1
    paper: SmallPaper = PaperName.A4
    meet: OptionalRowId = None


@router.get("")
def show(request: Request, kind_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, way: str = "") -> Response:
    """The card of a kind as it is saved, or the form to tell it in another way."""
    return page(request, TEMPLATE, viewer=viewer, view=setting_cards.card_view(store, kind_id, way))


@router.post("")
def tell(request: Request, kind_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Fill the channels in by rule, look at what is typed, or save it."""
    try:
        told = form.read(CardForm)
        draft = told.draft(_told_in(form))
        if told.do == "save":
            return go_on(request, form, setting_cards.save_card(store, form.deed(viewer.actor), kind_id, draft))
        if told.do == "fill":
            draft = setting_cards.filled(store, kind_id, draft, told.rule())
        view = setting_cards.preview(store, kind_id, draft)
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, TEMPLATE, form, error, view=_as_typed(form, store, kind_id))
    values = form.values | {channel_field(key): text for key, text in draft.told.items()}
    return page(request, TEMPLATE, viewer=viewer, view=view, form_values=values)


@router.get("/card.pdf")
def card_pdf(
    request: Request,
    kind_id: RowIdPath,
    viewer: OrganiserViewer,
    store: StoreDep,
    now: NowDep,
    wanted: Annotated[CardWanted, Query()],
) -> Response:
    """The card on paper, as a PDF."""
    try:
        view = card_to_print(store, kind_id, wanted.meet)
    except Refused as refused:
        errors = {refused.field or "": refused.sentence}
        kept = setting_cards.card_view(store, kind_id)
        return page(request, TEMPLATE, status=422, viewer=viewer, view=kept, form_errors=errors)
    return pdf_answer(setting_card_sheets(view, wanted.size, PAPERS[wanted.paper], now), f"setting-card-{kind_id}")


@router.post("/drop")
def drop(request: Request, kind_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Take the card away."""
    do = partial(setting_cards.drop_card, store, form.deed(viewer.actor), kind_id)
    return form_done(request, form, TEMPLATE, do, partial(setting_cards.card_view, store, kind_id))


def _told_in(form: PostedForm) -> dict[str, str]:
    mark = channel_field("")
    return {name.removeprefix(mark): text for name, text in form.pairs if name.startswith(mark)}


def _as_typed(form: PostedForm, store: StoreDep, kind_id: int) -> CardView:
    view = setting_cards.card_view(store, kind_id, form.values.get("way", ""))
    return replace(view, remarks=())
