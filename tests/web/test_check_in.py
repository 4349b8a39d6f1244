"""Checking in: known pilots with today's transmitter, new ones in one form, and going home."""

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, post, press_twice
from tests.world import Clock, World, add_pilot


@pytest.fixture
def club(world: World, store: Store) -> World:
    """Beside the six who are here: Kim, expected, with two transmitters; Lou, not expected; Max, without any."""
    with store.write() as session:
        for name in ("Kim", "Lou", "Max"):
            add_pilot(session, world, name)
        second = t.PilotTransmitter(
            pilot_id=world.pilots["Kim"], kind_id=world.kinds["analogue R"], nickname="Race quad"
        )
        session.add(second)
        session.get_one(t.PilotTransmitter, world.transmitters["Max"]).retired_at = world_time(session, world)
        session.add(
            t.Attendance(
                meet_id=world.meet,
                pilot_id=world.pilots["Kim"],
                transmitter_id=world.transmitters["Kim"],
                is_expected=True,
            )
        )
        session.flush()
        world.transmitters["Kim's second"] = second.id
        session.commit()
    return world


def world_time(session: object, world: World) -> object:
    return session.get_one(t.Meet, world.meet).opened_at  # type: ignore[attr-defined]


def attendance(store: Store, pilot_id: int) -> t.Attendance | None:
    with store.read() as session:
        return session.exec(select(t.Attendance).where(t.Attendance.pilot_id == pilot_id)).one_or_none()


def test_the_expected_stand_first_and_check_in_with_their_chosen_transmitter(
    marshal: Surfer, club: World, store: Store
) -> None:
    marshal.open("/desk/check-in")
    assert marshal.text.index("Expected 1") < marshal.text.index("Others of the club 2") < marshal.text.index("Here 6")
    press_twice(marshal, "Check in : Kim", transmitter_id=club.transmitters["Kim's second"])
    assert "Kim is here with 'Race quad (analogue R)'." in marshal.text
    row = attendance(store, club.pilots["Kim"])
    assert row is not None
    assert (row.transmitter_id, row.checked_in_at is not None) == (club.transmitters["Kim's second"], True)
    assert journal_kinds(store).count("checked_in") == 1


def test_somebody_nobody_expected_checks_in_with_one_tap(marshal: Surfer, club: World, store: Store) -> None:
    marshal.open("/desk/check-in")
    marshal.press("Check in : Lou")
    row = attendance(store, club.pilots["Lou"])
    assert row is not None
    assert row.transmitter_id == club.transmitters["Lou"]
    marshal.open("/desk")
    assert "Hand out : to Lou" in marshal.text


def test_somebody_without_a_transmitter_tells_its_kind_first(marshal: Surfer, club: World, store: Store) -> None:
    marshal.open("/desk/check-in")
    marshal.follow("Check in : Max")
    marshal.press("Check in", kind_id=club.kinds["digital wide"], wake="5695")
    assert "Max is here with 'digital wide'." in marshal.text
    with store.read() as session:
        own = session.exec(
            select(t.PilotTransmitter).where(
                t.PilotTransmitter.pilot_id == club.pilots["Max"], t.PilotTransmitter.retired_at.is_(None)
            )
        ).one()
    assert (own.kind_id, own.wake_mhz) == (club.kinds["digital wide"], 5695)


def test_a_name_narrows_the_list_down(marshal: Surfer, club: World) -> None:
    marshal.open("/desk/check-in?search=ki")
    assert "Check in : Kim" in marshal.text
    assert "Lou" not in marshal.text
    marshal.open("/desk/check-in?search=nobody of that name")
    assert "Nobody called 'nobody of that name' is left to check in." in marshal.text
    marshal.follow("New pilot")
    marshal.open("/desk/check-in/new?name=Nia")
    assert field_value(marshal, "name") == "Nia"


def test_today_somebody_flies_another_transmitter(marshal: Surfer, club: World, store: Store) -> None:
    marshal.open("/desk/check-in")
    marshal.press("Check in : Kim")
    marshal.open(f"/desk/check-in/{club.pilots['Kim']}")
    marshal.press("Fly this one today", transmitter_id=club.transmitters["Kim's second"])
    row = attendance(store, club.pilots["Kim"])
    assert row is not None
    assert row.transmitter_id == club.transmitters["Kim's second"]
    assert "transmitter_today" in journal_kinds(store)


