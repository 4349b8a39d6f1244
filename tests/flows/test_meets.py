"""Meets before they run: details, floors with a reason, who is expected, PIN and desk link, opening."""

from datetime import date, timedelta

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import select

from meetapp.flows import access
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.planning import chosen_set, expected, meets, opening
from meetapp.flows.planning.meets import MeetDraft
from meetapp.spectrum.floors import Floors
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.desk import ORGANISER
from tests.world import NOON, World, add_pilot, make_world


def draft(world: World, **changed: object) -> MeetDraft:
    told: dict[str, object] = {
        "name": "July meet",
        "on_date": date(2026, 7, 12),
        "site_id": world.site,
        "fly_at_once": 4,
        "pull_mhz": 2,
        "head_limit_min": 20,
        "power_ceiling_mw": 25.0,
        "signals": "both",
        "is_self_service": False,
    }
    return MeetDraft(**(told | changed))  # type: ignore[arg-type]


def plan_one(store: Store, world: World, **changed: object) -> int:
    made = meets.add_meet(store, deed(ORGANISER), draft(world, **changed)).made_id
    assert made is not None
    return made


def meet_row(store: Store, meet_id: int) -> t.Meet:
    with store.read() as session:
        return session.get_one(t.Meet, meet_id)


def close(store: Store, meet_id: int) -> None:
    with store.write() as session:
        session.get_one(t.Meet, meet_id).state = "closed"
        session.commit()


def test_a_new_meet_is_planned_without_floors(store: Store, world: World) -> None:
    meet_id = plan_one(store, world, name=" July \n meet ", spacing_floor_mhz=50.0, lower_floors_reason="none yet")
    row = meet_row(store, meet_id)
    assert (row.name, row.state) == ("July meet", "planned")
    assert (row.spacing_floor_mhz, row.clearance_floor_mhz, row.lower_floors_reason) == (None, None, "")
    assert journal_kinds(store) == ["meet_added"]


def test_the_list_has_the_open_meet_first_then_the_latest_day(store: Store, world: World) -> None:
    for name, day in (("Old", date(2025, 1, 1)), ("New", date(2027, 1, 1))):
        plan_one(store, world, name=name, on_date=day)
    rows = meets.meets_list(store)
    assert [row.name for row in rows] == ["June meet", "New", "Old"]
    assert [(row.coming, row.tokens) for row in rows] == [(6, 4), (0, 0), (0, 0)]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        pytest.param({"name": " \n "}, "name", id="no name"),
        pytest.param({"site_id": 999}, "site_id", id="no such site"),
    ],
)
def test_a_meet_that_can_not_be_is_refused(store: Store, world: World, changed: dict[str, object], field: str) -> None:
    with pytest.raises(Refused) as refused:
        meets.add_meet(store, deed(ORGANISER), draft(world, **changed))
    assert refused.value.field == field
    assert len(meets.meets_list(store)) == 1
    assert journal_kinds(store) == []


def test_a_retired_site_is_offered_only_to_its_own_meets(store: Store, world: World) -> None:
    with store.write() as session:
        session.get_one(t.Site, world.site).retired_at = NOON
        session.commit()
    assert meets.meet_form(store, None, NOON).sites == ()
    assert meets.meet_form(store, world.meet, NOON).sites == ((world.site, "Lower Meadow"),)
    with pytest.raises(Refused, match="is retired"):
        meets.add_meet(store, deed(ORGANISER), draft(world))


def test_an_open_meet_stays_at_its_site(store: Store, world: World) -> None:
    with store.write() as session:
        other = t.Site(name="Hill", time_zone="Europe/Berlin", band_profile_id=world.band)
        session.add(other)
        session.commit()
        other_id = other.id
    with pytest.raises(Refused, match="while it is open"):
        meets.change_meet(store, deed(ORGANISER), world.meet, draft(world, site_id=other_id, spacing_floor_mhz=37.0))


