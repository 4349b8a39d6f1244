"""Phones on a bad radio: lost requests, lost answers, slow ones, a cut stream, a server that starts again."""

import re
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.browser.conftest import NewPage
from tests.browser.day import about, follow, press, says
from tests.quick_start import quick_server
from tests.relay import Relay, relay_to
from tests.running import Server
from tests.world import PIN, World

pytestmark = pytest.mark.browser

NOT_SENT = "Not sent yet"


@dataclass
class Field:
    """A server of the test club, and the radio before it."""

    server: Server
    running: ExitStack
    path: Path
    radio: Relay

    def journal(self) -> list[str]:
        """The kinds of the meet's journal lines, in order."""
        store = Store(sqlite_url(self.path))
        with store.read() as session:
            kinds = list(session.exec(select(t.JournalLine.kind).order_by(col(t.JournalLine.id))))
        store.close()
        return kinds

    def restart(self) -> None:
        """Stop the server and start it again (on another port; the radio leads there)."""
        self.running.close()
        self.server = self.running.enter_context(quick_server("serve", "--database", str(self.path)))
        self.radio.move_to(self.server.base)


@pytest.fixture(scope="module")
def field(served_world: tuple[Path, World], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Field]:
    path = Path(shutil.copy(served_world[0], tmp_path_factory.mktemp("field") / "club.db"))
    with ExitStack() as running:
        server = running.enter_context(quick_server("serve", "--database", str(path)))
        with relay_to(server.base) as radio:
            yield Field(server, running, path, radio)


def desk(page: Page, base: str, name: str) -> Page:
    page.goto(base + "/desk/join")
    page.get_by_label("PIN of the meet").fill(PIN)
    page.get_by_label("Your name").fill(name)
    press(page, "Open the desk")
    says(page, "In the line")
    return page


def tap(page: Page, words: str, who: str) -> None:
    page.get_by_role("button", name=about(words, who)).first.click()


def can(page: Page, words: str, who: str) -> None:
    """The page has this button: somebody stands where it belongs."""
    expect(page.get_by_role("button", name=about(words, who)).first).to_be_enabled()


def is_unsent(page: Page, who: str) -> None:
    """The row of this person says so, its button can't be tapped again, and the page doesn't claim that it is done."""
    row = page.get_by_label("Here, not flying").get_by_role("listitem").filter(has_text=who)
    expect(row).to_contain_text(NOT_SENT)
    expect(row.get_by_role("button", name=about("Into the line", who))).to_be_disabled()


def is_done_once(page: Page, field: Field, who: str, before: int) -> None:
    can(page, "Leaves", who)
    expect(page.get_by_text(NOT_SENT)).to_have_count(0)
    assert len(field.journal()) == before + 1


def test_a_tap_on_a_bad_radio_is_done_once_and_never_shown_before_it_is(field: Field, new_page: NewPage) -> None:
    mo, lu = desk(new_page(), field.radio.base, "Mo"), desk(new_page(), field.server.base, "Lu")
    tap(lu, "Into the line", "Ana")
    can(mo, "Leaves", "Ana")  # by itself

    before = len(field.journal())
    field.radio.lose("request")
    tap(mo, "Into the line", "Bo")
    is_unsent(mo, "Bo")
    says(mo, re.compile(r"No answer from the club's laptop for \d+ s: what you see may be old"))
    assert len(field.journal()) == before
    field.radio.mend()
    is_done_once(mo, field, "Bo", before)
    expect(mo.get_by_text("what you see may be old")).to_have_count(0)

    field.radio.lose("answer")
    tap(mo, "Into the line", "Cy")
    is_unsent(mo, "Cy")
    can(lu, "Leaves", "Cy")  # it did arrive
    field.radio.mend()
    is_done_once(mo, field, "Cy", before + 1)

    field.radio.cut()
    tap(lu, "Leaves", "Cy")
    can(mo, "Into the line", "Cy")

    field.restart()
    tap(mo, "Into the line", "Cy")
    is_done_once(mo, field, "Cy", before + 3)