def test_during_a_loan_the_transmitter_is_changed_on_the_loan(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    marshal.open(f"/desk/check-in/{world.pilots['Ana']}")
    assert "Ana has R1." in marshal.text
    post(marshal, "/desk/check-in", pilot_id=world.pilots["Ana"], transmitter_id=world.transmitters["Ana"])
    assert marshal.status == 422
    assert "Ana holds R1 since 14:00." in marshal.text


@pytest.mark.parametrize(
    ("typed", "status", "sentence"),
    [
        pytest.param({"pilot_id": ""}, 422, "The pilot must be a whole number.", id="nobody"),
        pytest.param({"pilot_id": "4711"}, 404, "isn't in the club's list", id="somebody unknown"),
        pytest.param({"transmitter_id": "1"}, 422, "Choose another one.", id="somebody else's transmitter"),
        pytest.param({"transmitter_id": "mine"}, 422, "must be a whole number", id="a transmitter in words"),
        pytest.param({"kind_id": "4711"}, 422, "isn't there any more", id="a kind that isn't there"),
        pytest.param({"kind_id": "2", "wake": "F1"}, 422, "can't", id="a wake channel it can't make"),
        pytest.param({"kind_id": "1", "wake": "R99"}, 422, "there is R1 to R8", id="a wake channel that isn't one"),
        pytest.param({"kind_id": "1", "wake": "x" * 21}, 422, "20 characters at most", id="a wake channel too long"),
    ],
)
def test_a_check_in_that_needs_correcting_changes_nothing(
    typed: dict[str, str], status: int, sentence: str, marshal: Surfer, club: World, store: Store
) -> None:
    before = journal_kinds(store)
    post(marshal, "/desk/check-in", **({"pilot_id": str(club.pilots["Lou"])} | typed))
    assert marshal.status == status
    assert sentence in marshal.text
    if "wake" in typed:
        assert field_value(marshal, "wake") == typed["wake"]
    assert journal_kinds(store) == before
    assert attendance(store, club.pilots["Lou"]) is None


def test_a_retired_pilot_is_not_checked_in(marshal: Surfer, club: World, store: Store, clock: Clock) -> None:
    with store.write() as session:
        session.get_one(t.Pilot, club.pilots["Lou"]).retired_at = clock()
        session.commit()
    marshal.open("/desk/check-in")
    assert "Lou" not in marshal.text
    post(marshal, "/desk/check-in", pilot_id=club.pilots["Lou"], transmitter_id=club.transmitters["Lou"])
    assert "Lou is retired from the club's list." in marshal.text
    assert attendance(store, club.pilots["Lou"]) is None


def test_a_new_pilot_takes_one_form_and_can_be_handed_a_token_at_once(
    marshal: Surfer, world: World, store: Store
) -> None:
    marshal.open("/desk/check-in")
    marshal.follow("New pilot")
    first, second = press_twice(marshal, "Check in", name="Nia", kind_id=world.kinds["analogue 40"])
    assert first == second
    assert "Nia is new and here with 'analogue 40'." in marshal.text
    with store.read() as session:
        assert len(session.exec(select(t.Pilot).where(t.Pilot.name == "Nia")).all()) == 1
    marshal.open("/desk")
    marshal.follow("Hand out : to Nia")
    marshal.press("to Nia")
    assert marshal.path.startswith("/desk/loans/")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"name": ""}, "Fill in: the name.", id="no name"),
        pytest.param({"name": "x" * 81}, "The name is too long: 80 characters at most.", id="name too long"),
        pytest.param({"name": "  ANA "}, "'Ana' is in the club's list already.", id="known name"),
        pytest.param({"name": "Nia the Magnificent of the Meadow"}, "too long for the board", id="long for the board"),
        pytest.param({"board_name": "bo"}, "The board name 'Bo' is Bo's.", id="board name of another"),
        pytest.param({"kind_id": ""}, "The kind of transmitter must be a whole number.", id="no kind"),
        pytest.param({"kind_id": "4711"}, "This kind of transmitter isn't there any more.", id="unknown kind"),
        pytest.param({"wake": "R1 R2"}, "one channel", id="two wake channels"),
    ],
)
def test_a_new_pilot_that_needs_correcting_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    fields = {"name": "Nia", "kind_id": "1", "board_name": "", "wake": ""} | typed
    marshal.open("/desk/check-in/new")
    marshal.press("Check in", **fields)
    assert marshal.status == 422
    assert sentence in marshal.text
    for name in ("name", "board_name", "wake"):
        assert field_value(marshal, name) == fields[name]
    with store.read() as session:
        assert len(session.exec(select(t.Pilot)).all()) == 6


