"""No request makes the server break, whoever sends it: every route, every field, for each of its people.

A few requests for each route from whoever gets in there; with HYPOTHESIS_PROFILE=deep many more, from everybody to
every route.
"""


import re

import pytest
from fastapi.routing import APIRoute
from hypothesis import HealthCheck, given, settings

from meetapp.web.forms import LARGEST_ID
from tests.busy_club import BusyClub, ServedClub, own_link
from tests.hostile import About, Form, forms_of, leads_to, requests, told
from tests.raw_requests import RawBrowser, Sent
from tests.walk import routes
from tests.world import DESK_LINK

PLACES = {
    "bystander": ("/",),
    "pilot": ("/my", "/t", "/join", "/undo", "/live"),
    "marshal": ("/desk", "/undo", "/alarms", "/t"),
    "organiser": ("/organiser",),
}
"""Where each of the people gets in; a bystander where nobody has to be anybody."""
BEHIND_DOORS = ("/desk/", "/organiser", "/my/")
IS_DEEP = settings.get_current_profile_name() == "deep"
REQUESTS_EACH = 50 if IS_DEEP else 2
MEANT = {503, 507}
"""Server errors that are answers: too many pages listen, the disk is full."""
WORDS = {
    "code": ["T1", "t2"],
    "secret": [own_link("Bo"), DESK_LINK, "no-such-link"],
    "whose": ["all", "desk", "pilot"],
    "meet_id": ["1", "2", "3"],
}


def token_of(browser: RawBrowser) -> str:
    form = next(form for form in forms_of(browser.get("/sign-in").text) if form.action == "/sign-in")
    return dict(form.pairs)["csrf_token"]


def routes_for(person: str) -> list[APIRoute]:
    """The routes that are tried as this person."""
    if IS_DEEP:
        return routes()
    away = BEHIND_DOORS if person == "bystander" else ()
    return [route for route in routes() if route.path.startswith(PLACES[person]) and not route.path.startswith(away)]


def forms_for(person: str, browser: RawBrowser) -> list[Form]:
    """The forms of the pages where this person gets in, those about the first of everything."""
    found: list[Form] = []
    for route in routes():
        is_page = "GET" in route.methods and not route.path.endswith(("live", ".pdf", ".csv", ".json", "{secret}"))
        if is_page and route.path.startswith(PLACES[person]) and not route.path.startswith("/live"):
            ids = {name: WORDS.get(name, ["1"])[0] for name in route.param_convertors}
            answer = browser.get(route.path.format(**ids))
            if answer.status == 200 and answer.headers["content-type"].startswith("text/html"):
                found += forms_of(answer.text)
    return found


def send_many(route: APIRoute, served: ServedClub, browser: RawBrowser, forms: list[Form], token: str) -> int:
    """Send requests to a route; gives how many were answered with something else than a refusal at the door."""
    about = About(route, tuple(form for form in forms if leads_to(route, form.action))[:6], WORDS)
    cookies = dict(browser.cookies)
    got_in = 0

    @settings(max_examples=REQUESTS_EACH, deadline=None, suppress_health_check=list(HealthCheck))
    @given(requests(about, token))
    def send(sent: Sent) -> None:
        nonlocal got_in
        browser.cookies = dict(cookies)
        try:
            got = browser.send(sent)
        except Exception as error:
            error.add_note(told(sent))
            raise
        assert got.status < 500 or got.status in MEANT, (got.status, told(sent))
        got_in += got.status not in (403, 404, 405)
        if sent.method == "POST" and got.status < 400:
            served.put_back()

    send()
    browser.cookies = cookies
    return got_in


@pytest.mark.parametrize("person", PLACES)
def test_no_request_breaks_the_server(person: str, club: BusyClub, served_club: ServedClub) -> None:
    none_breaks(served_club, club, person, routes_for(person))


@pytest.mark.postgres
@pytest.mark.parametrize("person", PLACES if IS_DEEP else ["pilot"])
def test_no_request_breaks_a_server_over_postgresql(
    person: str, club: BusyClub, served_from_server: ServedClub
) -> None:
    few = routes_for(person) if IS_DEEP else routes_for(person)[::3]  # putting that club back takes longer
    none_breaks(served_from_server, club, person, few)


def test_no_number_and_no_sign_that_postgresql_refuses_gets_past_the_door(
    club: BusyClub, served_club: ServedClub
) -> None:
    served_club.put_back()
    browser = RawBrowser(served_club.app)
    browser.cookies = dict(club.cookies["organiser"])
    numbered = [route.path for route in routes() if "GET" in route.methods and "_id}" in route.path]
    for path in numbered:
        asked = re.sub(r"\{\w+_id\}", str(LARGEST_ID + 1), path)
        assert browser.get(re.sub(r"\{\w+\}", "x", asked)).status == 404, asked
    for address in ("/t/a%00b", "/board?done=a%00b", "/static/app.css%00"):
        assert browser.get(address).status == 400
    browser.close()
    assert len(numbered) > 20


@pytest.mark.parametrize("charset", [b"unicode_escape", b"utf-16", b"punycode", b"no-such", b"\xff"])
def test_a_form_in_another_charset_than_our_pages_send_is_refused_before_it_is_read(
    charset: bytes, served_club: ServedClub
) -> None:
    browser = RawBrowser(served_club.app)
    fields = {"csrf_token": token_of(browser), "operation_key": "key-1000", "name": "\\ud800", "pin": ""}
    part = '--edge\r\nContent-Disposition: form-data; name="{}"\r\n\r\n{}\r\n'
    body = "".join(part.format(*field) for field in fields.items()) + "--edge--\r\n"
    as_form = (b"content-type", b"multipart/form-data; boundary=edge; charset=" + charset)
    got = browser.send(Sent("POST", b"/desk/join", [as_form], body.encode()))
    browser.close()
    assert got.status == 422
    assert "sent in UTF-8. Load the page again" in got.text


def none_breaks(served_club: ServedClub, club: BusyClub, person: str, tried: list[APIRoute]) -> None:
    served_club.put_back()
    browser = RawBrowser(served_club.app)
    browser.cookies = dict(club.cookies[person])
    token, forms = token_of(browser), forms_for(person, browser)
    got_in = sum(send_many(route, served_club, browser, forms, token) for route in tried)
    browser.close()
    assert got_in > len(tried) // 4
