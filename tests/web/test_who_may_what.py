"""Nobody does what isn't theirs to do: each route with a rule, walked as each of the people, with the ids of others.

A new route fails here until it stands under a rule; a new part of a path until it is said what it names.
"""

import re
from base64 import urlsafe_b64decode
from typing import Any
from urllib.parse import urlencode

import pytest
from fastapi.routing import APIRoute

from meetapp.flows.secrets import new_secret
from meetapp.store import tables as t
from meetapp.web.security import PILOT_COOKIE
from tests.busy_club import BusyClub, ServedClub, nickname, own_link
from tests.hostile import forms_of, model_fields
from tests.raw_requests import Got, RawBrowser, Sent
from tests.walk import routes

OWN = "whoever's phone this is, for themself"
EVERYBODY = "everybody, and nobody's secrets are shown"
WITH_THE_SECRET = "whoever has the secret in the address"
SELF_SERVICE = "everybody at the desk, and pilots where they run the meet"

# Routes that are neither the desk's nor the organiser's.
RULES = {
    "/": EVERYBODY,
    "/alarms": EVERYBODY,
    "/alarms/down": SELF_SERVICE,
    "/alarms/no-power": EVERYBODY,
    "/alarms/stray": SELF_SERVICE,
    "/alarms/{alarm_id}/over": SELF_SERVICE,
    "/answers-here": EVERYBODY,
    "/board": EVERYBODY,
    "/board/live": EVERYBODY,
    "/desk/join": EVERYBODY,
    "/desk/join/{secret}": WITH_THE_SECRET,
    "/first-visit/{secret}": WITH_THE_SECRET,
    "/join": EVERYBODY,
    "/join/new": EVERYBODY,
    "/join/{pilot_id}": EVERYBODY,
    "/live/{whose}": EVERYBODY,
    "/live/{whose}/now": EVERYBODY,
    "/my": OWN,
    "/my/here": OWN,
    "/my/line/join": OWN,
    "/my/line/leave": OWN,
    "/my/line/not-ready": OWN,
    "/my/line/ready": OWN,
    "/my/live": OWN,
    "/my/loans/{loan_id}/bring-back": OWN,
    "/my/loans/{loan_id}/take-over": OWN,
    "/my/offers/new": OWN,
    "/my/offers/{offer_id}/refuse": OWN,
    "/my/offers/{offer_id}/withdraw": OWN,
    "/my/report": OWN,
    "/my/transmitter": OWN,
    "/my/turns/{token_id}/end": OWN,
    "/my/turns/{token_id}/swap": OWN,
    "/my/undo/{journal_id}": OWN,
    "/my/{secret}": WITH_THE_SECRET,
    "/network": EVERYBODY,
    "/sign-in": EVERYBODY,
    "/sign-out/{whose}": EVERYBODY,
    "/t": EVERYBODY,
    "/t/{code}": EVERYBODY,
    "/t/{code}/take": OWN,
    "/undo/{journal_id}": EVERYBODY,
}

# What each part of a path names: the table whose every row is tried, or words.
NAMED: dict[str, str | tuple[str, ...]] = {
    "alarm_id": "alarm",
    "journal_id": "journal_line",
    "loan_id": "loan",
    "offer_id": "pass_offer",
    "pilot_id": "pilot",
    "token_id": "token",
    "code": ("T1", "T3", "NOSUCH"),
    "secret": ("no-such-secret",),
    "whose": ("all", "desk", "pilot"),
}
NEWEST = 8
"""So many rows of each are tried, the newest."""

MINE = "Ana"
"""Whose phone asks; the rows of all the others are not theirs."""


@pytest.fixture
def served(served_club: ServedClub) -> ServedClub:
    served_club.put_back()
    return served_club


