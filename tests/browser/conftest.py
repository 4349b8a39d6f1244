"""A real browser against real servers: Chromium at phone and desktop size, the demo club, an empty club.

A machine without Chromium skips these tests, except in CI, where a missing browser is a failure.
"""

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from meetapp.demo import DemoLinks, make_demo
from meetapp.serving import prepare_database
from meetapp.steady_clock import utc_now
from meetapp.store.engine import sqlite_url
from tests.quick_start import quick_server
from tests.running import Server

# The first draws the same pages without a window's frame around them, for two thirds of the work.
PROGRAMS = ["chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"]
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 800}
PATIENCE_MS = 60_000
"""How long a page may take to say what is expected: no claim on its speed, only on a page that never says it."""

expect.set_options(timeout=PATIENCE_MS)

AXE = Path(__file__).resolve().parents[1] / "vendor" / "axe.min.js"


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if path is None:
        if os.environ.get("CI"):
            pytest.fail("CI needs Chromium: .ci/run installs it")
        pytest.skip("Chromium is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


NewPage = Callable[..., Page]


@pytest.fixture
def new_page(chromium: Browser) -> Iterator[NewPage]:
    """Makes a browser of its own for one person: new_page(phone=True, dark=False, javascript=True)."""
    contexts: list[BrowserContext] = []

    def make(*, phone: bool = True, dark: bool = False, javascript: bool = True) -> Page:
        context = chromium.new_context(
            viewport=PHONE if phone else DESKTOP,
            has_touch=phone,
            java_script_enabled=javascript,
            color_scheme="dark" if dark else "light",
            locale="en-GB",
        )
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        return context.new_page()

    yield make
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def demo() -> Iterator[Server]:
    """The demo club, one for all tests that only look."""
    with quick_server("demo") as server:
        yield server


@pytest.fixture(scope="session")
def made_demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, DemoLinks]:
    """The demo club's database, made once to be copied, and the ways into it."""
    path = tmp_path_factory.mktemp("demo") / "club.db"
    now = utc_now()
    prepare_database(sqlite_url(path), now)
    return path, make_demo(sqlite_url(path), now)


@pytest.fixture
def own_demo(made_demo: tuple[Path, DemoLinks], tmp_path: Path) -> Iterator[Server]:
    """A demo club for one test that changes things."""
    path, links = made_demo
    ways_in = f"password: {links.password}\n/desk/join/{links.desk_secret}\n/my/{links.pilot_secret}\n"
    with quick_server("serve", "--database", str(shutil.copy(path, tmp_path / "club.db"))) as server:
        yield Server(server.base, ways_in)


@pytest.fixture
def empty_club(tmp_path: Path) -> Iterator[Server]:
    """A server on a new, empty database."""
    with quick_server("serve", "--database", str(tmp_path / "club.db")) as server:
        yield server


def axe_findings(page: Page, rules: Sequence[str] = ()) -> list[str]:
    """What axe finds wrong on the page as it stands, a line each. `rules`: only these (none: all)."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    only = {"runOnly": {"type": "rule", "values": list(rules)}} if rules else {}
    result = page.evaluate("options => axe.run(document, options)", {"resultTypes": ["violations"], **only})
    return [
        f"{found['id']}: {found['help']} -> {[node['html'][:160] for node in found['nodes']][:3]}"
        for found in result["violations"]
    ]
