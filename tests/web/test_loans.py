"""One loan at the desk: take back, hand over, change, seen, by turns."""

import pytest
from sqlmodel import Session, col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, loans_of, post, press_twice
from tests.world import Clock, World


def lend(marshal: Surfer, world: World, name: str, label: str) -> str:
    """Hand a token out and stay on the loan's page; its address."""
    post(marshal, f"/desk/pilots/{world.pilots[name]}/hand-out", token_id=world.tokens[label])
    assert marshal.path.startswith("/desk/loans/"), marshal.text
    return marshal.path


def setting_now(session: Session, loan_id: int) -> t.LoanSetting:
    return session.exec(
        select(t.LoanSetting).where(t.LoanSetting.loan_id == loan_id, col(t.LoanSetting.until_at).is_(None))
    ).one()


def test_taking_back_ends_the_loan_once(marshal: Surfer, world: World, store: Store, clock: Clock) -> None:
    lend(marshal, world, "Ana", "R1")
    clock.forward(minutes=10)
    marshal.open("/desk")
    press_twice(marshal, "Take back : R1 from Ana")
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
    assert loan.in_at == clock()
    assert journal_kinds(store).count("taken_back") == 1


def test_taking_back_what_is_back_already_is_told_on_the_desk(marshal: Surfer, world: World, store: Store) -> None:
    address = lend(marshal, world, "Ana", "R1")
    post(marshal, f"{address}/take-back")
    before = journal_kinds(store)
    post(marshal, f"{address}/take-back")
    assert "R1" in marshal.text
    assert journal_kinds(store) == before


def test_the_page_of_a_loan_that_is_over_says_so(marshal: Surfer, world: World, clock: Clock) -> None:
    address = lend(marshal, world, "Ana", "R1")
    clock.forward(minutes=9)
    post(marshal, f"{address}/take-back")
    marshal.open(address)
    assert "R1, over" in marshal.text
    assert "Set this on the transmitter" not in marshal.text
    assert "14:09" in marshal.text


def test_a_loan_that_was_undone_says_that_it_never_counted(marshal: Surfer, world: World) -> None:
    address = lend(marshal, world, "Ana", "R1")
    marshal.press("Undo")
    marshal.open(address)
    assert marshal.status == 200
    assert "undone: it never counted" in marshal.text


def test_handing_over_gives_the_token_straight_to_the_next_in_line(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    address = lend(marshal, world, "Ana", "R1")
    clock.forward(minutes=20)
    for name in ("Bo", "Cy"):
        post(marshal, f"/desk/line/{world.pilots[name]}/join")
    marshal.open("/desk")
    marshal.follow("Hand over : R1 from Ana")
    assert marshal.path == f"{address}/hand-over"
    assert "Ana powers down first." in marshal.text
    clock.forward(minutes=1)
    first, second = press_twice(marshal, "Hand R1 over to Bo")
    assert first == second
    with store.read() as session:
        [before] = loans_of(session, world.pilots["Ana"])
        [after] = loans_of(session, world.pilots["Bo"])
    assert (before.in_at, after.out_at, after.token_id) == (clock(), clock(), world.tokens["R1"])
    assert journal_kinds(store).count("handed_over") == 1


def test_handing_over_can_pass_the_first_in_line(marshal: Surfer, world: World, store: Store) -> None:
    address = lend(marshal, world, "Ana", "R1")
    for name in ("Bo", "Cy"):
        post(marshal, f"/desk/line/{world.pilots[name]}/join")
    marshal.open(f"{address}/hand-over")
    marshal.press("Hand over : to Cy")
    with store.read() as session:
        assert len(loans_of(session, world.pilots["Cy"])) == 1


def test_with_nobody_in_line_there_is_nobody_to_hand_over_to(marshal: Surfer, world: World) -> None:
    address = lend(marshal, world, "Ana", "R1")
    marshal.open(f"{address}/hand-over")
    assert "Nobody in the line can take R1 over now." in marshal.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({}, "Fill in: who takes it over.", id="nobody"),
        pytest.param({"to_pilot_id": "Bo"}, "Who takes it over must be a whole number.", id="a name"),
        pytest.param({"to_pilot_id": "own"}, "Ana", id="to the holder"),
    ],
)
def test_a_hand_over_that_needs_correcting_changes_nothing(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    address = lend(marshal, world, "Ana", "R1")
    if typed.get("to_pilot_id") == "own":
        typed = {"to_pilot_id": str(world.pilots["Ana"])}
    post(marshal, f"{address}/hand-over", **typed)
    assert marshal.status == 422
    assert sentence in marshal.text
    with store.read() as session:
        assert [loan.in_at for loan in loans_of(session, world.pilots["Ana"])] == [None]


def test_the_setting_changes_within_the_pull_and_the_old_one_is_kept(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    with store.write() as session:
        own = t.PilotTransmitter(
            pilot_id=world.pilots["Ana"], kind_id=world.kinds["analogue tunable"], nickname="Long range"
        )
        session.add(own)
        session.commit()
        own_id = own.id
    address = lend(marshal, world, "Ana", "R1")
    clock.forward(minutes=5)
    marshal.follow("Change transmitter, channel or power")
    press_twice(marshal, "Set it", choice=f"{own_id}:5659", power_mw="200")
    assert "5659" in marshal.text
    assert "Set before" in marshal.text
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
        setting = setting_now(session, loan.id)
    assert (setting.transmitter_id, setting.mhz, setting.power_mw) == (own_id, 5659, 200)
    assert journal_kinds(store).count("setting_changed") == 1
    assert address == f"/desk/loans/{loan.id}"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"choice": "5658"}, "has characters that don't belong there", id="no pair"),
        pytest.param({"choice": "1:56580000"}, "has characters that don't belong there", id="MHz too long"),
        pytest.param({"choice": "2:5658"}, "isn't one of Ana's", id="somebody else's transmitter"),
        pytest.param({"choice": "1:5740"}, "too far from R1", id="outside the pull"),
        pytest.param({"choice": "1:5658", "power_mw": "much"}, "The power must be a number.", id="power in words"),
        pytest.param({"choice": "1:5658", "power_mw": "7"}, "has no step of 7 mW", id="no such step"),
    ],
)
def test_a_change_that_needs_correcting_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    address = lend(marshal, world, "Ana", "R1")
    marshal.open(f"{address}/change")
    marshal.press("Set it", override_reason="my own words", **typed)
    assert marshal.status == 422
    assert sentence in marshal.text
    assert field_value(marshal, "override_reason") == "my own words"
    with store.read() as session:
        assert len(session.exec(select(t.LoanSetting)).all()) == 1


