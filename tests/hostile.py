"""Requests that no page of ours would send, made for each route from what the app itself says about it.

Field names come from the forms of the pages, from the form models of the route's module and from its signature, so a
new route or field is reached without a word here.
"""

import json
import re
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any
from urllib.parse import quote_from_bytes, urlsplit

from fastapi.routing import APIRoute
from hypothesis import strategies as st

from meetapp.web.forms import FormModel
from tests.raw_requests import Sent

Pairs = Sequence[tuple[str, str]]

# Each a way in which some reader of numbers, dates, texts or files has failed somewhere.
NASTY_BYTES: tuple[bytes, ...] = tuple(
    each if isinstance(each, bytes) else each.encode()
    for each in (
        *("", " ", "0", "-1", "1", "2", "1.5", "-0", "1e3", "1e308", "1e999", "nan", "-inf", "1_0", "0x10", "+7"),
        *("9" * 19, "9223372036854775807", "9223372036854775808", "-9223372036854775809", "9" * 400, "9" * 5000),
        *("٣", "²", "½", "１２", "1\u00a0000", "true", "null", "[]", "{}", "on"),
        *("0000-00-00", "0001-01-01", "9999-12-31", "2026-02-30", "2026-06-14", "24:00", "00:00", "99:99", "14:32:61"),
        *("R1", "A", "A B E F R", "5658", "5650-5925/1", "5650-5925/0", "1-99999999999/1", "5925-5650", "R1 R1", "R0"),
        *("<script>alert(1)</script>", "'; --", "{{7*7}}", "%s%n", "../../etc", "//evil.example/", "/\\evil", "=1+1"),
        *("a\x00b", "\x00", "\r\nSet-Cookie: a=b", "\t", "\u2028", "\u202egnp", "\ufeffname", "\U0010ffff"),
        *("x" * 81, "x" * 2001, "x" * 70_000, "é" * 3000, "a,b;c\t\"d", "name\nAna\nAna", "name;name\n1;2", '"'),
        *(b"\xff\xfe", b"\xed\xa0\x80", b"\xc3", b"\xf5\x80\x80\x80", b"PK\x03\x04", b'["\\ud800"]', b"[" * 20_000),
    )
)
CHARSETS = ("utf-8", "utf-16", "utf-7", "latin-1", "unicode_escape", "raw_unicode_escape", "rot13", "zlib", "none")
TYPES = (b"text/plain", b"application/json", b"multipart/form-data", b"application/x-www-form-urlencoded;", b"")
STRANGE_HEADERS = (
    (b"hx-request", b"true"),
    (b"hx-request", b"\xff"),
    (b"accept", b"\xff, */*;q=nan"),
    (b"accept-encoding", b"gzip;q=2, \xff"),
    (b"range", b"bytes=9-1"),
    (b"if-none-match", b'"\xff"'),
    (b"content-length", b"-1"),
    (b"cookie", b"meet_desk=\xff; meet_pilot=; =; meet_browser=" + b"x" * 3000),
    (b"x-forwarded-for", b"\xff" * 50),
    (b"x-forwarded-proto", b"https"),
    (b"last-event-id", b"9" * 400),
    (b"sec-fetch-site", b"none"),
    (b"origin", b"http://testserver"),
    (b"origin", b"http://[::1"),
    (b"host", b"\xff[::1"),
)

nasty = st.one_of(
    st.sampled_from(NASTY_BYTES),
    st.text(max_size=30).map(lambda text: text.encode("utf-8", "surrogatepass")),
    st.integers().map(lambda number: str(number).encode()),
    st.floats().map(lambda number: str(number).encode()),
    st.binary(max_size=12),
)
small_id = st.integers(1, 12).map(lambda number: str(number).encode())


@dataclass
class Form:
    """A form as a page shows it: what it would send, and its file fields."""

    action: str
    pairs: list[tuple[str, str]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)


class FormReader(HTMLParser):
    """Reads the posted forms of a page; of choices, every answer is kept apart."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.asked: set[str] = set()
        self._select = ""
        self._is_get = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._is_get = given.get("method") != "post"
            self.forms.append(Form(given.get("action", "")))
        elif self.forms and (name := given.get("name")):
            if self._is_get:
                self.asked.add(name)
            self._select = name if tag == "select" else self._select
            if given.get("type") == "file":
                self.forms[-1].files.append(name)
            elif tag in ("input", "button", "textarea"):
                is_box = given.get("type") in ("checkbox", "radio")
                self.forms[-1].pairs.append((name, given.get("value", "on" if is_box else "")))
        elif tag == "option" and self.forms and self._select:
            self.forms[-1].pairs.append((self._select, given.get("value", "")))


def forms_of(html: str) -> list[Form]:
    """The forms of a page that are posted."""
    reader = FormReader()
    reader.feed(html)
    return [form for form in reader.forms if form.action]


def model_fields(route: APIRoute) -> list[str]:
    """The names of the fields of every form model that the route's module knows, in a fixed order."""
    module = vars(sys.modules[route.endpoint.__module__])
    models = [each for each in module.values() if isinstance(each, type) and issubclass(each, FormModel)]
    return sorted({name for model in models for name in model.model_fields})


def query_names(route: APIRoute) -> list[str]:
    """What a route may be asked in its address: its own parameters, and a form that is read from the address."""
    own = [str(each.alias) for each in route.dependant.query_params]
    return [*own, *model_fields(route), "done"] if "GET" in route.methods else ["done"]


