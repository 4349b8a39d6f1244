"""Cookies, form tokens and headers: who sent this, and was it our own page?

Cross-site requests: the Origin header must name our own host (Sec-Fetch-Site is read where a browser sends it), and
every form carries a token tied to a cookie of that browser. Guided by the OWASP cheat sheet on cross-site request
forgery.
"""

import hmac
import secrets
from datetime import datetime

from fastapi import Request, Response
from fastapi.responses import PlainTextResponse
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from meetapp.flows.errors import Forbidden
from meetapp.web.hosts import host_of, is_field_address, is_local
from meetapp.web.state import state_of

DESK_COOKIE = "meet_desk"
PILOT_COOKIE = "meet_pilot"
BROWSER_COOKIE = "meet_browser"
_BROWSER_SECONDS = 30 * 24 * 3600

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",  # for phones too old to read frame-ancestors
    # 'no-referrer' would make browsers send 'Origin: null' with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


class OwnPagesOnly:
    """Answers under the club's own names only, refuses changing requests from another origin, gives each browser its
    cookie, sets the headers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check where the request was meant to go and where it came from, hand it on, dress the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        known = read_cookie(request, BROWSER_COOKIE)
        request.state.browser = known or secrets.token_urlsafe(16)

        async def send_dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                dress(headers)
                if not known and not request.url.path.startswith("/static/"):
                    _give_browser_cookie(request, headers)
            await send(message)

        refusal = await _refusal(request)
        if refusal is not None:
            await refusal(scope, receive, lambda message: _send_refusal(message, send))
            return
        await self.app(scope, receive, send_dressed)


async def _send_refusal(message: Message, send: Send) -> None:
    if message["type"] == "http.response.start":
        dress(MutableHeaders(scope=message))
    await send(message)


async def _refusal(request: Request) -> Response | None:
    if not await _is_for_us(request):
        return PlainTextResponse(
            "This tool isn't known under this name. Open it by the address that the terminal shows, or have the "
            "organiser write this name into the club's field address.",
            status_code=400,
        )
    # PostgreSQL takes no text with a zero byte in it, and no name of a file has one.
    if "\x00" in request.scope["path"] or b"%00" in request.scope["query_string"]:
        return PlainTextResponse("No address of this tool has a zero byte in it. Open the page afresh.", 400)
    if request.method not in ("GET", "HEAD") and not _is_same_origin(request):
        return PlainTextResponse("This form was sent from another site; nothing was changed.", status_code=403)
    return None


async def _is_for_us(request: Request) -> bool:
    state = state_of(request)
    host = host_of(request.headers.getlist("host"))
    if host is None:
        return False
    return is_local(host, state.own_names) or await run_in_threadpool(is_field_address, host, state.store)


def dress(headers: MutableHeaders) -> None:
    """Put the headers on an answer that every answer carries, where it hasn't set its own."""
    for name, value in _HEADERS.items():
        headers.setdefault(name, value)
    headers.setdefault("Cache-Control", "no-store")


def _give_browser_cookie(request: Request, headers: MutableHeaders) -> None:
    cookie = Response()
    set_cookie(request, cookie, BROWSER_COOKIE, request.state.browser, _BROWSER_SECONDS)
    headers.append("set-cookie", cookie.headers["set-cookie"])


def _is_same_origin(request: Request) -> bool:
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = request.headers.get("origin")
    # Scripts and old browsers send no Origin; the form token still has to fit then.
    return origin is None or origin.partition("://")[2].lower() == request.headers["host"].lower()


def form_token(request: Request, server_secret: str) -> str:
    """The token that the forms of one page carry: the browser's, under a mask that is new each time."""
    return masked(browser_token(request, server_secret))


def browser_token(request: Request, server_secret: str) -> bytes:
    """What only our own pages in this browser can send back to us. It leaves the server masked."""
    return hmac.digest(server_secret.encode(), request.state.browser.encode(), "sha256")


def masked(token: bytes) -> str:
    """A browser's token for one page, under a mask that is new each time.

    The mask is there because pages are sent compressed: without it somebody who can have words of their own written
    on a page could read the token out of the page's length (the BREACH attack, CVE-2013-3587).
    """
    mask = secrets.token_bytes(len(token))
    return mask.hex() + _under(mask, token).hex()


def _under(mask: bytes, token: bytes) -> bytes:
    return (int.from_bytes(mask) ^ int.from_bytes(token)).to_bytes(len(token))


def check_form_token(request: Request, server_secret: str, sent: str) -> None:
    """Refuse a form whose token isn't this browser's."""
    if not _is_token(sent, browser_token(request, server_secret)):
        raise Forbidden(
            "This page is too old to be sent, or cookies are off.",
            "Nothing was changed. Go back, load the page again and send it once more.",
        )


def _is_token(sent: str, expected: bytes) -> bool:
    try:
        mask, masked = (bytes.fromhex(half) for half in (sent[: len(sent) // 2], sent[len(sent) // 2 :]))
    except ValueError:
        return False
    return len(mask) == len(masked) == len(expected) and hmac.compare_digest(_under(mask, masked), expected)


def cookie_name(request: Request, name: str) -> str:
    """What a cookie of ours is called on this connection. Over TLS its name ties it to this very host (RFC 6265bis)."""
    return f"__Host-{name}" if is_tls(request) else name


def read_cookie(request: Request, name: str) -> str | None:
    """What the browser sent for one of our cookies."""
    return request.cookies.get(cookie_name(request, name))


def set_cookie(request: Request, response: Response, name: str, value: str, seconds: int) -> None:
    """Set one of our cookies: out of reach for scripts, sent to us only, over TLS only where we have it."""
    response.set_cookie(
        cookie_name(request, name), value, max_age=seconds, httponly=True, samesite="lax", secure=is_tls(request)
    )


def drop_cookie(request: Request, response: Response, name: str) -> None:
    """Have the browser forget one of our cookies."""
    response.delete_cookie(cookie_name(request, name), httponly=True, samesite="lax", secure=is_tls(request))


def is_tls(request: Request) -> bool:
    """Whether this request came encrypted."""
    return request.url.scheme == "https"


def seconds_until(end: datetime, now: datetime) -> int:
    """Whole seconds from now to `end`, for a cookie's age."""
    return max(0, int((end - now).total_seconds()))


def own_path(wanted: str | None, fallback: str) -> str:
    """A path on this server to go on to; anything that could lead elsewhere becomes the fallback.

    >>> own_path("/desk?x=1", "/"), own_path("//evil.example", "/"), own_path("/\\\\evil.example", "/")
    ('/desk?x=1', '/', '/')
    """
    if not wanted or not wanted.startswith("/") or wanted[1:2] in ("/", "\\") or not wanted.isprintable():
        return fallback
    return wanted
