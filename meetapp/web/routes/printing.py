"""What the organiser prints: tags of the club's tokens, or of a meet's set."""

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, Field

from meetapp.flows.club.club import club_view
from meetapp.flows.errors import Refused
from meetapp.flows.printing import tags
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.paper.tag_sheets import tag_sheets
from meetapp.store.engine import Store
from meetapp.web.addresses import base_address, is_answering
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import RowId
from meetapp.web.pdf import pdf_answer
from meetapp.web.render import page

router = APIRouter(prefix="/organiser")

SmallPaper = Literal[PaperName.A4, PaperName.LETTER]


class Ticked(BaseModel):
    """Tokens that are ticked already."""

    token: Annotated[tuple[RowId, ...], Field(max_length=1000)] = ()


class TagsWanted(Ticked):
    """Which tags, on which paper; `meet`: the meet from whose page they are printed."""

    meet: RowId | None = None
    paper: SmallPaper = PaperName.A4
    sides: Literal["one", "two"] = "one"


@router.get("/print")
def club_page(
    request: Request, viewer: OrganiserViewer, store: StoreDep, ticked: Annotated[Ticked, Query()]
) -> Response:
    """Tags of any of the club's tokens."""
    return _page(request, store, None, TagsWanted(token=ticked.token))


@router.get("/meets/{meet_id}/print")
def meet_page(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Everything that can be printed for a meet."""
    return _page(request, store, meet_id, None)


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
        return _page(request, store, wanted.meet, wanted, refused)
    base = base_address(request, club_view(store).field_address)
    content = tag_sheets(view, PAPERS[wanted.paper], base, now, is_double_sided=wanted.sides == "two")
    return pdf_answer(content, f"tags-{wanted.paper}")


def _page(
    request: Request, store: Store, meet_id: int | None, wanted: TagsWanted | None, refused: Refused | None = None
) -> Response:
    club = club_view(store)
    return page(
        request,
        "print/page.html",
        status=422 if refused else 200,
        form_errors={refused.field or "": refused.sentence} if refused else {},
        view=tags.print_page(store, meet_id, wanted.token if wanted else None),
        wanted=wanted or TagsWanted(),
        field_address=club.field_address,
        is_only_this_machine=club.is_only_this_machine,
        base=base_address(request, club.field_address),
        answers=is_answering(request, club.field_address),
    )
