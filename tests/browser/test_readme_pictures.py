"""The README's pictures: what they show is still on those pages. `KEEP_PICTURES=1` takes them anew."""

import io
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.browser.crawl import sign_in
from tests.running import Server

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "static" / "pictures"
MOST_BYTES = 80_000


@dataclass(frozen=True)
class Shown:
    """A picture: whose page it is, at which size, and the headings that have to be in sight on it."""

    name: str
    role: str
    path: str
    phone: bool
    headings: tuple[str, ...]
    is_drawn: bool = False


PICTURES = [
    Shown("desk", "marshal", "/desk", True, ("Next",)),
    Shown("board", "bystander", "/board", False, ("On air", "Next"), is_drawn=True),
    Shown(
        "channels",
        "organiser",
        "/organiser/meets/1/channels?count=5&spacing=37&who=anybody&plans=A&plans=B&plans=E&plans=F&plans=R",
        False,
        ("Choose channels", "The best set"),
        is_drawn=True,
    ),
]


@pytest.mark.parametrize("shown", PICTURES, ids=lambda shown: shown.name)
def test_the_page_still_has_what_its_picture_shows(shown: Shown, demo: Server, new_page: NewPage) -> None:
    page = new_page(phone=shown.phone)
    sign_in(page, demo, shown.role)
    page.goto(demo.base + shown.path)
    for heading in shown.headings:
        expect(page.get_by_role("heading", name=heading).first).to_be_in_viewport()
    if shown.is_drawn:
        expect(page.get_by_role("img", name=re.compile(r"\d carriers from \d+ to \d+ MHz")).first).to_be_in_viewport()
    if os.environ.get("KEEP_PICTURES"):
        keep(page, shown)


def keep(page: Page, shown: Shown) -> None:
    FOLDER.mkdir(exist_ok=True)
    with Image.open(io.BytesIO(page.screenshot())) as picture:
        picture.convert("RGB").save(FOLDER / f"{shown.name}.webp", quality=80, method=6)


def in_the_readme() -> Iterator[str]:
    yield from re.findall(r"!\[[^\]]+\]\(static/pictures/([\w-]+)\.webp\)", (ROOT / "README.md").read_text("utf-8"))


def test_the_readme_shows_each_picture_and_none_is_heavy() -> None:
    assert sorted(in_the_readme()) == sorted(shown.name for shown in PICTURES)
    kept = {path.stem: path.stat().st_size for path in FOLDER.iterdir()}
    assert set(kept) == set(in_the_readme())
    assert max(kept.values()) < MOST_BYTES
