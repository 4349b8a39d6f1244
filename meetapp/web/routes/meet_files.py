"""A meet as one JSON file: taken away, and read back."""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import Field

from meetapp.flows.errors import MeetError
from meetapp.flows.files import meet_file, meet_import
from meetapp.flows.files.meet_file_reading import BadMeetFile
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import MAX_UPLOAD_BYTES, BadForm, FormDep, FormModel, PostedForm
from meetapp.web.render import form_again, go_on, page

router = APIRouter(prefix="/organiser")


class FileForm(FormModel):
    """The text of a meet file, carried from the preview to the deed."""

    text: Annotated[str, Field(min_length=1, max_length=MAX_UPLOAD_BYTES, title="the file")]


@router.get("/meets/{meet_id}/export.json")
def export(meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep, names: str = "yes") -> Response:
    """The meet as a file; `?names=no` numbers the people."""
    file = meet_file.export_meet(store, meet_id, now, with_names=names != "no")
    kind = "meet" if file.has_names else "meet-without-names"
    return Response(
        meet_file.meet_file_text(file),
        media_type="application/json",
        headers={"Content-Disposition": f'attachment; filename="{kind}-{file.meet.on_date:%Y-%m-%d}.json"'},
    )


@router.get("/meet-files/import")
def import_page(request: Request, viewer: OrganiserViewer) -> Response:
    """Where a file is chosen."""
    return page(request, "meets/import.html", problems=())


@router.post("/meet-files/import")
def look(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Show what the file would do; nothing is changed."""
    try:
        text = _text(form)
        preview = meet_import.preview(store, text)
    except MeetError as error:
        return _again(request, form, error)
    return page(request, "meets/import_preview.html", view=preview, text=text)


@router.post("/meet-files/import/read")
def read(request: Request, form: FormDep, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """Read the file back as a closed meet."""
    try:
        answer = meet_import.import_meet(store, form.deed(viewer.actor), form.read(FileForm).text)
    except MeetError as error:
        return _again(request, form, error)
    return go_on(request, form, answer)


def _text(form: PostedForm) -> str:
    content = form.files.get("file", b"")
    if not content:
        raise BadForm({"file": "Choose a meet file first."})
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadForm({"file": "This file is no text in UTF-8, so it is no meet file."}) from error


def _again(request: Request, form: PostedForm, error: MeetError) -> Response:
    problems = error.problems if isinstance(error, BadMeetFile) else ()
    return form_again(request, "meets/import.html", form.without("text"), error, problems=problems)
