"""Who is expected at a meet, and which tokens belong to it by hand."""

from fastapi import APIRouter, Request, Response

from meetapp.flows.deeds import Answer
from meetapp.flows.planning import chosen_set, expected
from meetapp.flows.planning.expected import ExpectedPage
from meetapp.web.deps import NowDep, OrganiserViewer, RowIdPath, StoreDep
from meetapp.web.forms import BadForm, FormDep, FormModel, PostedForm, RowId, row_id
from meetapp.web.render import form_done, page

router = APIRouter(prefix="/organiser/meets/{meet_id}")


class ExpectedForm(FormModel):
    """Who is ticked; `everybody` is the button that ticks all."""

    expected: tuple[RowId, ...] = ()
    everybody: bool = False


class TokensForm(FormModel):
    """Which tokens are ticked, and whether the floors follow."""

    tokens: tuple[RowId, ...] = ()
    with_usual_floors: bool = False


@router.get("/expected")
def expected_page(request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep) -> Response:
    """The pilots of the club, to be ticked."""
    return page(request, "meets/expected.html", view=expected.expected_page(store, meet_id), ticked=None)


@router.post("/expected")
def set_expected(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep
) -> Response:
    """Save who is expected, and with what."""
    view = expected.expected_page(store, meet_id)
    return form_done(
        request,
        form,
        "meets/expected.html",
        lambda: expected.set_expected(store, form.deed(viewer.actor), meet_id, _coming(form, view)),
        lambda: view,
        ticked=form.all("expected"),
    )


def _coming(form: PostedForm, view: ExpectedPage) -> dict[int, int | None]:
    sent = form.read(ExpectedForm)
    chosen = [pilot.pilot_id for pilot in view.pilots] if sent.everybody else sent.expected
    return {pilot_id: _transmitter(form, pilot_id) for pilot_id in chosen}


def _transmitter(form: PostedForm, pilot_id: int) -> int | None:
    name = f"transmitter-{pilot_id}"
    value = form.values.get(name, "")
    if not value:
        return None
    if (transmitter_id := row_id(value)) is None:
        raise BadForm({name: "Choose one of this pilot's transmitters."})
    return transmitter_id


@router.get("/tokens")
def tokens_page(
    request: Request, meet_id: RowIdPath, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """The club's tokens, to be ticked."""
    return page(request, "meets/tokens.html", view=chosen_set.tokens_page(store, meet_id, now), ticked=None)


@router.post("/tokens")
def set_tokens(
    request: Request, meet_id: RowIdPath, form: FormDep, viewer: OrganiserViewer, store: StoreDep, now: NowDep
) -> Response:
    """Save which tokens belong to the meet."""

    def do() -> Answer:
        sent = form.read(TokensForm)
        return chosen_set.set_tokens(
            store, form.deed(viewer.actor), meet_id, sent.tokens, with_usual_floors=sent.with_usual_floors
        )

    view = chosen_set.tokens_page(store, meet_id, now)
    return form_done(request, form, "meets/tokens.html", do, lambda: view, ticked=form.all("tokens"))
