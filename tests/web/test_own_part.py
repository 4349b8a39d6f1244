"""A pilot's own part is drawn once for all who see the same: it must be nobody else's, and say what the page says."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from bs4 import BeautifulSoup

from meetapp.config import data_folder
from meetapp.flows.desk import live
from meetapp.flows.desk.live import Look
from meetapp.store.engine import Store
from meetapp.web.own_part import OwnPart, OwnParts
from meetapp.web.render import make_templates
from tests.busy_club import BusyClub, ServedClub
from tests.surfer import Surfer

TOKEN, KEY = "the token of one phone", "a key"


def new_parts() -> OwnParts:
    return OwnParts(make_templates(data_folder("templates")))


def look(store: Store, now: datetime, club: BusyClub) -> Look:
    return live.look(store, now, (), tuple(club.world.pilots.values()))


def html_of(part: OwnPart | None) -> str:
    assert part is not None
    return part.dressed(TOKEN, lambda: KEY)


@pytest.fixture
def served(served_club: ServedClub) -> ServedClub:
    served_club.put_back()
    return served_club


def test_each_pilot_is_shown_what_would_be_drawn_for_them_alone(served: ServedClub, club: BusyClub) -> None:
    shared, words = new_parts(), {}
    for minutes in (0, 1, 30, 0):  # what was drawn for one moment or pilot must not turn up at another's
        shown = look(served.store, club.clock.now + timedelta(minutes=minutes), club)
        parts = shared.all(shown)
        for pilot_id, view in shown.own.items():
            assert view is not None
            alone = new_parts().part(view, shown.frame)
            assert html_of(parts[pilot_id]) == html_of(alone)
            words.setdefault(alone.word, html_of(alone))
            assert words[alone.word] == html_of(alone), "one word means one part"
    assert len(words) > len(club.world.pilots)


def test_who_sees_the_same_shares_one_drawing_without_a_name_or_keys(served: ServedClub, club: BusyClub) -> None:
    shown = look(served.store, club.clock.now, club)
    view = shown.own[club.world.pilots["Ana"]]
    assert view is not None
    parts = new_parts()
    part = parts.part(view, shown.frame)
    assert part is parts.part(replace(view, board_name="Somebody"), shown.frame)
    assert html_of(part).count(TOKEN) == html_of(part).count(f'value="{KEY}"') > 0
    one, other = part.dressed("token 1", lambda: "key 1"), part.dressed("token 2", lambda: "key 2")
    assert one.replace("token 1", "token 2").replace("key 1", "key 2") == other != one


def test_the_word_of_the_page_is_the_word_of_the_stream(served: ServedClub, club: BusyClub) -> None:
    for who in ("Ana", "Bo", "Ed"):
        phone = Surfer(served.app)
        phone.client.cookies.update(club.cookies[who])
        phone.open("/my")
        part = phone.page.find(id="my-live")
        assert part is not None
        now = phone.client.get(f"/live/pilot/now?shows={part['data-seen']}").json()
        assert now["own"] == part["data-seen"]
        assert "part" not in now
        assert phone.client.get(f"/my/live?seen={part['data-seen']}").status_code == 204
        older = phone.client.get("/live/pilot/now?shows=older").json()["part"]
        assert BeautifulSoup(older, "html.parser").get_text() == part.get_text()


def test_only_pages_that_show_minutes_change_with_the_minute(served: ServedClub, club: BusyClub) -> None:
    parts, start = new_parts(), club.clock.now.replace(second=0)

    def words_at(seconds: int) -> dict[str, str]:
        parts_then = parts.all(look(served.store, start + timedelta(seconds=seconds), club))
        found = {name: parts_then[pilot_id] for name, pilot_id in club.world.pilots.items()}
        return {name: part.word for name, part in found.items() if part}

    first = words_at(0)
    assert words_at(59) == first
    changed = {name for name, word in words_at(60).items() if word != first[name]}
    assert "Ed" in changed, "who waits"
    assert "Ana" not in changed, "who has nothing"
