"""Points of OWASP ASVS 4.0.3, level 1, that no other test holds: over every page, and in what is logged."""

import logging
import re

import pytest
from bs4 import BeautifulSoup
from fastapi import FastAPI
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from meetapp.flows.secrets import PASSWORD_MIN, PIN_DIGITS, new_pin
from meetapp.store.engine import Store
from tests.busy_club import BusyClub, ServedClub
from tests.raw_requests import Got, RawBrowser
from tests.walk import addresses

WORDS = {"code": "T1", "secret": "no-such-link", "whose": "all"}
LEFT_OUT = re.compile(r"^/live/\{whose\}$|\.pdf$")
"""What never ends, and what takes long to draw."""
ON_EVERY_ANSWER = {
    "cache-control": "no-store",  # 8.2.1
    "referrer-policy": "same-origin",  # 14.4.6
    "x-content-type-options": "nosniff",  # 14.4.4
}
SECRET_FIELDS = {"password": "current-password", "new_password": "new-password", "password_again": "new-password"}
SECRET_FIELDS |= {"new_password_again": "new-password", "pin": "off"}


def about_the_first(address: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda part: WORDS.get(part[1], "1"), address)


@pytest.fixture(scope="module")
def answers(served_club: ServedClub, club: BusyClub) -> dict[str, Got]:
    """What the organiser gets from every address about the first of everything; a stranger from the two doors."""
    served_club.put_back()
    browser = RawBrowser(served_club.app)
    found = {each: browser.get(each) for each in ("/sign-in", "/desk/join")}
    browser.cookies = dict(club.cookies["organiser"])
    found |= {each: browser.get(about_the_first(each)) for each in addresses("GET") if not LEFT_OUT.search(each)}
    browser.close()
    return found


def test_no_answer_is_kept_and_each_says_what_it_is(answers: dict[str, Got]) -> None:
    for address, got in answers.items():
        for name, value in ON_EVERY_ANSWER.items():
            assert got.headers[name] == value, address
        kind = got.headers.get("content-type", "")
        if kind.startswith("text/"):
            assert "charset=utf-8" in kind, address  # 14.4.1
        if not kind.startswith(("text/html", "text/plain")) and got.status == 200:
            assert kind.startswith(("application/json", "application/pdf", "text/csv", "image/")), (address, kind)
    assert sum(got.status == 200 for got in answers.values()) > len(answers) // 2


def test_every_field_for_a_secret_says_how_browsers_are_to_keep_it(answers: dict[str, Got]) -> None:
    seen = set()
    for address, got in answers.items():
        if not re.search(r'type="password"|name="pin"', got.body.decode("latin-1")):
            continue
        for field in BeautifulSoup(got.text, "html.parser").find_all("input"):
            if field.get("type") == "password" or field.get("name") in SECRET_FIELDS:
                name = str(field["name"])
                assert field.get("autocomplete") == SECRET_FIELDS[name], address
                assert not field.get("value"), address  # a secret is never written into a page's field
                seen.add(name)
    assert {"password", "new_password", "pin"} <= seen


def test_secrets_that_are_typed_have_the_length_that_is_asked_of_them() -> None:
    assert PASSWORD_MIN >= 12  # 2.1.1
    assert PIN_DIGITS >= 6  # 2.6, as for codes of one use
    assert re.fullmatch(r"\d{6}", new_pin())


@pytest.mark.parametrize("address", ["/my/the-secret-of-a-link%0AERROR%1B[31m", "/the-secret-of-a-link%0AERROR"])
def test_a_log_holds_no_secret_of_an_address_and_no_line_of_a_strangers(
    address: str, app: FastAPI, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("meetapp.flows.club.own_links.open_link", lambda *_: 1 / 0)
    monkeypatch.setattr("meetapp.web.errors._unreadable", lambda *_: 1 / 0)
    browser = RawBrowser(app)
    with caplog.at_level(logging.DEBUG), pytest.raises(ZeroDivisionError):
        browser.get(address)
    browser.close()
    told = [record.getMessage() for record in caplog.records if record.name == "meetapp.web.errors"]
    assert len(told) == 1
    assert re.fullmatch(r"reference [0-9a-f]{8}: GET (/my/\{secret\}|an address that is none)", told[0])


def test_a_database_error_tells_none_of_the_values(any_store: Store) -> None:
    with pytest.raises(DBAPIError) as failed, any_store.read() as session:
        session.execute(text("SELECT * FROM no_such_table WHERE name = :name"), {"name": "the-secret-of-a-link"})
    assert "the-secret-of-a-link" not in str(failed.value)
