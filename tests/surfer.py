"""A person at a browser without JavaScript: opens pages, reads them, fills forms, presses buttons by their words."""

from functools import cached_property
from typing import Any
from urllib.parse import urljoin

from bs4 import BeautifulSoup, Tag
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx import Response


class Surfer:
    """One browser with its own cookies, at one address of the network. Follows redirects, keeps the last page."""

    def __init__(self, app: FastAPI, address: str = "testclient", base: str = "http://testserver") -> None:
        self.client = TestClient(app, base_url=base, raise_server_exceptions=False, client=(address, 50_000))
        self._response: Response | None = None
        self._stands_on = ""

    def carry_on(self, cookie: str, secret: str, path: str) -> None:
        """Be signed in already, with this cookie, and stand on that page (it is asked for once somebody looks)."""
        # The name under which cookies of a host without a dot are kept (RFC 2965, section 1).
        self.client.cookies.set(cookie, secret, domain=f"{self.client.base_url.host}.local")
        self._stands_on = path

    def open(self, path: str) -> None:
        """Open an address."""
        self._keep(self.client.get(path))

    def _keep(self, response: Any) -> None:
        self._response = response
        self.__dict__.pop("page", None)

    @property
    def response(self) -> Response:
        """The last answer."""
        if self._response is None:
            self.open(self._stands_on)
        assert self._response is not None
        return self._response

    @cached_property
    def page(self) -> BeautifulSoup:
        """The last answer, read when somebody looks at it."""
        return BeautifulSoup(self.response.text, "html.parser")

    @property
    def status(self) -> int:
        return self.response.status_code

    @property
    def path(self) -> str:
        """Where the last answer came from, without the query."""
        return str(self.response.url.path)

    @property
    def text(self) -> str:
        """All words of the page, spaces folded."""
        return " ".join(self.page.get_text(" ").split())

    def follow(self, words: str) -> None:
        """Follow the link with these words."""
        link = next(a for a in self.page.find_all("a") if words in " ".join(a.get_text(" ").split()))
        self.open(urljoin(str(self.response.url), str(link["href"])))

    def form_with(self, button: str) -> tuple[Tag, Tag]:
        """The form (and its button) that has a button with these words."""
        for candidate in self.page.find_all("button"):
            if button in " ".join(candidate.get_text(" ").split()):
                form = candidate.find_parent("form")
                assert form is not None, f"the button {button!r} stands in no form"
                return form, candidate
        raise AssertionError(f"no button {button!r} on {self.path}: {self.text[:1500]}")

    def fields(self, form: Tag) -> list[tuple[str, str]]:
        """What the form would send as it stands."""
        pairs: list[tuple[str, str]] = []
        for field in form.find_all(["input", "select", "textarea"]):
            name, kind = field.get("name"), field.get("type", "text")
            if not name or field.has_attr("disabled") or kind in ("submit", "file"):
                continue
            if field.name == "select":
                chosen = field.find("option", selected=True) or field.find("option")
                pairs += [(name, chosen.get("value", chosen.get_text()))] if chosen else []
            elif field.name == "textarea":
                pairs.append((name, field.get_text()))
            elif kind not in ("checkbox", "radio") or field.has_attr("checked"):
                pairs.append((name, field.get("value", "on" if kind == "checkbox" else "")))
        return pairs

    def press(self, button: str, files: dict[str, Any] | None = None, **typed: Any) -> None:
        """Press the button with these words, after typing into fields by name (a list ticks several boxes)."""
        form, pressed = self.form_with(button)
        data: dict[str, list[str]] = {}
        for name, value in self.fields(form):
            data.setdefault(name, []).append(value)
        if pressed.get("name"):
            data[str(pressed["name"])] = [str(pressed.get("value", ""))]
        for name, value in typed.items():
            data[name] = [str(each) for each in value] if isinstance(value, (list, tuple)) else [str(value)]
        action = urljoin(str(self.response.url), str(form.get("action") or self.path))
        if form.get("method", "get") == "get":
            self._keep(self.client.get(action, params=data))
        else:
            self._keep(self.client.post(action, data=data, files=files))

    def sign_in_organiser(self, password: str) -> None:
        self.open("/sign-in")
        self.press("Sign in", password=password)

    def join_desk(self, pin: str, name: str) -> None:
        self.open("/desk/join")
        self.press("Open the desk", pin=pin, name=name)
