"""What the organiser prints: tags of the club's tokens; for a meet its wall chart, its poster and its loan sheet."""

from typing import Annotated, Any, Literal, Self

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field, field_validator, model_validator

from meetapp.flows.club.club import club_view
from meetapp.flows.errors import Refused
from meetapp.flows.printing import tags
from meetapp.flows.printing.loan_sheet import loan_sheet
from meetapp.flows.printing.meet_report import meet_report
from meetapp.flows.printing.poster import poster_day
from meetapp.flows.printing.wall_chart import wall_chart
from meetapp.paper.meet_reports import meet_report_page
from meetapp.paper.posters import Wifi, poster
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.paper.tag_sheets import tag_sheets
from meetapp.paper.wall_charts import wall_chart_page
from meetapp.store.engine import Store
from meetapp.web.addresses import base_address, is_answering
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import BadForm, FormDep, FormModel, RowId
from meetapp.web.pdf import SmallPaper, pdf_answer, sheet_answer
from meetapp.web.render import form_again, page

router = APIRouter(prefix="/organiser")


class Ticked(BaseModel):
    """Tokens that are ticked already."""

    token: Annotated[tuple[RowId, ...], Field(max_length=1000)] = ()


class TagsWanted(Ticked):
    """Which tags, on which paper; `meet`: the meet from whose page they are printed."""

    meet: RowId | None = None
    paper: SmallPaper = PaperName.A4
    sides: Literal["one", "two"] = "one"


class PosterForm(FormModel):
    """The Wi-Fi to join, for this print only: the password is not kept. A name has 32 bytes at most (IEEE 802.11)."""

    wifi_name: Annotated[str, Field(max_length=32, title="the Wi-Fi's name")] = ""
    wifi_password: Annotated[str, Field(max_length=63, title="the Wi-Fi's password")] = ""
    paper: Annotated[PaperName, Field(title="the paper")] = PaperName.A4

    @field_validator("wifi_name")
    @classmethod
    def _short_enough(cls, name: str) -> str:
        if len(name.encode()) > 32:
            raise ValueError("A Wi-Fi's name has 32 bytes at most, and letters with accents take two.")
        return name

    @field_validator("wifi_password")
    @classmethod
    def _a_passphrase(cls, password: str) -> str:
        if password and not (len(password) >= 8 and password.isascii() and password.isprintable()):
            raise ValueError("A Wi-Fi's password has 8 to 63 plain letters, digits and signs.")
        return password

    @model_validator(mode="after")
    def _has_a_name(self) -> Self:
        if self.wifi_password and not self.wifi_name:
            raise ValueError("Give the name of the Wi-Fi too, or leave both empty.")
        return self

    @property
    def wifi(self) -> Wifi | None:
        """The Wi-Fi, where one was given."""
        return Wifi(self.wifi_name, self.wifi_password) if self.wifi_name else None


@router.get("/print")
def club_page(
    request: Request, viewer: OrganiserViewer, store: StoreDep, ticked: Annotated[Ticked, Query()]
) -> Response:
    """Tags of any of the club's tokens."""
    return page(request, "print/page.html", **_names(request, store, None, TagsWanted(token=ticked.token)))


@router.get("/meets/{meet_id}/print")
def meet_page(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Everything that can be printed for a meet."""
    return page(request, "print/page.html", **_names(request, store, meet_id))


def _names(
    request: Request, store: Store, meet_id: int | None, wanted: TagsWanted | None = None
) -> dict[str, Any]:
    """What the page shows. `wanted`: the tags that are ticked; None: all of them."""
    club = club_view(store)
    return {
        "view": tags.print_page(store, meet_id, wanted.token if wanted else None),
        "wanted": wanted or TagsWanted(),
        "field_address": club.field_address,
        "is_only_this_machine": club.is_only_this_machine,
        "base": base_address(request, club.field_address),
        "answers": is_answering(request, club.field_address),
    }


@router.get("/print/tags.pdf")
def tags_pdf(
    request: Request,
    viewer: OrganiserViewer,
    store: StoreDep,
    now: NowDep,
    wanted: Annotated[TagsWanted, Query()],
) -> Response:
    """The ticked tags as a PDF."""
    try:
        view = tags.tags_to_print(store, wanted.token, wanted.meet)
    except Refused as refused:
        errors = {refused.field or "": refused.sentence}
        names = _names(request, store, wanted.meet, wanted)
        return page(request, "print/page.html", status=422, form_errors=errors, **names)
    base = base_address(request, club_view(store).field_address)
    content = tag_sheets(view, PAPERS[wanted.paper], base, now, is_double_sided=wanted.sides == "two")
    return pdf_answer(content, f"tags-{wanted.paper}")


@router.get("/meets/{meet_id}/print/wall-chart.pdf")
def wall_chart_pdf(
    meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep, paper: PaperName = PaperName.A4
) -> Response:
    """The wall chart of the day as a PDF."""
    view = wall_chart(store, meet_id)
    content = wall_chart_page(view, PAPERS[paper], now)
    return pdf_answer(content, f"wall-chart-{view.day.on_date.isoformat()}-{paper}")


@router.post("/meets/{meet_id}/print/poster.pdf")
def poster_pdf(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """The poster as a PDF. A form, so that the Wi-Fi's password stands in no address."""
    try:
        wanted = form.read(PosterForm)
    except BadForm as bad:
        return form_again(request, "print/page.html", form, bad, **_names(request, store, meet_id))
    day = poster_day(store, meet_id)
    join_address = f"{base_address(request, club_view(store).field_address)}/join"
    content = poster(day, wanted.wifi, join_address, PAPERS[wanted.paper], form.now)
    return pdf_answer(content, f"poster-{day.on_date.isoformat()}-{wanted.paper}")


@router.get("/meets/{meet_id}/print/loan-sheet.pdf")
def loan_sheet_pdf(
    meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep, paper: SmallPaper = PaperName.A4
) -> Response:
    """The loan sheet of the day as a PDF."""
    return sheet_answer(loan_sheet(store, meet_id, now), paper, now)


@router.get("/meets/{meet_id}/report.pdf")
def report_file(
    request: Request,
    meet_id: RowIdPath,
    viewer: OrganiserViewer,
    store: StoreDep,
    now: NowDep,
    paper: SmallPaper = PaperName.A4,
) -> Response:
    """The report of a meet, to keep and to send: no names."""
    view = meet_report(store, meet_id, now, base_address(request, club_view(store).field_address))
    name = f"meet-report-{view.day.on_date.isoformat()}-{paper}"
    return pdf_answer(meet_report_page(view, PAPERS[paper], now), name)
