"""Pilots from a list and to a list (CSV)."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.club import pilot_import
from meetapp.flows.club.pilot_export import pilots_csv
from meetapp.flows.club.pilot_sheet import BYTES_MAX, text_from
from meetapp.flows.errors import MeetError, NotFound
from meetapp.web.deps import NowDep, OrganiserViewer, StoreDep
from meetapp.web.forms import FormDep, FormModel, PostedForm
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/organiser/pilots")


class ListForm(FormModel):
    """A list of pilots, typed or pasted."""

    text: Annotated[str, Field(max_length=BYTES_MAX, title="the list")] = ""


@router.get("/import")
def import_page(request: Request, viewer: OrganiserViewer) -> Response:
    """Where a list is typed or a file is chosen."""
    return page(request, "pilots/import.html", viewer=viewer, preview=None, text="", remark="")


@router.get("/export.csv")
def export(viewer: OrganiserViewer, store: StoreDep, now: NowDep) -> Response:
    """The list of pilots as a file that the import reads back."""
    # The mark at the front tells spreadsheets that the file is UTF-8.
    return Response(
        pilots_csv(store).encode("utf-8-sig"),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="pilots-{now:%Y-%m-%d}.csv"'},
    )


@router.post("/import")
def look(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Show what the list would do; nothing is changed."""
    try:
        text, remark = _text(form)
    except MeetError as error:
        return _again(request, form, error, form.values.get("text", ""))
    try:
        preview = pilot_import.preview(store, text)
    except MeetError as error:
        return _again(request, form, error, text)
    status = 422 if preview.bad else 200
    return page(
        request, "pilots/import.html", status=status, viewer=viewer, preview=preview, text=text, remark=remark
    )


@router.post("/import/accept")
def accept(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Take everybody on the list, or nobody."""
    text = form.read(ListForm).text
    try:
        answer = pilot_import.import_pilots(store, form.deed(viewer.actor), text)
    except NotFound:
        raise
    except MeetError as error:
        return _again(request, form, error, text)
    return go_on(request, form, answer)


def _text(form: PostedForm) -> tuple[str, str]:
    content = form.files.get("file", b"")
    return text_from(content) if content else (form.read(ListForm).text, "")


def _again(request: Request, form: PostedForm, error: MeetError, text: str) -> Response:
    return form_again(request, "pilots/import.html", form, error, preview=None, text=text, remark="")
