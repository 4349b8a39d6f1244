"""Strangers in the same network: guessing, foreign names and sites, floods. The threats are listed in DEVELOPERS.md."""

import asyncio
from collections.abc import Callable, Iterator

import pytest
from fastapi import FastAPI
from starlette.types import Message, Receive, Scope, Send

from meetapp.flows.guessing import Limits
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.web.bodies import FORM_BYTES, BodyLimits, TooSlow
from meetapp.web.guesser import source_of
from tests.apart import run_apart
from tests.surfer import Surfer
from tests.world import DESK_LINK, ORGANISER_PASSWORD, PIN, Clock, World

NewSurfer = Callable[[], Surfer]
LIMITS = Limits()
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


def test_a_pin_guesser_waits_and_nobody_else_does(app: FastAPI, world: World, marshal: Surfer, clock: Clock) -> None:
    guesser, real = Surfer(app, "10.0.0.66"), Surfer(app, "10.0.0.7")
    for number in range(LIMITS.free):
        guesser.join_desk(f"{number:06}", "Nobody")
        assert "This PIN doesn't fit the open meet." in guesser.text
    guesser.join_desk(PIN, "Nobody")
    assert guesser.status == 429
    assert "Too many wrong PINs came from this phone or its network." in guesser.text
    assert "Wait 30 seconds, then try again." in guesser.text
    assert PIN not in guesser.response.text

    marshal.open("/desk")
    assert marshal.path == "/desk"
    real.join_desk(PIN, "Rey")
    assert real.path == "/desk"
    guesser.open(f"/desk/join/{DESK_LINK}")
    guesser.press("Open the desk", name="Somebody with the link")
    assert guesser.path == "/desk"

    clock.now += LIMITS.first_wait
    mistaken = Surfer(app, "10.0.0.66")
    mistaken.join_desk(PIN, "Mo")
    assert mistaken.path == "/desk"


def test_the_password_is_guessed_no_faster_from_a_signed_in_page(organiser: Surfer, app: FastAPI) -> None:
    organiser.open("/organiser/club")
    typed = {"new_password": "a new kitchen table", "new_password_again": "a new kitchen table"}
    for number in range(LIMITS.free):
        organiser.press("Change the password", password=f"guess {number}", **typed)
        assert "The password until now doesn't fit." in organiser.text
    organiser.press("Change the password", password=ORGANISER_PASSWORD, **typed)
    assert organiser.status == 429
    assert "Too many wrong passwords" in organiser.text
    other_door = Surfer(app)
    other_door.sign_in_organiser(ORGANISER_PASSWORD)
    assert other_door.status == 429


@pytest.mark.parametrize(
    ("client", "source"),
    [
        (("10.0.0.7", 1), "10.0.0.7"),
        (("::ffff:10.0.0.7", 1), "10.0.0.7"),
        (("2001:db8:1:2:3:4:5:6", 1), "2001:db8:1:2::"),
        (("fe80::1%wlan0", 1), "fe80::"),
        (None, ""),
    ],
    ids=["IPv4", "IPv4 within IPv6", "IPv6", "with its interface", "a socket file"],
)
def test_a_phone_can_not_change_its_source_by_itself(client: tuple[str, int] | None, source: str) -> None:
    from fastapi import Request

    headers = [(b"x-forwarded-for", b"10.9.9.9"), (b"forwarded", b"for=10.9.9.9")]
    assert source_of(Request({"type": "http", "client": client, "headers": headers})) == source


@pytest.mark.parametrize("host", ["10.0.0.5:8022", "[fe80::1]:8022", "Laptop.local", "laptop", "meet.lan"])
def test_the_tool_answers_under_any_address_and_local_name(world: World, app: FastAPI, host: str) -> None:
    person = Surfer(app, base=f"http://{host}")
    person.join_desk(PIN, "Mo")
    assert person.path == "/desk"


@pytest.mark.parametrize(
    "host",
    ["meet.example", "10.0.0.5.evil.example", "a@b", "10.0.0.5:8022:1", "a b", "", "[::1", "a.example:80/x", "x" * 300],
)
def test_a_foreign_name_gets_a_sentence_and_nothing_else(marshal: Surfer, host: str) -> None:
    answer = marshal.client.get("/desk", headers={"Host": host})
    assert answer.status_code == 400
    assert "This tool isn't known under this name." in answer.text
    assert "set-cookie" not in answer.headers
    if host:
        assert host not in answer.text


def test_the_tool_answers_under_its_field_address(world: World, store: Store, app: FastAPI) -> None:
    with store.write() as session:
        session.get_one(t.Club, 1).field_address = "https://Meet.Example"
        session.commit()
    person = Surfer(app, base="http://meet.example:8022")
    person.join_desk(PIN, "Mo")
    assert person.path == "/desk"


