"""What the three people of a whole day do, by the words on the pages. Each has a browser of their own."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from tests.running import Server

PASSWORD = "long enough for us"
KINDS = (
    "Analogue, 40 channels (A B E F R)",
    "Analogue, 8 channels (R only)",
    "Analogue, 32 channels (A B E F)",
    "Analogue, tuned in steps of 1 MHz",
)
NAMES = (
    "Ada Bog", "Ben Clay", "Cia Dell", "Dov Elm", "Eli Fern", "Flo Gorse", "Gil Heath", "Hal Ivy", "Ida Jute",
    "Jan Kelp", "Kit Larch", "Lou Moss", "Mia Nettle", "Ned Oats", "Ora Pine", "Pat Quince", "Quy Reed", "Ron Sedge",
    "Sue Thyme", "Tom Umber", "Una Vetch", "Vic Willow", "Wes Yarrow", "Zoe Alder",
)  # fmt: skip
ROSTER = "name;transmitter\n" + "\n".join(
    f"{name};{KINDS[place % len(KINDS)]}" for place, name in enumerate(NAMES)
)


def press(page: Page | Locator, words: str | re.Pattern[str], place: int = 0) -> None:
    page.get_by_role("button", name=words).nth(place).click()
    answered(page if isinstance(page, Page) else page.page)


def answered(page: Page) -> None:
    """Wait until no tap is on its way: a person looks at the answer before going on."""
    expect(page.locator("html[data-sending]")).to_have_count(0)


def follow(page: Page | Locator, words: str | re.Pattern[str], place: int = 0) -> None:
    page.get_by_role("link", name=words).nth(place).click()


def about(words: str, whom: str) -> re.Pattern[str]:
    """A button of a row: its words, and for screen readers whom it is about."""
    return re.compile(f"^{re.escape(words)} ?: {re.escape(whom)}")


def says(page: Page, words: str | re.Pattern[str]) -> None:
    expect(page.locator("body")).to_contain_text(words)


@dataclass
class Organiser:
    """The kitchen table, before and after."""

    page: Page
    server: Server
    facts: dict[str, str] = field(default_factory=dict)

    def open(self, path: str) -> None:
        self.page.goto(self.server.base + path)

    def first_visit(self) -> None:
        self.open(self.server.printed_path(r"/first-visit/\S+"))
        self.page.get_by_label("The club's name").fill("Marsh Lane Flyers")
        self.page.get_by_label("Password", exact=True).fill(PASSWORD)
        self.page.get_by_label("The same password again").fill(PASSWORD)
        press(self.page, "Name the club")
        says(self.page, "Welcome, Marsh Lane Flyers")

    def write_own_band(self) -> None:
        self.open("/organiser/bands/new")
        self.page.get_by_label("Name").fill("Our licence")
        self.page.get_by_label(re.compile("^Edges")).fill("5640-5930")
        self.page.get_by_label("Source").fill("the club's licence, invented for this test")
        press(self.page, re.compile("^Save"))
        says(self.page, "Our licence")

    def add_site(self) -> None:
        self.open("/organiser/sites/new")
        self.page.get_by_label("Name").fill("Marsh Lane")
        self.page.get_by_label("Time zone").fill("Europe/Berlin")
        self.page.get_by_label("Band profile").select_option("Our licence")
        press(self.page, "Save the site")
        says(self.page, "Marsh Lane")

    def import_pilots(self) -> None:
        self.open("/organiser/pilots/import")
        self.page.get_by_role("textbox").first.fill(ROSTER + "\nBad Row;No such kind")
        press(self.page, "Look at it first")
        says(self.page, "No such kind")
        self.page.get_by_role("textbox").first.fill(ROSTER)
        press(self.page, "Look at it first")
        press(self.page, "Take 24 pilots")
        says(self.page, "Ada Bog")

    def plan_meet(self, *, self_service: bool = False, fly_at_once: int = 5) -> None:
        self.open("/organiser/meets/new")
        self.page.get_by_label("Name").fill("Spring meet")
        self.page.get_by_label("Site").select_option("Marsh Lane")
        self.page.get_by_label("Fly at once").fill(str(fly_at_once))
        if self_service:
            self.page.get_by_label("Self-service").check()
        press(self.page, "Plan the meet")
        self.facts["home"] = re.sub(r"\?.*", "", self.page.url).removeprefix(self.server.base)

    def expect_everybody(self) -> None:
        self.open(self.facts["home"] + "/expected")
        press(self.page, "Expect everybody")

    def choose_channels(self) -> None:
        self.open(self.facts["home"] + "/channels")
        press(self.page, "Find the best set")
        says(self.page, "Proven best by these sums; no promise of a clear picture")
        press(self.page, "Accept this set")

    def make_desk_access(self) -> str:
        self.open(self.facts["home"])
        press(self.page, "Make PIN and desk link")
        found = re.search(r"\b\d{3} ?\d{3}\b", self.page.inner_text("main"))
        assert found, self.page.inner_text("main")
        return found.group(0).replace(" ", "")

    def open_meet(self) -> None:
        self.open(self.facts["home"])
        press(self.page, "Open the meet")
        says(self.page, "is open")

    def close_meet(self) -> None:
        self.open(self.facts["home"] + "/close")
        for settled in self.page.get_by_label(re.compile("taken back|is back", re.IGNORECASE)).all():
            settled.check()
        press(self.page, "Close the meet")
        says(self.page, "closed")

    def review_facts(self, home: str) -> str:
        """The facts at the top of the review, as text."""
        self.open(home + "/review")
        return self.page.locator("dl").first.inner_text()

    def export(self, folder: Path) -> Path:
        self.open(self.facts["home"] + "/review")
        with self.page.expect_download() as download:
            follow(self.page, "Meet file (JSON)")
        path = folder / "meet.json"
        download.value.save_as(path)
        return path

    def read_back(self, path: Path) -> str:
        """Read a meet file back; gives the address of the meet that was made."""
        self.open("/organiser/meet-files/import")
        self.page.get_by_label(re.compile("Meet file")).set_input_files(path)
        press(self.page, "Look into the file")
        press(self.page, "Read it back as a closed meet")
        found = re.search(r"/organiser/meets/\d+", self.page.url)
        assert found, self.page.url
        return found.group(0)


def set_up_club(organiser: Organiser, *, self_service: bool = False) -> str:
    """From nothing to an open meet; gives the PIN."""
    organiser.first_visit()
    organiser.write_own_band()
    organiser.add_site()
    organiser.import_pilots()
    organiser.plan_meet(self_service=self_service)
    organiser.expect_everybody()
    organiser.choose_channels()
    pin = organiser.make_desk_access()
    organiser.open_meet()
    return pin


@dataclass
class Marshal:
    """The field, one thumb."""

    page: Page
    server: Server

    def open(self, path: str) -> None:
        self.page.goto(self.server.base + path)

    def join(self, pin: str, name: str = "Mo") -> None:
        self.open("/desk")
        self.page.get_by_label("PIN of the meet").fill(pin)
        self.page.get_by_label("Your name").fill(name)
        press(self.page, "Open the desk")

    def check_in(self, *names: str) -> None:
        for name in names:
            self.open("/desk/check-in")
            press(self.page, about("Check in", name))

    def check_in_new(self, name: str, kind: str) -> None:
        self.open("/desk/check-in/new")
        self.page.get_by_label("Name", exact=True).fill(name)
        self.page.get_by_label(kind).check()
        press(self.page, "Check in")
        says(self.page, name)

    def into_line(self, *names: str) -> None:
        for name in names:
            self.open("/desk")
            press(self.page, about("Into the line", name))

    def hand_out_next(self) -> str:
        """Hand the suggested token to whoever is next (or, meanwhile, to the first who can be served)."""
        self.open("/desk")
        button = self.page.get_by_role("button", name=re.compile("^Hand out .+ to "))
        words = button.first.inner_text()
        button.first.click()
        says(self.page, "Set this on the transmitter")
        return words.removeprefix("Hand out ")

    def can_hand_out(self) -> bool:
        self.open("/desk")
        return self.page.get_by_role("button", name=re.compile("^Hand out .+ to ")).count() > 0

    def take_back_longest(self) -> str:
        self.open("/desk")
        button = self.page.get_by_role("button", name=re.compile("^Take back")).first
        words = button.inner_text()
        button.click()
        says(self.page, "is back from")
        return words

    def on_air(self) -> int:
        self.open("/desk")
        return self.page.get_by_role("button", name=re.compile("^Take back")).count()
