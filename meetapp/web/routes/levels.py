"""Estimated levels for a set and a layout: the question in the address, so that an answer can be kept and shared."""

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.planning import level_estimate
from meetapp.flows.planning.level_estimate import LevelQuestion, LevelsPage
from meetapp.flows.readings import POWER_MAX_MW, refusing
from meetapp.spectrum.levels.assumptions import ALLOWED, Assumptions
from meetapp.spectrum.levels.layout import FARTHEST_M, NEAREST_M, Layout
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import FormModel, asked_in_address
from meetapp.web.meet_fields import MhzList
from meetapp.web.render import form_again, page
from meetapp.web.set_up_fields import Decimal

router = APIRouter(prefix="/organiser/meets/{meet_id}/levels")

Metres = Annotated[Decimal, Field(ge=NEAREST_M, le=FARTHEST_M)]
Milliwatts = Annotated[Decimal, Field(ge=0.1, le=POWER_MAX_MW)]


def _figure(name: str, title: str) -> Any:
    allowed = ALLOWED[name]
    return Field(getattr(Assumptions(), name), ge=allowed.low, le=allowed.high, title=title)


class LevelsForm(FormModel):
    """A set, the distances on the field, two powers, and what is assumed (left out: the usual figure)."""

    mhz: Annotated[MhzList, Field(title="the set")] = ()
    wanted_m: Annotated[Metres, Field(title="the distance to your own quad")] = Layout().wanted_m
    nearest_m: Annotated[Metres, Field(title="the distance to the nearest other")] = Layout().nearest_m
    pits_m: Annotated[Metres, Field(title="the distance to the pits")] = Layout().pits_m
    pads_m: Annotated[Metres, Field(title="the distance between pads")] = Layout().pads_m
    low_mw: Annotated[Milliwatts, Field(title="the usual power")] = level_estimate.LOW_MW
    high_mw: Annotated[Milliwatts, Field(title="the louder power")] = level_estimate.HIGH_MW
    quad_gain_dbi: Decimal = _figure("quad_gain_dbi", "the gain of a quad's antenna")
    pilot_gain_dbi: Decimal = _figure("pilot_gain_dbi", "the gain of a pilot's antenna")
    noise_figure_db: Decimal = _figure("noise_figure_db", "the noise figure")
    intercept_dbm: Decimal = _figure("intercept_dbm", "the intercept point")
    rejection_20_db: Decimal = _figure("rejection_20_db", "the filter at 20 MHz")
    rejection_40_db: Decimal = _figure("rejection_40_db", "the filter at 40 MHz")
    rejection_80_db: Decimal = _figure("rejection_80_db", "the filter at 80 MHz")
    conversion_loss_db: Decimal = _figure("conversion_loss_db", "the loss of a product made in a transmitter")
    protection_db: Decimal = _figure("protection_db", "the protection ratio")

    def question(self) -> LevelQuestion:
        """The same for the flow."""
        with refusing():
            return LevelQuestion(
                self.mhz,
                Layout(self.wanted_m, self.nearest_m, self.pits_m, self.pads_m),
                self.low_mw,
                self.high_mw,
                Assumptions(**{name: getattr(self, name) for name in ALLOWED}),
            )


@router.get("")
def levels_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The layout, and the estimate for it: of the set in the address, else of the meet's own."""
    view = level_estimate.levels_page(store, meet_id)
    asked = asked_in_address(request, now)
    if "mhz" not in asked.values:
        return page(request, "meets/levels.html", view=view, answer=_of_own_set(store, view))
    try:
        answer = level_estimate.estimate(store, meet_id, asked.read(LevelsForm).question())
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, "meets/levels.html", asked, error, view=view, answer=None)
    return page(request, "meets/levels.html", view=view, answer=answer, form_values=asked.values)


def _of_own_set(store: StoreDep, view: LevelsPage) -> level_estimate.LevelsAnswer | None:
    if not view.mhz:
        return None
    return level_estimate.estimate(store, view.meet_id, replace(LevelsForm().question(), mhz=view.mhz))