class Person:
    """Somebody at a browser who sends what they like, with the form token that their own pages have."""

    def __init__(self, served: ServedClub, club: BusyClub, who: str) -> None:
        self.browser = RawBrowser(served.app)
        self.browser.cookies = dict(club.cookies[who])
        form = next(form for form in forms_of(self.browser.get("/sign-in").text) if form.action == "/sign-in")
        self.token = dict(form.pairs)["csrf_token"]
        self._cookies = dict(self.browser.cookies)
        self._posts = 0

    def post(self, path: str, fields: dict[str, Any] | None = None, **hidden: str) -> Got:
        """Post to an address; each time as the same person, whatever the last answer said about cookies."""
        self._posts += 1
        sent = {"csrf_token": self.token, "operation_key": f"{id(self)}-{self._posts}", **(fields or {}), **hidden}
        self.browser.cookies = dict(self._cookies)
        headers = [(b"content-type", b"application/x-www-form-urlencoded")]
        return self.browser.send(Sent("POST", path.encode(), headers, urlencode(sent, doseq=True).encode()))

    def get(self, path: str) -> Got:
        self.browser.cookies = dict(self._cookies)
        return self.browser.get(path)


def is_behind_a_door(route: APIRoute) -> bool:
    return route.path.startswith(("/desk", "/organiser")) and route.path not in RULES


def filled(path: str, rows: dict[str, list[Any]]) -> list[str]:
    """The address with each row (or word) that its part may name."""
    found = re.search(r"\{(\w+)\}", path)
    if found is None:
        return [path]
    named = NAMED[found[1]]
    words = named if isinstance(named, tuple) else [str(row.id) for row in rows[named][-NEWEST:]]
    return [whole for word in words for whole in filled(path.replace(found[0], word), rows)]


def of_others(rows: dict[str, list[Any]], mine: int) -> list[str]:
    """Every row that is about another pilot, and the plans and things of all, as text."""
    kept = []
    for table, some in rows.items():
        for row in some:
            values = row._asdict()
            # When who waits came to the head of the line depends on those before them.
            values.pop("head_since", None)
            whose = {values.get(name) for name in ("pilot_id", "to_pilot_id", "partner_id", "actor_pilot_id")}
            if table == "pilot":
                whose = {values["id"]}
            if mine not in whose and table not in ("operation", "journal_line", "alarm"):
                kept.append(f"{table} {values}")
    return kept


def test_every_route_stands_under_a_rule() -> None:
    open_routes = {route.path for route in routes() if not is_behind_a_door(route)}
    assert open_routes == set(RULES)
    named = {name for path in RULES for name in re.findall(r"\{(\w+)\}", path)}
    assert named == set(NAMED)


def test_a_pilot_changes_nothing_of_another_pilot(club: BusyClub, served: ServedClub) -> None:
    """Every form that a pilot can send, about the rows of others, naming another in every field."""
    rows, mine = served.rows(), club.world.pilots[MINE]
    before = set(of_others(rows, mine))
    person = Person(served, club, MINE)
    sent = 0
    for route in routes():
        if "POST" not in route.methods or is_behind_a_door(route):
            continue
        fields = [*model_fields(route), "pilot", "pilot_id", "actor_pilot_id", "session_id", "name"]
        for path in filled(route.path, rows):
            named = dict.fromkeys(fields, club.world.pilots["Cy"])
            assert person.post(path, named | {"look": "gone", "place": "line"}).status < 500, path
            sent += 1
        assert before - set(of_others(served.rows(), mine)) == set(), route.path
    assert sent > 60
    after = served.rows()
    new_lines = after["journal_line"][len(rows["journal_line"]) :]
    assert {line.actor_pilot_id for line in new_lines} <= {mine}
    assert len(new_lines) >= 3


