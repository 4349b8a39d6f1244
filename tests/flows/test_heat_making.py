"""Heats made for a meet: planned from what its pilots really set, kept as planned, made again around what was flown."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlmodel import select

from meetapp.flows.errors import Conflict, Refused
from meetapp.flows.heats.day_plan import ONE_LOOK, plan_day, planned_day
from meetapp.flows.heats.making import keep_heats
from meetapp.flows.loans import undo
from meetapp.rules.heats import HeatList
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import set_keeps_floors
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.acting import journal_kinds
from tests.desk import ORGANISER, Desk
from tests.heat_day import HeatDay
from tests.world import NOON, World, add_pilot, make_club, open_meet

DEEP = settings.get_current_profile_name() == "deep"
EVERYBODY = ["Ana", "Bo", "Cy", "Di", "Ed", "Fay"]


@pytest.fixture
def day(desk: Desk) -> HeatDay:
    return HeatDay(desk)


def change_meet(desk: Desk, **columns: object) -> None:
    with desk.store.write() as session:
        meet = session.get_one(t.Meet, desk.world.meet)
        for name, value in columns.items():
            setattr(meet, name, value)
        session.commit()


def newcomer(desk: Desk, name: str, kind: str = "analogue 40", is_here: bool = True) -> None:
    with desk.store.write() as session:
        pilot_id = add_pilot(session, desk.world, name, kind)
        session.add(
            t.Attendance(
                meet_id=desk.world.meet,
                pilot_id=pilot_id,
                transmitter_id=desk.world.transmitters[name],
                is_expected=True,
                checked_in_at=NOON if is_here else None,
            )
        )
        session.commit()


def flown(heats: HeatList) -> HeatList:
    return tuple(heat for heat in heats if heat.state == "flown")


class TestMade:
    def test_each_pilot_has_a_seat_in_each_round(self, day: HeatDay) -> None:
        answer = day.make(size=3, rounds=2)
        assert answer.notice == "4 heats made."
        assert day.flying() == [EVERYBODY] * 2
        assert [(heat.round, heat.number) for heat in day.heats()] == [(1, 1), (1, 2), (2, 1), (2, 2)]

    def test_a_seat_has_the_token_and_the_transmitter_of_today(self, day: HeatDay) -> None:
        day.make(size=4, rounds=1)
        with day.desk.store.read() as session:
            rows = session.exec(select(t.HeatSeat)).all()
            tokens = {token.id: token.nominal_mhz for token in session.exec(select(t.Token))}
        assert len(rows) == 6
        assert all(tokens[row.token_id] == row.mhz for row in rows)
        transmitters = day.desk.world.transmitters
        assert {row.transmitter_id for row in rows} == set(transmitters.values())

    def test_the_plan_keeps_what_was_asked_and_what_is_proven(self, day: HeatDay) -> None:
        day.make(size=3, rounds=2, pads=5)
        plan = day.plan_row()
        assert (plan.size, plan.rounds, plan.pads, plan.heats_per_round, plan.heats_bound) == (3, 2, 5, 2, 2)
        assert plan.heats_proven
        assert (plan.channel_changes, plan.changes_proven) == (0, True)
        assert (plan.spacing_floor_mhz, plan.clearance_floor_mhz) == (37, 0)

    def test_the_same_form_twice_makes_them_once(self, day: HeatDay) -> None:
        organiser = day.desk.acting(ORGANISER)
        made = planned_day(day.ground(), day.wanted(), plan_day(day.ground(), day.wanted(), ONE_LOOK))
        first = keep_heats(day.desk.store, organiser.deed("key-twice"), day.desk.world.meet, made)
        again = keep_heats(day.desk.store, organiser.deed("key-twice"), day.desk.world.meet, made)
        assert first == again
        assert journal_kinds(day.desk.store) == ["heats_made"]

    def test_it_can_be_undone_at_an_open_meet(self, day: HeatDay) -> None:
        organiser = day.desk.acting(ORGANISER)
        day.make(size=3, rounds=1)
        before = day.heats()
        answer = day.make(size=2, rounds=1)
        assert answer.undo_id is not None
        undo.undo(day.desk.store, organiser.deed(), answer.undo_id)
        assert day.heats() == before
        assert day.plan_row().size == 3

    def test_only_those_who_are_ticked(self, day: HeatDay) -> None:
        day.make(size=3, rounds=1, names=("Ana", "Di"))
        assert day.by_names() == [[["Ana", "Di"]]]


def test_each_database_makes_them_and_makes_them_again(any_desk: Desk) -> None:
    day = HeatDay(any_desk)
    day.make(size=2, rounds=2)
    day.fly(2)
    answer = day.make(size=3, rounds=2)
    assert day.flying() == [EVERYBODY] * 2
    assert answer.undo_id is not None
    undo.undo(any_desk.store, any_desk.acting(ORGANISER).deed(), answer.undo_id)
    assert day.plan_row().size == 2
    assert day.flying() == [EVERYBODY] * 2


class TestWhatIsReallySet:
    def test_the_nearest_setting_within_the_pull_and_its_own_label(self, desk: Desk) -> None:
        newcomer(desk, "Tim", "analogue tunable")
        day = HeatDay(desk)
        flyer = day.ground().flyers[desk.world.pilots["Tim"]]
        assert [setting.mhz for setting in flyer.settings] == [5658, 5740, 5820, 5917]
        day.make(size=4, rounds=1, names=("Tim",))
        assert day.heats()[0].seats[0].label == "5658 MHz"

    def test_loans_beside_the_heats_are_on_air(self, day: HeatDay) -> None:
        day.desk.lend_ground("finish camera", 5740)
        day.make(size=4, rounds=1)
        assert {seat.mhz for heat in day.heats() for seat in heat.seats} == {5658, 5820, 5917}

    def test_the_loan_of_a_pilot_of_the_heats_is_not(self, day: HeatDay) -> None:
        day.desk.hand_out("Ana", "R1")
        assert day.ground().beside(day.wanted().pilot_ids) == ()
        assert day.ground().beside([]) == (Carrier(5658),)

    def test_a_missing_token_is_not_used(self, day: HeatDay) -> None:
        with day.desk.store.write() as session:
            session.get_one(t.Token, day.desk.world.tokens["F1"]).state = "missing"
            session.commit()
        day.make(size=4, rounds=1)
        assert 5740 not in {seat.mhz for heat in day.heats() for seat in heat.seats}

    def test_who_can_make_nothing_here_is_named(self, desk: Desk) -> None:
        with desk.store.write() as session:
            kind = t.TransmitterKind(name="odd one", tuning="5700", width_mhz=20, power_steps_mw="25")
            session.add(kind)
            session.flush()
            desk.world.kinds["odd one"] = kind.id
            session.commit()
        newcomer(desk, "Odo", "odd one")
        answer = HeatDay(desk).make(size=4, rounds=1)
        assert answer.notice == "2 heats made. Odo can't fly in them."

    def test_two_with_one_board_name_are_told_apart(self, desk: Desk) -> None:
        with desk.store.write() as session:
            session.get_one(t.Pilot, desk.world.pilots["Bo"]).board_name = "Ana"
            session.commit()
        day = HeatDay(desk)
        day.make(size=3, rounds=1)
        assert sum(len(heat.seats) for heat in day.heats()) == 6


class TestRefused:
    def test_a_spacing_floor_within_twice_the_pull(self, day: HeatDay) -> None:
        change_meet(day.desk, spacing_floor_mhz=4, pull_mhz=2)
        with pytest.raises(Refused, match="two pilots could be up with one token, set 4 MHz apart") as refusal:
            day.make()
        assert "above twice the pull" in refusal.value.hint
        change_meet(day.desk, spacing_floor_mhz=5)
        day.make()

    def test_no_channels(self, day: HeatDay) -> None:
        with day.desk.store.write() as session:
            for row in session.exec(select(t.MeetToken)):
                session.delete(row)
            session.commit()
        with pytest.raises(Refused, match="no channels yet"):
            day.make()

    @pytest.mark.parametrize(
        ("asked", "field", "words"),
        [
            ({"size": 0}, "size", "from 1 to 16"),
            ({"rounds": 51}, "rounds", "from 1 to 50"),
            ({"size": 4, "pads": 3}, "pads", "too short"),
        ],
    )
    def test_sizes_rounds_and_places_that_make_no_sense(
        self, day: HeatDay, asked: dict[str, int], field: str, words: str
    ) -> None:
        with pytest.raises(Refused, match=words) as refusal:
            day.make(**asked)
        assert refusal.value.field == field

    def test_a_plan_of_a_field_that_has_changed(self, day: HeatDay) -> None:
        made = planned_day(day.ground(), day.wanted(), plan_day(day.ground(), day.wanted(), ONE_LOOK))
        day.desk.lend_ground("finish camera", 5740)
        with pytest.raises(Conflict, match="has changed since"):
            keep_heats(day.desk.store, day.desk.acting(ORGANISER).deed(), day.desk.world.meet, made)
        assert day.heats() == ()

    def test_nobody_left_to_fly(self, day: HeatDay) -> None:
        day.make(size=3, rounds=1)
        day.fly(2)
        with pytest.raises(Refused, match="Everybody has flown these rounds"):
            day.make(size=3, rounds=1)

    def test_fewer_rounds_than_have_begun(self, day: HeatDay) -> None:
        day.make(size=3, rounds=2)
        day.fly(3)
        with pytest.raises(Refused, match="Round 2 has begun"):
            day.make(size=3, rounds=1)


class TestMadeAgain:
    def test_flown_heats_stay_and_the_round_is_finished_first(self, day: HeatDay) -> None:
        day.make(size=2, rounds=2)
        day.fly(2)
        before = flown(day.heats())
        day.make(size=3, rounds=3)
        after = day.heats()
        assert flown(after) == before
        assert after[:2] == before
        assert [(heat.round, heat.number) for heat in after] == [
            (1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (3, 1), (3, 2)
        ]  # fmt: skip
        assert [len(each) for each in day.by_names()[0]] == [2, 2, 2]
        assert day.flying() == [EVERYBODY] * 3

    def test_what_was_flown_counts_as_set(self, day: HeatDay) -> None:
        day.make(size=2, rounds=1)
        day.fly(3)
        mhz = {seat.pilot_id: seat.mhz for heat in day.heats() for seat in heat.seats}
        day.make(size=2, rounds=2)
        assert {seat.pilot_id: seat.mhz for heat in day.heats()[3:] for seat in heat.seats} == mhz
        assert (day.plan_row().channel_changes, day.plan_row().changes_proven) == (0, True)

    def test_those_who_met_meet_others(self, day: HeatDay) -> None:
        day.make(size=2, rounds=1)
        day.fly(3)
        day.make(size=2, rounds=2)
        first, second = day.by_names()
        assert not {tuple(heat) for heat in first} & {tuple(heat) for heat in second}

    def test_the_plan_before_has_ended(self, day: HeatDay) -> None:
        day.make(size=2, rounds=1)
        day.make(size=3, rounds=1)
        with day.desk.store.read() as session:
            plans = session.exec(select(t.HeatPlan).order_by(t.HeatPlan.id)).all()  # type: ignore[arg-type]
        assert [(plan.size, plan.ended_at is None) for plan in plans] == [(2, False), (3, True)]

    def test_a_newcomer_flies_from_the_round_under_way_on(self, day: HeatDay) -> None:
        day.make(size=2, rounds=2)
        day.fly(4)
        newcomer(day.desk, "Gus")
        day.make(size=2, rounds=2)
        assert day.flying() == [EVERYBODY, [*EVERYBODY, "Gus"]]


KINDS = ("analogue 40", "analogue R", "analogue tunable", "digital wide")


@contextmanager
def meet_of(folder: Path, database: Path, kinds: list[str], clearance: float | None) -> Iterator[HeatDay]:
    """An open meet of pilots with these transmitters."""
    store, world = Store(sqlite_url(Path(shutil.copy(database, folder)))), World()
    with store.write() as session:
        make_club(session, world)
        for number, kind in enumerate(kinds, start=1):
            add_pilot(session, world, f"Pilot {number}", kind)
        open_meet(session, world, clearance=clearance)
        session.commit()
    yield HeatDay(Desk(store, world))
    store.close()
    shutil.rmtree(folder)


class TestAnyMeet:
    @settings(max_examples=200 if DEEP else 8)
    @given(
        kinds=st.lists(st.sampled_from(KINDS), min_size=1, max_size=5),
        size=st.integers(1, 5),
        rounds=st.integers(1, 3),
        flown_first=st.integers(0, 4),
        clearance=st.sampled_from([None, 0, 10]),
    )
    def test_heats_keep_the_floors_and_everybody_flies_once_a_round(
        self,
        tmp_path_factory: pytest.TempPathFactory,
        empty_database: Path,
        kinds: list[str],
        size: int,
        rounds: int,
        flown_first: int,
        clearance: float | None,
    ) -> None:
        with meet_of(tmp_path_factory.mktemp("meet"), empty_database, kinds, clearance) as day:
            day.make(size=size, rounds=rounds)
            to_fly = min(flown_first, sum(heat.state == "planned" for heat in day.heats()))
            day.fly(to_fly)
            before = flown(day.heats())
            day.make(size=size + 1, rounds=rounds + 1)
            heats = day.heats()
            ground = day.ground()
            assert flown(heats) == before
            for heat in heats:
                carriers = [Carrier(seat.mhz, ground.flyers[seat.pilot_id].width_mhz) for seat in heat.seats]
                assert set_keeps_floors(carriers, ground.snapshot.floors)
                tokens = [ground.kit_of(seat).token_id for seat in heat.seats]
                assert len(set(tokens)) == len(tokens)
                assert len({seat.pad for seat in heat.seats}) == len(heat.seats)
            for round_ in {heat.round for heat in heats}:
                pilots = [seat.pilot_id for heat in heats if heat.round == round_ for seat in heat.seats]
                assert len(pilots) == len(set(pilots))
