"""PostgreSQL is stopped and started under a running tool: a sentence meanwhile, then it works again by itself."""

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from sqlmodel import col, select

from meetapp.config import Settings
from meetapp.main import app_state
from meetapp.store import server_changes
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.kept import no_copies
from tests.postgres import stopped
from tests.store.test_server_changes import Ear
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds
from tests.world import PIN, Clock, World

pytestmark = pytest.mark.postgres


@pytest.fixture
def marshal(postgres_world: tuple[Store, World], routes_once: FastAPI, clock: Clock) -> Iterator[Surfer]:
    """A marshal at the desk of a club on PostgreSQL."""
    routes_once.state.meetapp = app_state(Settings(postgres_world[0].url), clock, None, no_copies)  # type: ignore[arg-type]
    marshal = Surfer(routes_once)
    marshal.join_desk(PIN, "Mo")
    yield marshal
    routes_once.state.meetapp.store.close()


def test_a_restart_of_the_server_is_told_and_the_tap_is_then_done_once(
    postgres_world: tuple[Store, World],
    postgres_process: Any,
    marshal: Surfer,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    store, world = postgres_world
    monkeypatch.setattr(server_changes, "AGAIN_S", 0.05)
    ear = Ear()
    leave = store.changes.subscribe(ear.wake)
    assert ear.is_woken()
    token = str(marshal.page.find("input", {"name": "csrf_token"})["value"])  # type: ignore[index]
    path = f"/desk/pilots/{world.pilots['Ana']}/hand-out"
    tap = {"csrf_token": token, "operation_key": "the same key", "token_id": str(world.tokens["R1"])}
    with stopped(postgres_process):
        for ask in (lambda: marshal.client.post(path, data=tap), lambda: marshal.client.get("/board")):
            answer = ask()
            assert answer.status_code == 503  # static/taps.js takes it for no answer, and sends the tap again
            assert "The club&#39;s database doesn&#39;t answer just now." in answer.text
        fragment = marshal.client.get("/desk", headers={"HX-Request": "true"})
        assert (fragment.status_code, "<html" in fragment.text) == (503, False)
    for _ in range(2):
        assert marshal.client.post(path, data=tap, follow_redirects=False).status_code == 303
    with store.read() as session:
        assert len(session.exec(select(t.Loan).where(col(t.Loan.in_at).is_(None))).all()) == 1
    assert journal_kinds(store) == ["handed_out"]
    assert ear.is_woken()  # it hears again
    leave()
