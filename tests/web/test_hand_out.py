"""Handing out: suggested first with why, one tap; below a floor only with a reason; what the result page says."""

import pytest
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, loans_of, post, press_twice
from tests.world import Clock, World, add_pilot


def open_page(marshal: Surfer, world: World, name: str) -> None:
    marshal.open(f"/desk/pilots/{world.pilots[name]}")


def hand(marshal: Surfer, world: World, name: str, label: str, **more: str) -> None:
    post(marshal, f"/desk/pilots/{world.pilots[name]}/hand-out", token_id=world.tokens[label], **more)


def add_token(store: Store, world: World, label: str, mhz: int) -> int:
    with store.write() as session:
        token = t.Token(code=f"X{mhz}", label=label, nominal_mhz=mhz, state_since=session.get_one(t.Meet, 1).opened_at)
        session.add(token)
        session.flush()
        session.add(t.MeetToken(meet_id=world.meet, token_id=token.id))
        world.tokens[label] = token.id
        session.commit()
        return token.id


def test_a_tap_hands_out_the_suggested_token_and_says_what_to_set(marshal: Surfer, world: World, store: Store) -> None:
    open_page(marshal, world, "Ana")
    assert "Suggested" in marshal.text
    first, second = press_twice(marshal, "to Ana")
    assert first == second
    assert "Ana" in marshal.text
    assert "Set this on the transmitter" in marshal.text
    assert "No power before you hold the token." in marshal.text
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
        setting = session.exec(select(t.LoanSetting).where(t.LoanSetting.loan_id == loan.id)).one()
    assert marshal.path == f"/desk/loans/{loan.id}"
    assert f"{setting.mhz} MHz" in marshal.text.replace("\xa0", " ")
    assert journal_kinds(store).count("handed_out") == 1


