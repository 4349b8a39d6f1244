"""The organiser's print pages: what may be printed, the warning before it, the files."""

from collections.abc import Callable

import pytest
from fastapi import FastAPI
from sqlmodel import select

from meetapp.flows.club.club import ClubView
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.paper.pages import opened, scanned, text_of
from tests.running import running
from tests.surfer import Surfer
from tests.web.ladder import field_value
from tests.world import World


def set_address(store: Store, address: str) -> None:
    with store.write() as session:
        session.get_one(t.Club, 1).field_address = address
        session.commit()


def ticked(person: Surfer) -> list[str]:
    boxes = person.page.find_all("input", {"name": "token"})
    return [str(box["value"]) for box in boxes if box.has_attr("checked")]


def file_of(person: Surfer, name: str) -> bytes:
    assert person.status == 200, person.text
    assert person.response.headers["content-type"] == "application/pdf"
    assert person.response.headers["content-disposition"] == f'attachment; filename="{name}"'
    return person.response.content


def test_the_tags_of_a_meet_are_printed(organiser: Surfer, world: World, store: Store) -> None:
    set_address(store, "http://192.168.1.20:8022")
    organiser.open(f"/organiser/meets/{world.meet}")
    organiser.follow("Print")
    assert ticked(organiser) == [str(world.tokens[label]) for label in ("R1", "F1", "F5", "R8")]
    organiser.press("Make the tags")
    content = file_of(organiser, "tags-a4.pdf")
    assert scanned(content) == {f"http://192.168.1.20:8022/t/T{number}" for number in (1, 2, 3, 4)}


def test_any_of_the_tags_on_both_sides_of_us_letter(organiser: Surfer, world: World) -> None:
    organiser.open("/organiser/tokens")
    organiser.follow("Print tags")
    assert ticked(organiser) == []
    chosen = [world.tokens["F1"], world.tokens["R8"]]
    organiser.press("Make the tags", token=chosen, paper="letter", sides="two")
    content = file_of(organiser, "tags-letter.pdf")
    front, back = opened(content)
    assert [front.width, front.height] == [pytest.approx(612, abs=0.1), pytest.approx(792, abs=0.1)]
    assert "Set plan R, channel 8" in text_of(back).replace("\n", " ")
    # No field address: the codes lead where this browser finds the server.
    assert scanned(content) == {"http://testserver/t/T2", "http://testserver/t/T4"}


def test_the_page_of_a_token_leads_to_its_tag(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/tokens/{world.tokens['F5']}")
    organiser.follow("Print its tag")
    assert ticked(organiser) == [str(world.tokens["F5"])]


def test_none_ticked_is_said_beside_the_boxes(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/print")
    organiser.press("Make the tags", token=[], paper="letter")
    assert organiser.status == 422
    assert "No token is ticked. Tick the tokens that you want to print." in organiser.text
    assert organiser.page.find("input", {"name": "paper", "value": "letter", "checked": True})
    assert ticked(organiser) == []
    assert organiser.page.find("input", {"name": "meet", "value": str(world.meet)})


def test_a_withdrawn_token_is_not_printed(organiser: Surfer, world: World) -> None:
    token = world.tokens["R1"]
    organiser.open(f"/organiser/tokens/{token}")
    organiser.press("Withdraw it")
    assert "Print its tag" not in organiser.text
    organiser.open(f"/organiser/print/tags.pdf?token={token}")
    assert organiser.status == 422
    assert "R1, code T1, is withdrawn, so its tag isn't printed." in organiser.text
    organiser.open(f"/organiser/meets/{world.meet}/print")
    assert "code T1" not in organiser.text


@pytest.mark.parametrize("query", ["token=4711", "token=1&meet=4711", "token=x", "token=1&paper=a0"])
def test_what_is_not_there_is_not_found(organiser: Surfer, query: str) -> None:
    organiser.open(f"/organiser/print/tags.pdf?{query}")
    assert organiser.status == 404


def test_a_channel_within_the_meet_s_pull_stands_on_its_tags(organiser: Surfer, world: World, store: Store) -> None:
    # F5 is 5820 MHz; nothing else lies nearer than A3 at 5825 and R5 at 5806 (the published plans).
    with store.write() as session:
        session.get_one(t.Meet, world.meet).pull_mhz = 5
        session.commit()
    for meet, words in ((f"&meet={world.meet}", "Near: A3 +5 MHz"), ("", "Near: none within 2 MHz")):
        organiser.open(f"/organiser/print/tags.pdf?token={world.tokens['F5']}{meet}")
        assert words in text_of(opened(file_of(organiser, "tags-a4.pdf"))[0])


def test_the_page_warns_where_no_field_address_is_set(organiser: Surfer) -> None:
    organiser.open("/organiser/print")
    assert "There is no field address, so the codes to scan would lead to http://testserver" in organiser.text


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("http://127.0.0.1:1", "The codes to scan would lead to http://127.0.0.1:1, where each phone reaches only"),
        ("http://no-such-host.invalid", "http://no-such-host.invalid, and this server does not answer there now."),
    ],
)
def test_the_page_warns_where_nothing_answers(organiser: Surfer, store: Store, address: str, words: str) -> None:
    set_address(store, address)
    organiser.open("/organiser/print")
    assert words in organiser.text