def test_without_a_kind_of_transmitter_a_new_pilot_is_told_who_adds_one(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    with store.write() as session:
        for kind in session.exec(select(t.TransmitterKind)):
            kind.retired_at = clock()
        session.commit()
    marshal.open("/desk/check-in/new")
    assert "The organiser adds one" in marshal.text


def test_going_home_leaves_the_line_and_comes_back_again(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    marshal.open("/desk/check-in")
    press_twice(marshal, "Goes home : Ana")
    row = attendance(store, world.pilots["Ana"])
    assert row is not None
    assert row.left_at is not None
    marshal.open("/desk")
    assert "Ana" not in marshal.text.replace("Ana went home", "")
    marshal.open("/desk/check-in")
    marshal.press("Back again : Ana")
    row = attendance(store, world.pilots["Ana"])
    assert row is not None
    assert row.left_at is None
    assert journal_kinds(store) == ["line_joined", "went_home", "checked_in"]


def test_nobody_goes_home_with_a_token(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    marshal.open("/desk/check-in")
    assert "Goes home : Ana" not in marshal.text
    post(marshal, f"/desk/check-in/{world.pilots['Ana']}/home")
    assert "Ana holds R1 since 14:00." in marshal.text
    assert "Take it back first." in marshal.text
    row = attendance(store, world.pilots["Ana"])
    assert row is not None
    assert row.left_at is None


def test_whoever_goes_home_waits_for_no_turn(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    post(marshal, f"{marshal.path}/share", partner_id=world.pilots["Bo"])
    post(marshal, f"/desk/check-in/{world.pilots['Bo']}/home")
    with store.read() as session:
        assert session.exec(select(t.Sharing)).one().ended_at is not None


def test_checking_in_by_mistake_is_undone(marshal: Surfer, club: World, store: Store) -> None:
    marshal.open("/desk/check-in")
    marshal.press("Check in : Kim")
    marshal.press("Undo")
    row = attendance(store, club.pilots["Kim"])
    assert row is not None
    assert (row.checked_in_at, row.is_expected) == (None, True)
    marshal.open("/desk/check-in")
    assert "Expected 1" in marshal.text


def test_checking_in_somebody_nobody_expected_is_undone_unless_something_rests_on_it(
    marshal: Surfer, club: World, store: Store
) -> None:
    marshal.open("/desk/check-in")
    marshal.press("Check in : Lou")
    marshal.press("Undo")
    assert "Undone." in marshal.text
    row = attendance(store, club.pilots["Lou"])
    assert row is not None
    assert (row.checked_in_at, row.is_expected) == (None, False)
    marshal.open("/desk/check-in")
    marshal.press("Check in : Lou")
    post(marshal, f"/desk/pilots/{club.pilots['Lou']}/hand-out", token_id=club.tokens["R1"])
    with store.read() as session:
        checked_in = select(t.JournalLine.id).where(t.JournalLine.kind == "checked_in")
        line_id = max(session.exec(checked_in))
    post(marshal, f"/undo/{line_id}")
    assert "Only your own last action can be undone" in marshal.text
    row = attendance(store, club.pilots["Lou"])
    assert row is not None
    assert row.checked_in_at is not None


def test_a_new_pilot_who_was_a_mistake_is_undone(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/check-in/new")
    marshal.press("Check in", name="Nia", kind_id=world.kinds["analogue 40"])
    marshal.press("Undo")
    assert "Undone." in marshal.text
    marshal.open("/desk")
    assert "Nia" not in marshal.text