def test_a_pilots_pages_show_nothing_that_only_others_may_read(club: BusyClub, served: ServedClub) -> None:
    rows = served.rows()
    private = {nickname(name) for name in club.world.pilots if name != MINE} | {"=by the second gate"}
    private |= {own_link(name) for name in club.world.pilots}
    private |= {secret for cookies in club.cookies.values() for secret in cookies.values()}
    for who in (MINE, "bystander"):
        person = Person(served, club, who)
        for route in routes():
            if "GET" in route.methods and not is_behind_a_door(route):
                for path in filled(route.path, rows):
                    page = person.get(path).text.replace("&#39;", "'")
                    assert [mark for mark in private if mark in page] == [], (who, path)
    assert {name: len(some) for name, some in served.rows().items()} == {name: len(some) for name, some in rows.items()}


def test_another_pilots_form_token_operation_key_and_session_cookie_are_of_no_use(
    club: BusyClub, served: ServedClub
) -> None:
    mine, other = Person(served, club, MINE), Person(served, club, "Ed")
    for route in routes():
        if "POST" in route.methods and not is_behind_a_door(route):
            path = filled(route.path, served.rows())[0]
            assert mine.post(path, csrf_token=other.token).status == 403, path
    first = other.post("/my/line/not-ready", operation_key="the key of another")
    assert first.status == 303
    assert mine.post("/my/line/not-ready", operation_key="the key of another").status == 409
    assert other.post("/my/line/not-ready", operation_key="the key of another").headers == first.headers
    other.post("/sign-out/pilot")
    thief = RawBrowser(served.app)
    thief.cookies = {PILOT_COOKIE: club.cookies["Ed"][PILOT_COOKIE]}
    assert thief.get("/my").headers["location"] == "/join"


@pytest.mark.parametrize("who", ["bystander", "pilot", "marshal"])
def test_the_doors_of_the_desk_and_of_the_organiser_hold(who: str, club: BusyClub, served: ServedClub) -> None:
    person = Person(served, club, who)
    before = served.rows()
    for route in (route for route in routes() if is_behind_a_door(route)):
        is_desks = route.path.startswith("/desk")
        if is_desks and who == "marshal":
            continue
        path = re.sub(r"\{\w+\}", "1", route.path)
        answer = person.get(path) if "GET" in route.methods else person.post(path)
        if who == "marshal":
            assert answer.status == 403, path
            assert "is the organiser&#39;s." in answer.text
        elif "POST" in route.methods:
            assert answer.status == 401, path  # with the form kept for whoever signs in now
        else:
            assert answer.status == 303, path
            assert answer.headers["location"].startswith("/desk/join?" if is_desks else "/sign-in?"), path
    assert served.rows() == before


def test_what_is_a_persons_own_is_not_a_bystanders(club: BusyClub, served: ServedClub) -> None:
    person = Person(served, club, "bystander")
    rows = served.rows()
    for route in (route for route in routes() if RULES.get(route.path) in (OWN, SELF_SERVICE)):
        for path in filled(route.path, rows):
            answer = person.get(path) if "GET" in route.methods else person.post(path)
            assert (answer.status, answer.headers.get("location")) in ((303, "/join"), (401, None), (403, None)), path
    assert served.rows() == rows


def plain(page: Got) -> str:
    """A page without what is made anew each time: form tokens and operation keys."""
    return re.sub(r"[0-9a-f]{128}|[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", "", page.text)


def test_between_meets_nobody_learns_which_numbers_are_somebodys(club: BusyClub, served: ServedClub) -> None:
    with served.store.write() as session:
        session.get_one(t.Meet, club.world.meet).state = "closed"
        session.commit()
    stranger = Person(served, club, "bystander")
    somebody, nobody = (stranger.get(f"/join/{number}") for number in (club.world.pilots["Ed"], 4711))
    assert somebody.status == nobody.status == 409
    assert plain(somebody) == plain(nobody)


def test_secrets_have_128_bits() -> None:
    made = {new_secret() for _ in range(100)}
    assert len(made) == 100
    assert {len(urlsafe_b64decode(f"{secret}==")) for secret in made} == {16}
