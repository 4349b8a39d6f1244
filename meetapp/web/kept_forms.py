"""A form that was sent by somebody who had been signed out: carried through signing in, so that nothing typed is lost.

It travels in the page, sealed for this browser; the server stores nothing of it. Secrets don't travel.
"""

import json
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import Request

from meetapp.flows.errors import Conflict
from meetapp.web.forms import FORM_FIELDS, PostedForm, title_of
from meetapp.web.sealed import sealed, unsealed
from meetapp.web.security import own_path
from meetapp.web.state import state_of

_MOST_CHARACTERS = 500_000
"""Carried in a page, twice packed, it stays below what a form may hold."""
_NOT_TYPED = ("version", "back", "seen", "next")


@dataclass(frozen=True, slots=True)
class KeptForm:
    """What was typed and where it goes: `path`; its own `key`, so that it counts once; `page`: where it was typed."""

    path: str
    key: str
    pairs: tuple[tuple[str, str], ...]
    page: str
    misses_something: bool

    @property
    def typed(self) -> tuple[tuple[str, str], ...]:
        """What a person may have typed or chosen, each by its name on the form."""
        shown = ((name, value) for name, value in self.pairs if value.strip() and name not in _NOT_TYPED)
        return tuple((title_of(name), value) for name, value in shown if not name.endswith("_id"))


def kept_form(request: Request, form: PostedForm, page: str) -> KeptForm | None:
    """The form as it can be kept: without secrets and files; None where it is too long to be carried."""
    told = tuple(pair for pair in form.pairs if pair[0] not in FORM_FIELDS)
    pairs = tuple(pair for pair in told if pair[0] != "pin" and "password" not in pair[0])
    if sum(len(name) + len(value) for name, value in pairs) > _MOST_CHARACTERS:
        return None
    return KeptForm(request.url.path, form.key, pairs, page, len(pairs) < len(told) or bool(form.files))


def packed(request: Request, kept: KeptForm) -> str:
    """The kept form as one word for a hidden field."""
    told = json.dumps([kept.path, kept.key, kept.pairs, kept.page, kept.misses_something])
    return sealed(state_of(request).server_secret, _purpose(request), told)


def unpacked(request: Request, word: str) -> KeptForm | None:
    """The kept form in a hidden field; None where there is none, or it isn't of this browser."""
    if not word:
        return None
    try:
        told = json.loads(unsealed(state_of(request).server_secret, _purpose(request), word))
    except Conflict:
        return None
    path, key, pairs, page, misses_something = told
    return KeptForm(path, key, tuple((name, value) for name, value in pairs), page, misses_something)


def _purpose(request: Request) -> str:
    return f"kept form {request.state.browser}"


def page_before(request: Request, fallback: str) -> str:
    """The page of ours from which a form was sent, as the browser tells it."""
    came_from = urlsplit(request.headers.get("referer", ""))
    if came_from.netloc.lower() != request.headers["host"].lower():
        return fallback
    return own_path(came_from.path + (f"?{came_from.query}" if came_from.query else ""), fallback)
