"""Finds every page of the demo club by following its links as each of its people, one example per kind of page."""

import re
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi.routing import APIRoute
from playwright.sync_api import Page

from meetapp.web.routes import all_routers
from tests.running import Server

# Answers that are no pages: fragments that a page asks for, files, and the form that only a one-time link opens.
NO_PAGES = re.compile(r"/live$|^/live/|^/alarms|\.csv$|\.json$|\.pdf$|^/answers-here$|^/first-visit/")
# Pages that no link leads to: they are opened from paper, a tag or a message.
BY_HAND = {
    "bystander": ["/", "/board", "/join", "/join/new", "/t", "/t/NOSUCH", "/sign-in", "/desk/join"],
    "pilot": ["/my", "/my/report", "/t"],
    "marshal": ["/desk", "/desk/heats", "/desk/heats/all", "/desk/check-in/new?name=Newt", "/desk/fit-in", "/t"],
    "organiser": [
        "/organiser",
        "/organiser/plans/new",
        "/organiser/meets/1/channels/trade-off?count=6&spacing=37&plans=A&plans=B&plans=R",
        "/organiser/meets/1/channels/compare?count=6&spacing=37&plans=R&set=5658+5695+5732+5769+5843+5880",
        "/organiser/meets/1/close",
        "/organiser/meets/1/tokens",
        "/organiser/meets/1/review/at?minute=12:00",
    ],
}


@dataclass(frozen=True)
class Found:
    """A page: who sees it, its address, and the kind of page it is (the route's pattern)."""

    role: str
    path: str
    kind: str


def page_routes() -> list[APIRoute]:
    """Every route that answers with a page."""
    routes = [route for router in all_routers() for route in router.routes if isinstance(route, APIRoute)]
    return [route for route in routes if "GET" in route.methods and not NO_PAGES.search(route.path)]


def kind_of(path: str) -> str | None:
    """The pattern of the route that answers this address."""
    if NO_PAGES.search(urlsplit(path).path):
        return None
    for route in page_routes():
        if route.path_regex.match(urlsplit(path).path):
            return route.path
    return None


def sign_in(page: Page, server: Server, role: str) -> None:
    """Become one of the demo's people in this browser."""
    if role == "organiser":
        password = re.search(r"password: (.+)", server.printed)
        assert password
        page.goto(server.base + "/sign-in")
        page.get_by_label("Password").fill(password.group(1).strip())
        page.get_by_role("button", name="Sign in").click()
    elif role == "marshal":
        page.goto(server.base + server.printed_path(r"/desk/join/\S+"))
        page.get_by_label("Your name").fill("Mo")
        page.get_by_role("button", name="Open the desk").click()
    elif role == "pilot":
        page.goto(server.base + server.printed_path(r"/my/\S+"))


def crawl(page: Page, server: Server, role: str) -> Iterator[Found]:
    """One page of each kind that this person can reach. The browser stands on it when it is handed out."""
    sign_in(page, server, role)
    waiting = deque(BY_HAND[role])
    seen: set[str] = set()
    while waiting:
        path = waiting.popleft()
        kind = kind_of(path)
        if kind is None or kind in seen:
            continue
        answer = page.goto(server.base + path)
        if answer is None or answer.status != 200 or not page.url.startswith(server.base):
            continue
        seen.add(kind)
        yield Found(role, path, kind)
        waiting.extend(_links(page, server))


def _links(page: Page, server: Server) -> list[str]:
    # Links in drawings have no plain text for an address, so it is worked out from the attribute.
    address = "links => links.map(link => new URL(link.getAttribute('href'), document.baseURI).href)"
    hrefs: list[str] = page.eval_on_selector_all("a[href]", address)
    own = [href.removeprefix(server.base) for href in hrefs if href.startswith(server.base + "/")]
    return [href.split("#")[0] for href in own]