class TestFloors:
    """The test meet has four tokens and six pilots whose transmitters make each of them exactly."""

    def test_the_set_reaches_what_the_sums_say(self, store: Store, world: World) -> None:
        # 5658 5740 5820 5917 by hand: 5820 - 5740 = 80; 2 x 5740 - 5658 = 5822, which is 2 from 5820.
        usual = meets.meet_form(store, world.meet, NOON).usual
        assert usual == Floors(80, 2)

    def test_lower_ones_need_a_reason_that_stays(self, store: Store, world: World) -> None:
        low = {"spacing_floor_mhz": 60.0, "clearance_floor_mhz": 2.0}
        with pytest.raises(Refused, match="80 MHz of spacing and 2 MHz of clearance") as refused:
            meets.change_meet(store, deed(ORGANISER), world.meet, draft(world, **low, lower_floors_reason=" no"))
        assert refused.value.field == "lower_floors_reason"
        reason = "two fields, far apart"
        meets.change_meet(store, deed(ORGANISER), world.meet, draft(world, **low, lower_floors_reason=f" {reason}\n"))
        row = meet_row(store, world.meet)
        assert (row.spacing_floor_mhz, row.lower_floors_reason) == (60, reason)
        assert journal_kinds(store) == ["meet_changed"]

    @pytest.mark.parametrize("clearance", [2.0, 5.0, 60.0], ids=["equal", "above", "far above"])
    def test_equal_or_higher_ones_need_none_and_clear_it(self, store: Store, world: World, clearance: float) -> None:
        told = draft(world, spacing_floor_mhz=80.0, clearance_floor_mhz=clearance, lower_floors_reason="an old reason")
        meets.change_meet(store, deed(ORGANISER), world.meet, told)
        assert meet_row(store, world.meet).lower_floors_reason == ""

    def test_no_clearance_floor_is_lower_than_any(self, store: Store, world: World) -> None:
        with pytest.raises(Refused, match="lie below"):
            meets.change_meet(store, deed(ORGANISER), world.meet, draft(world, spacing_floor_mhz=80.0))

    def test_floors_that_stay_are_not_judged_anew(self, store: Store, world: World) -> None:
        same = {"spacing_floor_mhz": 37.0, "clearance_floor_mhz": 0.0}
        meets.change_meet(store, deed(ORGANISER), world.meet, draft(world, name="Renamed", **same))
        assert meet_row(store, world.meet).name == "Renamed"

    def test_an_open_meet_keeps_a_spacing_floor(self, store: Store, world: World) -> None:
        with pytest.raises(Refused) as refused:
            meets.change_meet(store, deed(ORGANISER), world.meet, draft(world))
        assert refused.value.field == "spacing_floor_mhz"


class TestExpected:
    def test_who_is_expected_is_said_with_a_transmitter(self, store: Store, world: World) -> None:
        meet_id = plan_one(store, world)
        ana, bo = world.pilots["Ana"], world.pilots["Bo"]
        answer = expected.set_expected(
            store, deed(ORGANISER), meet_id, {ana: world.transmitters["Ana"], bo: world.transmitters["Bo"]}
        )
        assert answer.notice == "2 pilots are expected at 'July meet'."
        expected.set_expected(store, deed(ORGANISER), meet_id, {bo: world.transmitters["Bo"]})
        page = expected.expected_page(store, meet_id)
        assert [pilot.name for pilot in page.pilots if pilot.is_expected] == ["Bo"]
        assert page.count == 1

    def test_who_is_here_keeps_the_transmitter_told_at_the_desk(self, store: Store, world: World) -> None:
        ana = world.pilots["Ana"]
        with store.write() as session:
            own = t.PilotTransmitter(pilot_id=ana, kind_id=world.kinds["analogue R"])
            session.add(own)
            session.commit()
            other = own.id
        expected.set_expected(store, deed(ORGANISER), world.meet, {ana: other})
        [pilot] = [each for each in expected.expected_page(store, world.meet).pilots if each.pilot_id == ana]
        assert (pilot.transmitter_id, pilot.is_there) == (world.transmitters["Ana"], True)

    @pytest.mark.parametrize(
        ("pilot", "transmitter", "words"),
        [
            pytest.param("Ana", "Bo", "isn't one of Ana's", id="another's transmitter"),
            pytest.param("nobody", None, "isn't in the club's list", id="no such pilot"),
            pytest.param("Gone", None, "Gone is retired", id="retired"),
        ],
    )
    def test_who_can_not_come_is_refused(
        self, store: Store, world: World, pilot: str, transmitter: str | None, words: str
    ) -> None:
        meet_id = plan_one(store, world)
        with store.write() as session:
            add_pilot(session, world, "Gone")
            session.get_one(t.Pilot, world.pilots["Gone"]).retired_at = NOON
            session.commit()
        told = {world.pilots.get(pilot, 999): world.transmitters[transmitter] if transmitter else None}
        with pytest.raises(Refused, match=words):
            expected.set_expected(store, deed(ORGANISER), meet_id, told)
        assert expected.expected_page(store, meet_id).count == 0


