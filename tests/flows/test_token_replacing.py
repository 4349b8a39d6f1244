"""A new tag for a lost token: a new code, its place in the meets, and the old code withdrawn everywhere."""

from datetime import date

import pytest
from sqlmodel import select

from meetapp.flows import journal
from meetapp.flows.club.token_replacing import replace_token
from meetapp.flows.deeds import Answer
from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.flows.files import meet_file, meet_import
from meetapp.flows.pilot import token_address
from meetapp.store import tables as t
from tests.acting import as_pilot, deed
from tests.desk import ORGANISER, Desk
from tests.world import NOON


def replaced(desk: Desk, label: str, key: str | None = None) -> Answer:
    return replace_token(desk.store, deed(ORGANISER, desk.clock(), key), desk.world.tokens[label])


def made_by(desk: Desk, answer: Answer) -> t.Token:
    token: t.Token = desk.row(t.Token, answer.made_id or 0)
    return token


def meets_of(desk: Desk, token_id: int) -> set[int]:
    with desk.store.read() as session:
        return set(session.exec(select(t.MeetToken.meet_id).where(t.MeetToken.token_id == token_id)))


def test_a_missing_token_gets_a_new_tag_and_its_code_is_withdrawn(any_desk: Desk) -> None:
    any_desk.missing("R1")
    answer = replaced(any_desk, "R1", key="once and again")
    assert replaced(any_desk, "R1", key="once and again") == answer
    new, old = made_by(any_desk, answer), any_desk.row(t.Token, any_desk.world.tokens["R1"])
    assert (new.label, new.nominal_mhz, new.state) == ("R1", 5658, "usable")
    assert new.code != old.code == "T1"
    assert old.state == "withdrawn"
    assert answer.location == f"/organiser/tokens/{new.id}"
    assert f"a new tag with the code {new.code}; the old code T1 is withdrawn" in answer.notice
    now = any_desk.clock()
    assert token_address.desk_tag(any_desk.store, "T1", now).tag.state == "withdrawn"
    assert token_address.pilot_tag(any_desk.store, "T1", any_desk.world.pilots["Ana"], now).tag.state == "withdrawn"
    assert token_address.desk_tag(any_desk.store, new.code, now).tag.state == "in"
    assert any_desk.kinds()[-1] == "token_replaced"


def test_the_new_token_is_handed_out_at_the_meet_under_way(desk: Desk) -> None:
    new = made_by(desk, replaced(desk, "R1"))
    desk.world.tokens["R1"] = new.id
    desk.hand_out("Ana", "R1")
    assert desk.on_air() == {"Ana": ("R1", 5658)}
    sentence = f"R1 gets a new tag with the code {new.code}; the old code T1 is withdrawn"
    assert sentence in [line.sentence for line in journal.lines(desk.store, desk.world.meet)]


def test_it_takes_the_place_in_planned_meets_and_leaves_closed_ones_alone(desk: Desk) -> None:
    old = desk.world.tokens["R1"]
    with desk.store.write() as session:
        for meet_id, state in ((11, "planned"), (12, "closed")):
            site, day = desk.world.site, date(2026, 7, 1)
            session.add(t.Meet(id=meet_id, name=state, on_date=day, site_id=site, state=state, fly_at_once=4))
            session.flush()
            session.add(t.MeetToken(meet_id=meet_id, token_id=old))
        session.commit()
    new = made_by(desk, replaced(desk, "R1"))
    # The meet under way keeps the old one in its record.
    assert meets_of(desk, old) == {desk.world.meet, 12}
    assert meets_of(desk, new.id) == {desk.world.meet, 11}


def test_seats_of_heats_to_come_go_to_the_new_token(desk: Desk) -> None:
    old = desk.world.tokens["R1"]
    with desk.store.write() as session:
        plan = t.HeatPlan(
            meet_id=desk.world.meet, size=2, rounds=1, spacing_floor_mhz=37, heats_per_round=2, heats_bound=2,
            heats_proven=True, channel_changes=0, changes_bound=0, changes_proven=True, made_at=NOON,
        )  # fmt: skip
        session.add(plan)
        session.flush()
        for number, state in enumerate(("flown", "planned"), start=1):
            heat = t.Heat(
                meet_id=desk.world.meet, plan_id=plan.id, round=1, number=number, position=number, state=state
            )
            session.add(heat)
            session.flush()
            pilot, own = desk.world.pilots["Ana"], desk.world.transmitters["Ana"]
            seat = t.HeatSeat(
                heat_id=heat.id, pilot_id=pilot, transmitter_id=own, token_id=old, label="R1", mhz=5658, width_mhz=20,
                pad=1,
            )  # fmt: skip
            session.add(seat)
        session.commit()
    new = made_by(desk, replaced(desk, "R1"))
    assert [row.token_id for row in desk.rows(t.HeatSeat)] == [old, new.id]


def test_a_token_that_is_out_or_withdrawn_is_refused(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    with pytest.raises(Refused, match=r"R1 is out with Ana since 14:00"):
        replaced(desk, "R1")
    desk.withdraw("F1")
    with pytest.raises(Refused, match=r"F1 is withdrawn already"):
        replaced(desk, "F1")
    assert len(desk.rows(t.Token)) == 4


def test_a_token_that_is_not_there_and_somebody_else(desk: Desk) -> None:
    with pytest.raises(NotFound):
        replace_token(desk.store, deed(ORGANISER), 4711)
    with pytest.raises(Forbidden):
        replace_token(desk.store, deed(as_pilot(desk.world.pilots["Ana"])), desk.world.tokens["R1"])


def test_the_meet_file_tells_it_again(desk: Desk) -> None:
    new = made_by(desk, replaced(desk, "R1"))
    desk.set_meet(state="closed", closed_at=desk.clock())
    file = meet_file.export_meet(desk.store, desk.world.meet, desk.clock(), with_names=True)
    answer = meet_import.import_meet(desk.store, deed(ORGANISER), meet_file.meet_file_text(file))
    meet_id = int(answer.location.split("?")[0].split("/")[3])
    assert any(new.code in line.sentence for line in journal.lines(desk.store, meet_id))