def test_an_unsent_tap_survives_a_reload_and_can_be_given_up(field: Field, new_page: NewPage) -> None:
    mo = desk(new_page(), field.server.base, "Mo")
    before = len(field.journal())
    held: list[Route] = []
    mo.route("**/desk/line/*/join", lambda route: held.append(route))  # slow: nothing comes back until it is let go
    tap(mo, "Into the line", "Di")
    is_unsent(mo, "Di")
    mo.reload()
    is_unsent(mo, "Di")
    assert len(held) == 2
    held[1].continue_()
    expect(mo.get_by_text(NOT_SENT)).to_have_count(0)
    can(mo, "Leaves", "Di")
    assert len(field.journal()) == before + 1

    tap(mo, "Into the line", "Ed")
    is_unsent(mo, "Ed")
    press(mo, "Give it up")
    says(mo, "Given up: Into the line: Ed")
    can(mo, "Into the line", "Ed")
    assert len(field.journal()) == before + 1


def comes_back_after_a_minute(page: Page) -> tuple[bool, str]:
    """Have the browser hide the page and show it again as it kept it; gives whether the page asked the server, and what
    its notices said, both before anything else could happen.
    """
    asked, said = page.evaluate("""() => {
        const [now, ask] = [Date.now, window.fetch];
        let asked = false;
        window.fetch = (...given) => { asked = true; return ask(...given); };
        dispatchEvent(new PageTransitionEvent("pagehide", { persisted: true }));
        Date.now = () => now() + 60000;
        dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true }));
        [Date.now, window.fetch] = [now, ask];
        return [asked, document.getElementById("notices").innerText.trim()];
    }""")
    return asked, said


def test_what_is_typed_survives_a_reload_and_the_back_button(field: Field, new_page: NewPage) -> None:
    mo = desk(new_page(), field.server.base, "Mo")
    mo.goto(field.server.base + "/desk/pause")
    reason = mo.get_by_role("textbox")
    reason.fill("Sheep on the course")
    mo.reload()
    expect(reason).to_have_value("Sheep on the course")
    mo.goto(field.server.base + "/board")
    mo.go_back()
    expect(reason).to_have_value("Sheep on the course")
    has_asked, said = comes_back_after_a_minute(mo)
    assert has_asked
    assert re.fullmatch(r"No answer from the club's laptop for \d+ (s|min): what you see may be old\.", said)
    expect(mo.get_by_text("what you see may be old")).to_have_count(0)
    expect(reason).to_have_value("Sheep on the course")
    press(mo, "Pause for this reason")
    says(mo, "Sheep on the course")
    mo.goto(field.server.base + "/desk")
    press(mo, "Go on")
    mo.goto(field.server.base + "/desk/pause")
    reason.fill("Cows, this time")
    press(mo, "Sign out")
    expect(mo.get_by_role("button", name="Sign out")).to_have_count(0)
    assert "Cows" not in mo.evaluate("JSON.stringify(sessionStorage)")


def test_a_tap_of_somebody_signed_out_comes_through_signing_in(field: Field, new_page: NewPage) -> None:
    mo = desk(new_page(), field.server.base, "Mo")

    def sign_in_again() -> None:
        says(mo, "You were signed out meanwhile, so this was not sent.")
        mo.get_by_label("PIN of the meet").fill(PIN)
        mo.get_by_label("Your name").fill("Mo")
        press(mo, "Open the desk")
        says(mo, "Send it again?")

    mo.goto(field.server.base + "/desk/pause")
    mo.get_by_role("textbox").fill("Fog")
    mo.context.clear_cookies(name="meet_desk")
    press(mo, "Pause for this reason")
    sign_in_again()
    follow(mo, "Back to the page")
    expect(mo.get_by_role("textbox")).to_have_value("Fog")
    press(mo, "Pause for this reason")
    says(mo, "Fog")
    mo.goto(field.server.base + "/desk")
    mo.context.clear_cookies(name="meet_desk")
    before = len(field.journal())
    press(mo, "Go on")
    sign_in_again()
    press(mo, "Send it again")
    says(mo, "In the line")
    assert len(field.journal()) == before + 1
