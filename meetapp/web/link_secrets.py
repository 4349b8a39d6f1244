"""Secrets of new links that a resend makes again, though the server keeps only their hash."""

import base64
import hashlib
import hmac

from fastapi import Request

from meetapp.web.forms import PostedForm
from meetapp.web.state import state_of

_SECRET_BYTES = 16


def link_secret(request: Request, form: PostedForm) -> str:
    """The secret for a link that this form makes: 128 bits, 22 characters, the same when the form is sent again.

    It hangs on the browser's own random cookie, which is never stored here: the database alone can't tell it.
    """
    told = f"link:{request.state.browser}:{form.key}".encode()
    digest = hmac.new(state_of(request).server_secret.encode(), told, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest[:_SECRET_BYTES]).decode().rstrip("=")
