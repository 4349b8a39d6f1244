"""The desk's part is drawn once for all marshals: it must say what would be drawn for each alone."""

from dataclasses import replace
from datetime import timedelta

import pytest

from meetapp.config import data_folder
from meetapp.flows.deeds import Actor
from meetapp.flows.desk.desk import DeskView, desk_view
from meetapp.flows.frame import page_frame
from meetapp.flows.loans import line
from meetapp.web.desk_part import MOST_KEPT, DeskParts
from meetapp.web.render import make_templates
from tests.acting import DESK, deed
from tests.busy_club import BusyClub, ServedClub
from tests.surfer import Surfer


def new_parts() -> DeskParts:
    return DeskParts(make_templates(data_folder("templates")))


@pytest.fixture
def served(served_club: ServedClub) -> ServedClub:
    served_club.put_back()
    return served_club


def seen(served: ServedClub, club: BusyClub, minutes: int = 0, actor: Actor = DESK) -> DeskView:
    return desk_view(served.store, club.world.meet, club.clock.now + timedelta(minutes=minutes), actor)


def drawn(parts: DeskParts, served: ServedClub, view: DeskView, whose: str = "token") -> str:
    return parts.part(view, page_frame(served.store), whose, lambda: f"key of {whose}")


def test_it_says_what_would_be_drawn_alone_whatever_was_drawn_before(served: ServedClub, club: BusyClub) -> None:
    parts, said = new_parts(), set()
    for minutes in (0, 1, 30, 0, 1):
        view = seen(served, club, minutes)
        assert drawn(parts, served, view) == drawn(new_parts(), served, view)
        said.add(drawn(parts, served, view))
    before = seen(served, club)
    line.join_line(served.store, deed(DESK), club.world.meet, club.world.pilots["Ana"])
    after = seen(served, club)
    assert after.around != before.around
    others = [replace(after, paused_min=at) for at in range(MOST_KEPT)]
    for view in (after, before, replace(after, next_up=None), *others, after):
        assert drawn(parts, served, view) == drawn(new_parts(), served, view)


def test_each_marshal_has_their_own_token_keys_and_last_deed(served: ServedClub, club: BusyClub) -> None:
    phones = {}
    for who in ("marshal", "organiser"):
        phones[who] = Surfer(served.app)
        phones[who].client.cookies.update(club.cookies[who])
        phones[who].open("/desk")
        assert "Ana joined the line" not in phones[who].text
    phones["marshal"].press("Into the line : Ana")
    phones["marshal"].open("/desk")
    phones["organiser"].open("/desk")
    assert "Ana joined the line" in phones["marshal"].text
    assert "Ana joined the line" not in phones["organiser"].text
    keys = [
        each["value"] for phone in phones.values() for each in phone.page.find_all("input", {"name": "operation_key"})
    ]
    assert len(set(keys)) == len(keys) > 20
    parts, view = new_parts(), seen(served, club)
    one, other = drawn(parts, served, view, "token 1"), drawn(parts, served, view, "token 2")
    assert one.replace("token 1", "token 2") == other != one