def test_the_poster_has_both_codes_and_the_club_s_rules(organiser: Surfer, world: World, store: Store) -> None:
    set_address(store, "http://192.168.1.20:8022")
    organiser.open(f"/organiser/meets/{world.meet}/print")
    organiser.press("Make the poster", wifi_name="Meadow; west", wifi_password="hold your token", paper="a3")
    content = file_of(organiser, "poster-2026-06-14-a3.pdf")
    # The form of the Wi-Fi's text, a ';' in it behind a '\\': ZXing wiki, Barcode Contents (from memory).
    assert scanned(content) == {
        "http://192.168.1.20:8022/join",
        r"WIFI:T:WPA;S:Meadow\; west;P:hold your token;;",
    }
    text = text_of(opened(content)[0])
    assert "Password: hold your token" in text
    assert "Picture gone: come down now, away from people." in text.replace("\n", " ")
    with store.read() as session:
        assert "hold your token" not in str(session.exec(select(t.Operation.answer)).all())


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"wifi_name": "Meadow", "wifi_password": "short"}, "A Wi-Fi's password has 8 to 63 plain letters"),
        ({"wifi_name": "Meadow", "wifi_password": "ñandú ñandú"}, "A Wi-Fi's password has 8 to 63 plain letters"),
        ({"wifi_password": "long enough"}, "Give the name of the Wi-Fi too, or leave both empty."),
        ({"wifi_name": "ñ" * 17}, "A Wi-Fi's name has 32 bytes at most"),
        ({"wifi_name": "x" * 33}, "The Wi-Fi's name is too long: 32 characters at most."),
        ({"paper": "a0"}, "Choose one of the answers for: the paper."),
    ],
    ids=lambda value: str(value)[:50],
)
def test_a_wi_fi_that_can_not_be_is_refused_and_kept(
    organiser: Surfer, world: World, typed: dict[str, str], sentence: str
) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/print")
    organiser.press("Make the poster", **typed)
    assert organiser.status == 422
    assert sentence in organiser.text
    kept = {name: value for name, value in typed.items() if name != "paper"}
    assert {name: field_value(organiser, name) for name in kept} == kept


def test_the_wall_chart_has_the_set_its_products_the_band_and_the_neighbours(
    organiser: Surfer, world: World, store: Store
) -> None:
    with store.write() as session:
        session.add(t.Neighbour(site_id=world.site, label="Wi-Fi 149", centre_mhz=5745, width_mhz=20))
        session.get_one(t.Token, world.tokens["F5"]).state = "withdrawn"
        session.commit()
    organiser.open(f"/organiser/meets/{world.meet}/print")
    organiser.press("Make the wall chart", paper="tabloid")
    [page] = opened(file_of(organiser, "wall-chart-2026-06-14-tabloid.pdf"))
    words = text_of(page).split("\n")
    assert "5600 to 5960, 25 mW" in words
    assert "Wi-Fi 149, 5745, 20 wide" in words
    assert {"T1", "T2", "T4"} <= set(words)
    assert "T3" not in words
    # 2 x 5740 - 5917 = 5563 falls 95 MHz from R1, and nothing falls nearer.
    assert any("3 tokens, spacing 82 MHz, clearance 95 MHz" in line for line in words)
    assert "no promise of a clear picture" in text_of(page)


def test_the_loan_sheet_of_a_planned_meet(organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.Meet, world.meet).state = "planned"
        session.commit()
    organiser.open(f"/organiser/meets/{world.meet}/print")
    organiser.press("Make the loan sheet", paper="letter")
    [page] = opened(file_of(organiser, "loan-sheet-2026-06-14-letter.pdf"))
    assert "June meet, Lower Meadow" in text_of(page)


def test_the_page_says_where_the_codes_lead_and_that_this_server_answers_there(
    organiser: Surfer, store: Store, app: FastAPI
) -> None:
    with running(app) as address:
        set_address(store, address.replace("127.0.0.1", "localhost"))
        organiser.open("/organiser/print")
        assert "where each phone reaches only itself" in organiser.text
        with pytest.MonkeyPatch.context() as patched:
            # No other address leads to this machine in a test: so its own is let through as one that phones can use.
            patched.setattr(ClubView, "is_only_this_machine", property(lambda _view: False))
            organiser.open("/organiser/print")
    assert "and this server answers there now." in organiser.text


def test_others_are_kept_out(surfer: Callable[[], Surfer], marshal: Surfer, world: World) -> None:
    for path in ("/organiser/print", f"/organiser/meets/{world.meet}/print", "/organiser/print/tags.pdf?token=1"):
        marshal.open(path)
        assert marshal.status == 403
        stranger = surfer()
        stranger.open(path)
        assert stranger.path == "/sign-in"
