"""A link that is dead, withdrawn, malformed or was never made: the same answer, after the same work.

Work is counted as statements and hashes, so no clock is needed, and none tells a stranger more.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import select

from meetapp.flows import secrets
from meetapp.flows.secrets import new_secret, secret_hash
from meetapp.store import tables as t
from meetapp.web.forms import LARGEST_ID
from tests.busy_club import BusyClub, ServedClub, own_link
from tests.raw_requests import Got, RawBrowser
from tests.world import DESK_LINK, Clock

NOT_MADE = [new_secret(), "x", "%C3%A9%FF", "y" * 3000, "a'b--", secret_hash(own_link("Ed"))]
"""Links that nobody made: one of the right form, then malformed ones, then what the table keeps of a real one."""


@pytest.fixture
def served(served_club: ServedClub, club: BusyClub) -> ServedClub:
    """Of the six: Ed's link is replaced, Fay is retired; the desk link is replaced; the closed meet had one."""
    served_club.put_back()
    with served_club.store.write() as session:
        session.get_one(t.Pilot, club.world.pilots["Ed"]).link_hash = secret_hash(new_secret())
        session.get_one(t.Pilot, club.world.pilots["Fay"]).retired_at = Clock().now
        session.get_one(t.Meet, club.world.meet).desk_link_hash = secret_hash(new_secret())
        closed = select(t.Meet).where(t.Meet.state == "closed")
        session.exec(closed).one().desk_link_hash = secret_hash("the-link-of-the-closed-meet")
        session.commit()
    return served_club


@pytest.fixture
def stranger(served: ServedClub) -> Iterator[RawBrowser]:
    browser = RawBrowser(served.app)
    browser.get("/")
    yield browser
    browser.close()


@contextmanager
def counted(served: ServedClub, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The statements and hashes of the requests meanwhile, in order, without what they were given."""
    work: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_more: Any) -> None:
        work.append(statement)

    def counting(name: str) -> Callable[..., Any]:
        done = getattr(secrets, name)

        def call(*given: Any) -> Any:
            work.append(name)
            return done(*given)

        return call

    event.listen(served.store.engine, "before_cursor_execute", note)
    with monkeypatch.context() as patch:
        for name in ("password_hash", "password_fits"):
            patch.setattr(f"meetapp.flows.access.{name}", counting(name))
        yield work
    event.remove(served.store.engine, "before_cursor_execute", note)


def told(answer: Got) -> tuple[int, dict[str, str], str]:
    """What a stranger sees of an answer, without what is new each time: form tokens, operation keys, the length."""
    text = re.sub(r"[0-9a-f]{128}|[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", "", answer.text)
    return answer.status, answer.headers | {"content-length": ""}, text


@pytest.mark.parametrize(
    ("address", "tried"),
    [
        ("/my/{}", [own_link("Ed"), own_link("Fay"), *NOT_MADE]),
        ("/desk/join/{}", [DESK_LINK, "the-link-of-the-closed-meet", *NOT_MADE]),
        ("/first-visit/{}", NOT_MADE),
        ("/t/{}", ["T1", "T3", "NOSUCH", *NOT_MADE]),
        ("/join/{}", ["the number of Fay", "4711", str(LARGEST_ID)]),
    ],
    ids=["own page", "desk", "first visit", "token", "claim"],
)
def test_no_link_tells_whether_it_ever_was_one(
    address: str,
    tried: list[str],
    club: BusyClub,
    served: ServedClub,
    stranger: RawBrowser,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen, works = [], []
    for link in tried:
        part = link.replace("the number of Fay", str(club.world.pilots["Fay"]))
        with counted(served, monkeypatch) as work:
            seen.append(told(stranger.get(address.format(part))))
        works.append(list(work))
    assert all(each == seen[0] for each in seen)
    assert all(each == works[0] for each in works)
    assert seen[0][0] == (200 if address.startswith("/t") else 404)


def test_a_link_is_looked_for_by_its_hash_alone(
    served: ServedClub, stranger: RawBrowser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A live link is asked for in the words of a dead one: what of it fits can't be felt."""
    asked = []
    for link in (own_link("Ana"), own_link("Ed"), "x"):
        with counted(served, monkeypatch) as work:
            stranger.get(f"/my/{link}")
        asked.append([each for each in work if "link_hash =" in each])
    assert len(asked[0]) > 0
    assert asked[0][:1] == asked[1] == asked[2]