def test_seen_on_own_goggles_is_a_tick_that_can_be_taken_back(marshal: Surfer, world: World, store: Store) -> None:
    address = lend(marshal, world, "Ana", "R1")
    press_twice(marshal, "Picture seen on own goggles")
    assert marshal.path == address
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"])[0].seen_at is not None
    marshal.open("/desk")
    assert "picture seen" in marshal.text
    marshal.open(address)
    marshal.press("Not seen after all")
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"])[0].seen_at is None


def test_two_pilots_use_a_token_by_turns(marshal: Surfer, world: World, store: Store, clock: Clock) -> None:
    lend(marshal, world, "Ana", "R1")
    post(marshal, f"/desk/line/{world.pilots['Bo']}/join")
    marshal.open("/desk")
    marshal.follow("Ana")
    marshal.follow("By turns with somebody")
    press_twice(marshal, "By turns : Ana and Bo")
    marshal.open("/desk")
    assert "by turns with Bo" in marshal.text
    assert "by turns on R1" in marshal.text
    assert "Nobody waits." in marshal.text
    clock.forward(minutes=6)
    marshal.press("Bo’s turn")
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"])[0].in_at == clock()
        [mine] = loans_of(session, world.pilots["Bo"])
    assert mine.in_at is None
    marshal.open(f"/desk/loans/{mine.id}")
    marshal.press("End the turns")
    marshal.open("/desk")
    assert "by turns with" not in marshal.text
    assert journal_kinds(store).count("sharing_started") == 1


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({}, "Fill in: the other pilot.", id="nobody"),
        pytest.param({"partner_id": "1.5"}, "The other pilot must be a whole number.", id="no number"),
        pytest.param({"partner_id": "flying"}, "Bo holds F5 since 14:00", id="somebody who flies"),
    ],
)
def test_turns_that_need_correcting_change_nothing(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    lend(marshal, world, "Bo", "F5")
    address = lend(marshal, world, "Ana", "R1")
    if typed.get("partner_id") == "flying":
        typed = {"partner_id": str(world.pilots["Bo"])}
    post(marshal, f"{address}/share", **typed)
    assert marshal.status == 422
    assert sentence in marshal.text
    with store.read() as session:
        assert session.exec(select(t.Sharing)).all() == []


def test_a_missing_token_says_on_the_loan_that_it_never_came_back(marshal: Surfer, world: World, store: Store) -> None:
    address = lend(marshal, world, "Ana", "R1")
    marshal.press("R1 is missing")
    assert "Ana had it last" in marshal.text or "Ana" in marshal.text
    marshal.open(address)
    assert "ended: its token is missing" in marshal.text


def test_a_loan_of_another_meet_is_not_on_this_desk(marshal: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        meet = session.get_one(t.Meet, world.meet)
        other = t.Meet(name="May meet", on_date=meet.on_date, site_id=meet.site_id, state="closed", fly_at_once=4)
        session.add(other)
        session.flush()
        loan = t.Loan(
            meet_id=other.id,
            token_id=world.tokens["R1"],
            pilot_id=world.pilots["Ana"],
            out_at=meet.opened_at,
            in_at=meet.opened_at,
            entered_at=meet.opened_at,
        )
        session.add(loan)
        session.commit()
        loan_id = loan.id
    marshal.open(f"/desk/loans/{loan_id}")
    assert marshal.status == 404