def test_links_on_paper_go_to_the_field_address_whatever_name_was_asked(
    world: World, store: Store, app: FastAPI
) -> None:
    with store.write() as session:
        session.get_one(t.Club, 1).field_address = "http://192.168.4.1:8022"
        session.commit()
    person = Surfer(app, base="http://evil:8022")
    person.sign_in_organiser(ORGANISER_PASSWORD)
    person.open(f"/organiser/meets/{world.meet}")
    person.press("Replace PIN and desk link")
    assert "http://192.168.4.1:8022/desk/join/" in person.text
    assert "evil" not in person.response.text


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://testserver.evil.example", "http://testserver:81"])
def test_a_form_of_another_origin_changes_nothing(marshal: Surfer, origin: str) -> None:
    marshal.open("/desk")
    form, _button = marshal.form_with("Sign out")
    sent = dict(marshal.fields(form))
    answer = marshal.client.post("/sign-out/desk", data=sent, headers={"Origin": origin})
    assert answer.status_code == 403
    assert "x-frame-options" in answer.headers
    marshal.open("/desk")
    assert marshal.path == "/desk"


def test_a_token_of_one_browser_does_not_fit_another(marshal: Surfer, surfer: NewSurfer) -> None:
    marshal.open("/desk")
    stranger = surfer()
    stranger.open("/sign-in")
    token = dict(stranger.fields(stranger.form_with("Sign in")[0]))["csrf_token"]
    answer = marshal.client.post("/sign-out/desk", data={"csrf_token": token, "operation_key": "12345678-1234"})
    assert answer.status_code == 403


@pytest.mark.parametrize(
    "path", ["/", "/no-such-page", "/static/app.css", "/desk", "/live/all/now", "/organiser/meets/99999999999999999999"]
)
def test_every_answer_may_not_be_framed_sniffed_or_scripted(marshal: Surfer, path: str) -> None:
    headers = marshal.client.get(path).headers
    assert headers["x-frame-options"] == "DENY"
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "script-src 'self';" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"


def test_an_answer_about_a_fault_of_ours_carries_the_headers_too(
    marshal: Surfer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("meetapp.web.routes.access.page", lambda *_: 1 / 0)
    answer = marshal.client.get("/")
    assert answer.status_code == 500
    assert answer.headers["x-frame-options"] == "DENY"
    assert "division" not in answer.text


def test_more_than_a_form_can_hold_is_refused_before_it_is_read(marshal: Surfer) -> None:
    headers = FORM | {"Content-Length": str(FORM_BYTES + 1)}
    answer = marshal.client.post("/desk/join", headers=headers, content=b"pin=1")
    assert answer.status_code == 413
    assert "more than a form of this tool can hold" in answer.text
    assert "Nothing was changed." in answer.text


def test_more_than_was_announced_is_refused_while_it_comes(marshal: Surfer) -> None:
    read = 0

    def flood() -> Iterator[bytes]:
        nonlocal read
        while read < 50 * FORM_BYTES:
            read += 100_000
            yield b"x" * 100_000

    answer = marshal.client.post("/desk/join", content=flood(), headers=FORM)
    assert answer.status_code == 413


@pytest.mark.parametrize("declared", ["-1", "many", "9" * 40, "1 2"])
def test_a_length_that_is_none_is_refused(marshal: Surfer, declared: str) -> None:
    answer = marshal.client.post("/desk/join", headers=FORM | {"Content-Length": declared}, content=b"")
    assert answer.status_code == 413


def test_a_body_that_never_ends_is_given_up() -> None:
    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        await receive()

    async def nothing_comes() -> Message:
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: Message) -> None: ...

    with pytest.raises(TooSlow):
        run_apart(BodyLimits(app, patience_s=0)({"type": "http", "path": "/", "headers": []}, nothing_comes, send))


@pytest.mark.parametrize("patience_s", [60, 0], ids=["too much", "too slow"])
def test_a_stream_to_which_more_than_a_form_or_none_in_time_is_sent_ends_without_an_error(patience_s: float) -> None:
    answered: list[str] = []

    async def stream(_scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200})
        answered.append((await receive())["type"])

    async def too_much() -> Message:
        await asyncio.sleep(0 if patience_s else 3600)
        return {"type": "http.request", "body": b"x" * (FORM_BYTES + 1), "more_body": True}

    async def send(message: Message) -> None: ...

    limits = BodyLimits(stream, patience_s=patience_s)
    run_apart(limits({"type": "http", "path": "/live/all", "headers": []}, too_much, send))
    assert answered == ["http.disconnect"]


def test_the_page_about_the_wi_fi_says_who_can_listen(world: World, surfer: NewSurfer) -> None:
    person = surfer()
    person.open("/desk/join")
    person.follow("Who can listen in this Wi-Fi?")
    assert "This page came unencrypted" in person.text
    assert "Anybody in the same Wi-Fi can listen" in person.text


def test_over_tls_a_session_s_cookie_is_bound_to_this_very_host(world: World, app: FastAPI) -> None:
    person = Surfer(app, base="https://meet.local")
    person.join_desk(PIN, "Mo")
    assert person.path == "/desk"
    assert {cookie.name for cookie in person.client.cookies.jar} == {"__Host-meet_browser", "__Host-meet_desk"}
    assert all(cookie.secure for cookie in person.client.cookies.jar)
    person.press("Sign out")
    assert {cookie.name for cookie in person.client.cookies.jar} == {"__Host-meet_browser"}