def test_the_result_says_what_the_transmitter_wakes_on(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Bo"]).wake_mhz = 5658
        session.commit()
    hand(marshal, world, "Ana", "R1")
    open_page(marshal, world, "Bo")
    assert "wakes on R1, which is on air: wait, or set it at the far point first" in marshal.text
    hand(marshal, world, "Bo", "F5")
    assert "Wakes on R1, which is on air: wait, or set it at the far point first." in marshal.text


def test_the_channel_is_named_as_on_the_pilots_own_transmitter(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        kind = t.TransmitterKind(
            name="only B", tuning="B", width_mhz=20, power_steps_mw="25", setting_hint="Hold the button for 2 s."
        )
        session.add(kind)
        session.flush()
        world.kinds["only B"] = kind.id
        add_pilot(session, world, "Gus", "only B")
        session.add(
            t.Attendance(
                meet_id=world.meet,
                pilot_id=world.pilots["Gus"],
                transmitter_id=world.transmitters["Gus"],
                checked_in_at=session.get_one(t.Meet, world.meet).opened_at,
            )
        )
        session.commit()
    add_token(store, world, "R3", 5732)
    hand(marshal, world, "Gus", "R3")
    big = marshal.page.find(class_="big")
    assert big is not None
    words = " ".join(big.get_text(" ").split())
    assert "B1" in words  # plan B channel 1 is 5733 MHz: published plan, common practice
    assert "5733" in words
    assert "Hold the button for 2 s." in marshal.text


def test_others_that_keep_the_floors_stand_behind_the_suggested_one(marshal: Surfer, world: World) -> None:
    open_page(marshal, world, "Ana")
    assert "Others that keep the floors 3" in marshal.text
    marshal.press("Hand out R8")
    assert "Ana has R8." in marshal.text


@pytest.mark.parametrize("name", ["Bo"])
def test_below_a_floor_needs_a_reason_that_stands_in_the_journal(
    name: str, marshal: Surfer, world: World, store: Store
) -> None:
    add_token(store, world, "F2", 5760)
    hand(marshal, world, "Ana", "F1")
    open_page(marshal, world, name)
    assert "20 MHz from 5740 on air, the floor is 37" in marshal.text
    marshal.press("Hand out F2 all the same")
    assert marshal.status == 422
    assert "Write down why it goes out all the same, in a few words." in marshal.text
    marshal.press("Hand out F2 all the same", override_reason="no")
    assert marshal.status == 422
    assert field_value(marshal, "override_reason") == "no"
    with store.read() as session:
        assert loans_of(session, world.pilots[name]) == []
    marshal.press("Hand out F2 all the same", override_reason="Ana has landed already")
    with store.read() as session:
        [loan] = loans_of(session, world.pilots[name])
    assert loan.override_reason == "Ana has landed already"
    assert "override" in journal_kinds(store)
    assert "Ana has landed already" in marshal.text


def test_a_floor_that_came_up_meanwhile_is_told_with_the_token_below_it(
    marshal: Surfer, organiser: Surfer, world: World, store: Store
) -> None:
    add_token(store, world, "F2", 5760)
    open_page(marshal, world, "Bo")
    post(organiser, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["F1"])
    marshal.press("Hand out F2")
    assert marshal.status == 422
    assert "F2 for Bo: 20 MHz from 5740 on air, the floor is 37." in marshal.text
    assert "Hand out F2 all the same" in marshal.text


def test_tokens_that_cant_be_used_say_why(marshal: Surfer, world: World, store: Store, clock: Clock) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Cy"]).kind_id = world.kinds["analogue R"]
        session.commit()
    hand(marshal, world, "Ana", "R8")
    post(marshal, f"/desk/tokens/{world.tokens['R1']}/missing")
    open_page(marshal, world, "Cy")
    assert "is out with Ana since 14:00" in marshal.text
    assert "missing" in marshal.text
    assert "analogue R can't make it" in marshal.text


def test_channel_and_power_can_be_chosen(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Ana"]).kind_id = world.kinds["analogue tunable"]
        session.commit()
    open_page(marshal, world, "Ana")
    token = world.tokens["F5"]
    marshal.press("Hand out as chosen", choice=f"{token}:5821", power_mw="200")
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
        setting = session.exec(select(t.LoanSetting).where(t.LoanSetting.loan_id == loan.id)).one()
    assert (setting.mhz, setting.power_mw, loan.token_id) == (5821, 200, token)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({}, "Choose a token.", id="no token"),
        pytest.param({"token_id": "R1"}, "The token must be a whole number.", id="a label instead of a token"),
        pytest.param({"token_id": "0"}, "The token must be at least 1.", id="no such number"),
        pytest.param({"choice": "1:abc"}, "has characters that don't belong there", id="a channel in letters"),
        pytest.param({"choice": "1:5600"}, "too far from R1", id="outside the pull"),
        pytest.param({"choice": "1:5659"}, "can't set 5659 MHz", id="a frequency it can't make"),
        pytest.param({"token_id": "1", "power_mw": "26"}, "has no step of 26 mW", id="no such power step"),
        pytest.param({"token_id": "1", "power_mw": "600"}, "above the ceiling of this meet", id="above the ceiling"),
        pytest.param({"token_id": "1", "override_reason": "x" * 201}, "200 characters at most", id="a long reason"),
    ],
)
def test_a_hand_out_that_needs_correcting_changes_nothing(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    with store.write() as session:
        session.get_one(t.Meet, world.meet).power_ceiling_mw = 200
        session.commit()
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", **typed)
    assert marshal.status == 422
    assert sentence in marshal.text
    assert "Suggested" in marshal.text
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"]) == []


@pytest.mark.parametrize(
    ("state", "sentence"),
    [
        pytest.param("holds", "Ana holds R1 since 14:00", id="holds one already"),
        pytest.param("retired", "Ana is retired from the club's list", id="retired"),
        pytest.param("gone", "Ana isn't checked in", id="not here"),
        pytest.param("no kit", "which transmitter Ana flies today", id="no transmitter told"),
    ],
)
def test_what_stands_in_the_way_of_a_pilot_is_said(
    state: str, sentence: str, marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    if state == "holds":
        hand(marshal, world, "Ana", "R1")
    with store.write() as session:
        mine = select(t.Attendance).where(t.Attendance.pilot_id == world.pilots["Ana"])
        row = session.exec(mine).one()
        if state == "retired":
            session.get_one(t.Pilot, world.pilots["Ana"]).retired_at = clock()
        elif state == "gone":
            row.left_at = clock()
        elif state == "no kit":
            row.transmitter_id = None
        session.commit()
    open_page(marshal, world, "Ana")
    assert marshal.status == 200
    assert sentence in marshal.text
    hand(marshal, world, "Ana", "F5")
    assert marshal.status == 422
    assert sentence in marshal.text
    with store.read() as session:
        out = select(t.Loan).where(t.Loan.token_id == world.tokens["F5"], col(t.Loan.voided_at).is_(None))
        assert session.exec(out).all() == []


def test_a_token_that_is_out_already_says_with_whom_and_since_when(marshal: Surfer, world: World, clock: Clock) -> None:
    hand(marshal, world, "Ana", "R1")
    clock.forward(minutes=7)
    hand(marshal, world, "Bo", "R1")
    assert marshal.status == 422
    assert "R1 is out with Ana since 14:00." in marshal.text


def test_undo_after_a_hand_out_tells_what_to_fetch_back(marshal: Surfer, world: World, store: Store) -> None:
    open_page(marshal, world, "Ana")
    marshal.press("Hand out R8")
    marshal.press("Undo")
    assert "Fetch tag R8 back from Ana" in marshal.text
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"]) == []


def test_a_held_back_token_waits_for_the_head_of_the_line(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    with store.write() as session:
        session.get_one(t.PilotTransmitter, world.transmitters["Ana"]).kind_id = world.kinds["analogue R"]
        session.commit()
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    clock.forward(minutes=25)
    open_page(marshal, world, "Bo")
    assert "Held back" in marshal.text
    assert "held back for Ana, who has waited 25 min" in marshal.text
    marshal.open("/desk")
    assert "held back for Ana, who has waited 25 min" in marshal.text