@dataclass(frozen=True)
class About:
    """What is known about a route: forms of real pages that lead there, good values for the parts of its path."""

    route: APIRoute
    forms: tuple[Form, ...]
    words: Mapping[str, Sequence[str]]


@st.composite
def requests(draw: st.DrawFn, about: About, token: str) -> Sent:
    """A request to a route of ours. The simplest one is well-formed; the others are wrong in some places."""
    route = about.route
    target = draw(_paths(about))
    query = draw(st.lists(st.tuples(st.sampled_from(query_names(route)), nasty), max_size=4))
    if query:
        target += b"?" + _encoded([(name.encode(), value) for name, value in query])
    headers = draw(st.lists(st.sampled_from(STRANGE_HEADERS), max_size=2))
    if "POST" not in route.methods:
        method = draw(st.sampled_from(["GET"] * 9 + ["HEAD", "POST", "PUT"]))
        return Sent(method, target, headers)
    content_type, body = draw(_bodies(about, token))
    return Sent("POST", target, [*headers, *([(b"content-type", content_type)] if content_type else [])], body)


@st.composite
def _paths(draw: st.DrawFn, about: About) -> bytes:
    path = b""
    for part in re.split(r"(\{\w+\})", about.route.path):
        if not part.startswith("{"):
            path += part.encode()
            continue
        known = [word.encode() for word in about.words.get(part[1:-1], ())]
        good = st.sampled_from(known) if known else small_id
        value = draw(st.one_of(good, good, good, good, nasty))
        path += quote_from_bytes(value, safe="").encode() or b"-"
    return path


@st.composite
def _bodies(draw: st.DrawFn, about: About, token: str) -> tuple[bytes, bytes]:
    form = draw(st.sampled_from(about.forms)) if about.forms else Form("")
    pairs: list[tuple[bytes, bytes]] = [
        (b"csrf_token", token.encode()),
        (b"operation_key", f"key-{draw(st.integers(0, 10**12))}".encode()),
    ]
    names = [name for name, _value in form.pairs] or model_fields(about.route)
    values = dict(form.pairs)
    for name, value in form.pairs or [(name, "") for name in names]:
        if name not in ("csrf_token", "operation_key"):
            pairs += draw(_field(name.encode(), value.encode()))
    for name in draw(st.lists(st.sampled_from(model_fields(about.route) or ["x"]), max_size=2)):
        if name not in values:
            pairs.append((name.encode(), draw(nasty)))
    kind = draw(st.sampled_from(["plain", "plain", "plain", "plain", "parts", "json", "raw", "wrong"]))
    if form.files or kind == "parts":
        return draw(_parts(pairs, form.files))
    if kind == "json":
        told = {name.decode("latin-1"): value.decode("latin-1") for name, value in pairs}
        return b"application/json", json.dumps(told).encode()
    if kind == "raw":
        return b"application/x-www-form-urlencoded", _encoded(pairs) + draw(st.binary(max_size=40))
    if kind == "wrong":
        return draw(st.sampled_from(TYPES)), _encoded(pairs)
    return b"application/x-www-form-urlencoded", _encoded(pairs)


@st.composite
def _field(draw: st.DrawFn, name: bytes, value: bytes) -> list[tuple[bytes, bytes]]:
    """A field as it stands (mostly), with another value, left out, or said twice."""
    how = draw(st.integers(0, 9))
    if how <= 5:
        return [(name, value)]
    if how == 6:
        return []
    other = (name, draw(nasty))
    return [other] if how <= 8 else [(name, value), other]


@st.composite
def _parts(draw: st.DrawFn, pairs: Sequence[tuple[bytes, bytes]], files: Iterable[str]) -> tuple[bytes, bytes]:
    charset = draw(st.sampled_from(CHARSETS)).encode()
    body = b""
    for name, value in pairs:
        body += b'--edge\r\nContent-Disposition: form-data; name="' + name + b'"\r\n\r\n' + value + b"\r\n"
    for name in files:
        called = draw(st.sampled_from([b"a.csv", b"../a", b"\xff", b""]))
        body += b'--edge\r\nContent-Disposition: form-data; name="' + name.encode() + b'"; filename="' + called
        body += b'"\r\nContent-Type: text/plain\r\n\r\n' + draw(nasty) + b"\r\n"
    end = draw(st.sampled_from([b"--edge--\r\n", b"--edge--\r\n", b"--edge--\r\n", b"--edge", b""]))
    return b"multipart/form-data; boundary=edge; charset=" + charset, body + end


def _encoded(pairs: Iterable[tuple[bytes, bytes]]) -> bytes:
    quoted = ((quote_from_bytes(name, safe=""), quote_from_bytes(value, safe="")) for name, value in pairs)
    return "&".join(f"{name}={value}" for name, value in quoted).encode()


def leads_to(route: APIRoute, action: str) -> bool:
    """Whether a form's address is this route's."""
    return "POST" in route.methods and route.path_regex.match(urlsplit(action).path) is not None


def told(sent: Sent) -> str:
    """The request as a failure shows it."""
    shown: Any = sent.body if len(sent.body) < 1500 else sent.body[:1500] + b"..."
    return f"{sent.method} {sent.target[:500]!r} {sent.headers} {shown!r}"
