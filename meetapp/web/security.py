"""Cookies, form tokens and headers: who sent this, and was it our own page?

Cross-site requests: the Origin header must name our own host (Sec-Fetch-Site is read where a browser sends it), and
every form carries a token tied to a cookie of that browser. Guided by the OWASP cheat sheet on cross-site request
forgery.
"""

import hashlib
import hmac
import secrets
from datetime import datetime
from urllib.parse import urlsplit

from fastapi import Request, Response
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from meetapp.flows.errors import Forbidden

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
    # 'no-referrer' would make browsers send 'Origin: null' with our own forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class OwnPagesOnly:
    """Refuses changing requests that come from another origin, gives each browser its cookie, sets the headers."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check the origin, hand the request on, dress the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        if request.method not in ("GET", "HEAD") and not _is_same_origin(request):
            refusal = Response("This form was sent from another site; nothing was changed.", status_code=403)
            await refusal(scope, receive, send)
            return
        is_new = BROWSER_COOKIE not in request.cookies
        request.state.browser = secrets.token_urlsafe(16) if is_new else request.cookies[BROWSER_COOKIE]

        async def send_dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                _dress(request, MutableHeaders(scope=message), is_new)
            await send(message)

        await self.app(scope, receive, send_dressed)


def _dress(request: Request, headers: MutableHeaders, is_new_browser: bool) -> None:
    if is_new_browser and not request.url.path.startswith("/static/"):
        cookie = Response()
        set_cookie(request, cookie, BROWSER_COOKIE, request.state.browser, _BROWSER_SECONDS)
        headers.append("set-cookie", cookie.headers["set-cookie"])
    for name, value in _HEADERS.items():
        headers.setdefault(name, value)
    headers.setdefault("Cache-Control", "no-store")


def _is_same_origin(request: Request) -> bool:
    if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = request.headers.get("origin")
    # Scripts and old browsers send no Origin; the form token still has to fit then.
    return origin is None or urlsplit(origin).netloc == request.headers.get("host")


def form_token(request: Request, server_secret: str) -> str:
    """The token that the forms of one page carry: the browser's, under a mask that is new each time.

    The mask is there because pages are sent compressed: without it somebody who can have words of their own written
    on a page could read the token out of the page's length (the BREACH attack, CVE-2013-3587).
    """
    mask = secrets.token_bytes(hashlib.sha256().digest_size)
    return mask.hex() + _under(mask, _browser_token(request, server_secret)).hex()


def _browser_token(request: Request, server_secret: str) -> bytes:
    return hmac.new(server_secret.encode(), request.state.browser.encode(), hashlib.sha256).digest()


def _under(mask: bytes, token: bytes) -> bytes:
    return bytes(one ^ other for one, other in zip(mask, token, strict=True))


def check_form_token(request: Request, server_secret: str, sent: str) -> None:
    """Refuse a form whose token isn't this browser's."""
    if not _is_token(sent, _browser_token(request, server_secret)):
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


def set_cookie(request: Request, response: Response, name: str, value: str, seconds: int) -> None:
    """Set one of our cookies: out of reach for scripts, sent to us only, over TLS only where we have it."""
    response.set_cookie(
        name, value, max_age=seconds, httponly=True, samesite="lax", secure=request.url.scheme == "https"
    )


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
