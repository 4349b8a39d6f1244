"""Pages and fragments from frozen views: one way to show, to go on after a deed, to show a form again."""

from collections.abc import Callable, Mapping
from functools import cache, partial
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

from fastapi import Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from meetapp.drawings.air import air_compared, air_picture
from meetapp.drawings.air_small import small_air_picture
from meetapp.drawings.day import day_picture
from meetapp.drawings.settings import setting_picture
from meetapp.drawings.shapes import short
from meetapp.drawings.start_lines import start_line_picture
from meetapp.flows.deeds import Answer
from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.giving_way import in_pieces
from meetapp.review.chance_words import chance_words, percent
from meetapp.spectrum.air import nearest_text
from meetapp.spectrum.bands import segments_text
from meetapp.web import texts
from meetapp.web.deps import Viewer
from meetapp.web.forms import BadForm, PostedForm
from meetapp.web.htmx import wants_fragment
from meetapp.web.review_pictures import causes_picture, kinds_picture, silent_air_picture
from meetapp.web.state import state_of
from meetapp.web.static_files import static_address
from meetapp.web.surroundings import new_key, surroundings


@cache
def make_templates(folder: Path) -> Environment:
    """The template environment: escaping always on, a missing name is an error. Kept, as compiling takes time.

    Static files lie in the folder beside it.
    """
    environment = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        # Each file is looked at once: that spares a page fifteen looks at the disk, and a running server a new version.
        auto_reload=False,
    )
    environment.filters.update(
        air_compared=air_compared,
        air_picture=air_picture,
        causes_picture=causes_picture,
        chance_words=chance_words,
        clock=texts.clock_time,
        coordinate=short,
        day_picture=day_picture,
        start_line_picture=start_line_picture,
        day_clock=texts.day_and_time,
        edges=texts.edges,
        fallen=texts.fallen,
        kinds_picture=kinds_picture,
        mhz=texts.mhz,
        minutes=texts.minutes,
        nearest=nearest_text,
        neighbours=texts.neighbours,
        number=texts.number,
        percent=percent,
        segments_text=segments_text,
        setting_picture=setting_picture,
        silent_air_picture=silent_air_picture,
        small_air_picture=small_air_picture,
        static=partial(static_address, folder.parent / "static"),
    )
    environment.globals["new_key"] = new_key
    return environment


def page(
    request: Request,
    template: str,
    *,
    status: int = 200,
    fragment: str | None = None,
    viewer: Viewer | None = None,
    **names: Any,
) -> Response:
    """A whole page, or only its `fragment` template when htmx asks for that.

    Every template gets what `surroundings` gives (viewer, frame, alarms, notice, form_values, form_errors, ...) and the
    function `new_key()` for a form's operation key; `names` add to it.
    """
    chosen = fragment if fragment and wants_fragment(request) else template
    context = surroundings(request, viewer) | names
    html = in_pieces(state_of(request).templates.get_template(chosen).generate(context))
    return drawn(html, status)


def drawn(html: str, status: int = 200) -> Response:
    """The answer with a page or a part of one: which of them depends on who asks."""
    return HTMLResponse(html, status_code=status, headers={"Vary": "HX-Request"})


def page_without_database(request: Request, template: str, *, status: int, **names: Any) -> Response:
    """A page of plain words for when the database can't be asked who looks, and what stands around the page."""
    html = state_of(request).templates.get_template(template).render(names)
    return drawn(html, status)


def unchanged() -> Response:
    """The answer to a page that asks again while nothing has changed: it keeps what it shows (htmx swaps nothing)."""
    return Response(status_code=204, headers={"Vary": "HX-Request"})


def go_on(request: Request, form: PostedForm, answer: Answer) -> Response:
    """After a deed: to the answer's page, which then shows the notice and the undo button."""
    parts = urlsplit(answer.location)
    query = "&".join(part for part in (parts.query, urlencode({"done": form.key})) if part)
    location = f"{parts.path}?{query}" + (f"#{parts.fragment}" if parts.fragment else "")
    if wants_fragment(request):
        return Response(status_code=200, headers={"HX-Redirect": location, "Vary": "HX-Request"})
    return RedirectResponse(location, status_code=303)


def form_again(request: Request, template: str, form: PostedForm, error: MeetError, **names: Any) -> Response:
    """The same form, everything typed still in it, a sentence beside what is wrong.

    Status 422; 409 for a conflict, 429 for too many guesses.
    """
    errors: Mapping[str, str]
    errors = error.errors if isinstance(error, BadForm) else {error.field or "": error.sentence}
    status = {"conflict": 409, "too_many": 429}.get(error.code, 422)
    return page(request, template, status=status, form_values=form.values, form_errors=dict(errors), **names)


def form_done(
    request: Request,
    form: PostedForm,
    template: str,
    do: Callable[[], Answer],
    view: Callable[[], object],
    **names: Any,
) -> Response:
    """Do what a form asks and go on; refused, the same form comes again (over `view()`) with everything typed in it.

    Raises:
        NotFound: what the form is about isn't there, so there is no form to show again.
    """
    try:
        answer = do()
    except NotFound:
        raise
    except MeetError as error:
        return form_again(request, template, form, error, view=view(), **names)
    return go_on(request, form, answer)
