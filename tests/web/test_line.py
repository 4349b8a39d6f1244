"""The waiting line at the desk."""

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import Clock, World


def standing(store: Store) -> list[int]:
    with store.read() as session:
        rows = session.exec(select(t.LineEntry).order_by(t.LineEntry.joined_at, t.LineEntry.id)).all()
        return [row.pilot_id for row in rows if row.left_at is None and row.voided_at is None]


def test_into_the_line_and_out_of_it_again(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk")
    press_twice(marshal, "Into the line : Ana")
    assert standing(store) == [world.pilots["Ana"]]
    assert journal_kinds(store).count("line_joined") == 1
    marshal.open("/desk")
    press_twice(marshal, "Leaves : Ana")
    assert standing(store) == []
    assert journal_kinds(store).count("line_left") == 1


def test_not_ready_is_passed_once_and_keeps_the_place(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    for name in ("Ana", "Bo"):
        post(marshal, f"/desk/line/{world.pilots[name]}/join")
        clock.forward(minutes=1)
    marshal.open("/desk")
    press_twice(marshal, "Not ready : Ana")
    marshal.open("/desk")
    assert "Bo has waited" in marshal.text
    assert "not ready" in marshal.text
    assert standing(store) == [world.pilots["Ana"], world.pilots["Bo"]]
    press_twice(marshal, "Ready : Ana")
    marshal.open("/desk")
    assert "Ana has waited" in marshal.text
    assert [kind for kind in journal_kinds(store) if kind.startswith("line_")] == [
        "line_joined",
        "line_joined",
        "line_not_ready",
        "line_ready_again",
    ]


@pytest.mark.parametrize(
    ("state", "sentence"),
    [
        pytest.param("holds", "Ana holds R1 since 14:00", id="holds a token"),
        pytest.param("gone", "Ana isn't checked in", id="not here"),
        pytest.param("retired", "Ana is retired from the club's list", id="retired"),
        pytest.param("stands", "Ana", id="stands in it already"),
    ],
)
def test_who_cant_join_is_told_why_on_the_desk(
    state: str, sentence: str, marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    if state == "holds":
        post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    elif state == "stands":
        post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    with store.write() as session:
        row = session.exec(select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Ana"])).one()
        if state == "gone":
            row.left_at = clock()
        elif state == "retired":
            session.get_one(t.Pilot, world.pilots["Ana"]).retired_at = clock()
        session.commit()
    before = standing(store)
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    assert marshal.page.find(id="desk") is not None
    assert sentence in marshal.text
    assert standing(store) == before