class TestOpening:
    def test_everything_missing_is_said(self, store: Store, world: World) -> None:
        meet_id = plan_one(store, world)
        home = opening.meet_home(store, meet_id, NOON)
        assert [blocker.split(":")[0].split(",")[0] for blocker in home.blockers] == [
            "No usable token belongs to this meet",
            "The floors aren't set",
            "The desk has no PIN yet",
            "'June meet' is open",
        ]
        assert [step.state for step in home.steps] == ["done", "next", "to do", "to do", "to do"]
        with pytest.raises(Refused, match="can't be opened yet") as refused:
            opening.open_meet(store, deed(ORGANISER), meet_id)
        assert refused.value.hint == " ".join(home.blockers)
        assert meet_row(store, meet_id).state == "planned"

    def test_a_meet_with_everything_opens(self, store: Store, world: World) -> None:
        close(store, world.meet)
        meet_id = plan_one(store, world)
        tokens = list(world.tokens.values())
        chosen_set.set_tokens(store, deed(ORGANISER), meet_id, tokens, with_usual_floors=True)
        opening.new_desk_access(store, deed(ORGANISER), meet_id, "a-desk-link")
        assert opening.meet_home(store, meet_id, NOON).blockers == ()
        later = NOON + timedelta(minutes=1)
        opening.open_meet(store, deed(ORGANISER, later), meet_id)
        row = meet_row(store, meet_id)
        assert (row.state, row.opened_at) == ("open", later)
        assert journal_kinds(store)[-1] == "meet_opened"
        with pytest.raises(Refused, match="open already"):
            opening.open_meet(store, deed(ORGANISER), meet_id)

    def test_the_database_itself_keeps_a_second_meet_shut(self, any_store: Store) -> None:
        world = make_world(any_store)
        meet_id = plan_one(any_store, world)
        with any_store.write() as session:
            session.get_one(t.Meet, meet_id).state = "open"
            with pytest.raises(IntegrityError, match=r"uq_meet_one_open|meet\.state"):
                session.commit()

    def test_missing_tokens_alone_open_nothing(self, store: Store, world: World) -> None:
        close(store, world.meet)
        meet_id = plan_one(store, world)
        chosen_set.set_tokens(store, deed(ORGANISER), meet_id, [world.tokens["R1"]], with_usual_floors=True)
        with store.write() as session:
            session.get_one(t.Token, world.tokens["R1"]).state = "missing"
            session.commit()
        assert "No usable token" in opening.meet_home(store, meet_id, NOON).blockers[0]

    def test_a_meet_that_is_not_there_is_not_found(self, store: Store, world: World) -> None:
        with pytest.raises(NotFound):
            opening.meet_home(store, 999, NOON)
        with pytest.raises(NotFound):
            opening.open_meet(store, deed(ORGANISER), 999)


class TestDeskAccess:
    def test_pin_and_link_open_the_desk_and_are_not_stored(self, store: Store, world: World) -> None:
        made = opening.new_desk_access(store, deed(ORGANISER), world.meet, "a-desk-link-of-many-signs")
        assert len(made.pin) == 6
        assert made.pin.isdecimal()
        assert access.sign_in_marshal_by_pin(store, made.pin, "Mo", NOON).secret
        assert access.meet_by_desk_link(store, "a-desk-link-of-many-signs") == "June meet"
        with store.read() as session:
            rows = [row for table in (t.Meet, t.Operation, t.JournalLine) for row in session.exec(select(table))]
        told = " ".join(str(row.model_dump()) for row in rows)
        assert made.pin not in told
        assert "a-desk-link-of-many-signs" not in told

    def test_a_resend_shows_the_same_and_makes_nothing(self, store: Store, world: World) -> None:
        first = opening.new_desk_access(store, deed(ORGANISER, key="the-same-key"), world.meet, "one-link")
        assert opening.new_desk_access(store, deed(ORGANISER, key="the-same-key"), world.meet, "one-link") == first
        assert journal_kinds(store) == ["desk_pin_made"]

    def test_an_old_form_does_not_show_a_pin_that_was_replaced(self, store: Store, world: World) -> None:
        opening.new_desk_access(store, deed(ORGANISER, key="the-first-key"), world.meet, "one-link")
        opening.new_desk_access(store, deed(ORGANISER), world.meet, "another-link")
        with pytest.raises(Refused, match="replaced by a newer one"):
            opening.new_desk_access(store, deed(ORGANISER, key="the-first-key"), world.meet, "one-link")
        with pytest.raises(NotFound):
            access.meet_by_desk_link(store, "one-link")
