"""The one map from what went wrong to what a person sees. No exception text, no trace, leaves the server."""

import logging
import secrets

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as NoFreeConnection
from starlette.exceptions import HTTPException

from meetapp.flows.errors import MeetError
from meetapp.store.engine import Store
from meetapp.web.deps import SignInNeeded
from meetapp.web.htmx import wants_fragment
from meetapp.web.render import page, page_without_database
from meetapp.web.routes.streams import SignedOut
from meetapp.web.security import dress
from meetapp.web.signing_in import sign_in_needed
from meetapp.web.surroundings import Link, Notice

_STATUS = {
    "not_found": 404,
    "forbidden": 403,
    "refused": 409,
    "conflict": 409,
    "bad_form": 422,
    "too_many": 429,
    "too_large": 413,
    "too_slow": 408,
}
_TITLES = {
    400: "That can't be read",
    403: "Not for you",
    404: "Not here",
    405: "Not this way",
    408: "That took too long",
    409: "That didn't work",
    413: "That's too much",
    422: "Something needs correcting",
    429: "Not so fast",
    500: "Something broke on our side",
    503: "The database doesn't answer",
    507: "The disk is full",
}
_log = logging.getLogger(__name__)


def add_error_pages(app: FastAPI) -> None:
    """Put the handlers on the app."""
    app.add_exception_handler(MeetError, _meet_error)
    app.add_exception_handler(SignInNeeded, sign_in_needed)
    app.add_exception_handler(SignedOut, _signed_out)
    app.add_exception_handler(RequestValidationError, _unreadable)
    app.add_exception_handler(HTTPException, _http_error)
    app.add_exception_handler(DBAPIError, _database_failed)
    app.add_exception_handler(NoFreeConnection, _out_of_reach)
    app.add_exception_handler(Exception, _broken)


def _error_page(request: Request, status: int, message: str, hint: str) -> Response:
    title = _TITLES.get(status, "That didn't work")
    if wants_fragment(request):
        return page(request, "_notice.html", status=status, notice=Notice(message, kind="refused", hint=hint))
    link = Link("/", "Back to the start")
    return page(request, "error.html", status=status, title=title, message=message, hint=hint, link=link)


def _meet_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, MeetError)
    return _error_page(request, _STATUS.get(error.code, 409), error.message, error.hint)


def _signed_out(_request: Request, _error: Exception) -> Response:
    return Response("Signed out.", status_code=401)


def _unreadable(request: Request, _error: Exception) -> Response:
    return _error_page(request, 404, "There is no such page.", "Check the address, or go back to the start.")


def _http_error(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 404:
        return _unreadable(request, error)
    if error.status_code == 405:
        return _error_page(request, 405, "This address only takes a form from our own pages.", "Go back to the page.")
    return _error_page(request, error.status_code, "The request can't be read.", "Load the page again.")


def _database_failed(request: Request, error: Exception) -> Response:
    if isinstance(error, DBAPIError) and Store.is_out_of_reach(error):
        return _out_of_reach(request, error)
    # SQLITE_FULL by its words (sqlite.org/rescode.html#full): a driver's error has no code on every Python we run on.
    if "database or disk is full" not in str(error):
        return _broken(request, error)
    _log.error("no room on the disk: %s", _asked(request))
    message = "The disk of the club's machine is full, so this was not written. What was answered before is there."
    return _error_page(request, 507, message, "Make room on that disk, then send it again. Until then write on paper.")


def _out_of_reach(request: Request, error: Exception) -> Response:
    # 503 is no answer to static/taps.js: it sends the tap again until the database is back.
    _log.error("the database doesn't answer: %s (%s)", _asked(request), type(error).__name__)
    message = "The club's database doesn't answer just now. What was answered before is there."
    hint = "Send it again, or load the page again, in a moment: nothing is done twice. Until then write on paper."
    if wants_fragment(request):
        notice = Notice(message, kind="refused", hint=hint)
        return page_without_database(request, "_notice.html", status=503, notice=notice)
    return page_without_database(request, "error.html", status=503, title=_TITLES[503], message=message, hint=hint)


def _asked(request: Request) -> str:
    # The address as the route has it: the one that was asked may hold a link's secret, or lines to forge a log with.
    return f"{request.method} {getattr(request.scope.get('route'), 'path', 'an address that is none')}"


def _broken(request: Request, error: Exception) -> Response:
    reference = secrets.token_hex(4)
    _log.error("reference %s: %s", reference, _asked(request), exc_info=error)
    hint = f"Nothing was half done. Load the page again; if it stays, tell the organiser: reference {reference}."
    response = _error_page(request, 500, "Sorry, this didn't work because of a fault in the tool.", hint)
    dress(response.headers)  # this answer is made outside the app's guards
    return response
