"""Heats changed by hand: worked out first, done as looked at, below a floor only with a written reason."""

import pytest
from sqlmodel import select

from meetapp.flows.deeds import Answer
from meetapp.flows.errors import Conflict, NotFound, Refused
from meetapp.flows.heats import changing
from meetapp.flows.heats.changing import ChangeLook
from meetapp.flows.heats.wishes import FitIn, Move, Reseat, Swap, TakeOut, Wish
from meetapp.flows.journal import lines
from meetapp.flows.loans import undo
from meetapp.rules.heats import Heat, Seat
from meetapp.store import tables as t
from tests.acting import journal_kinds
from tests.desk import ORGANISER, Desk
from tests.heat_day import HeatDay


@pytest.fixture
def day(desk: Desk) -> HeatDay:
    """Six pilots in three heats of two, for two rounds."""
    day = HeatDay(desk)
    day.make(size=2, rounds=2)
    return day


def look(day: HeatDay, wish: Wish) -> ChangeLook:
    return changing.look_at_change(day.desk.store, day.desk.world.meet, wish, day.desk.clock())


def do(day: HeatDay, wish: Wish, reason: str = "") -> Answer:
    basis = look(day, wish).change.basis
    organiser = day.desk.acting(ORGANISER)
    return changing.change_heats(day.desk.store, organiser.deed(), day.desk.world.meet, wish, basis, reason)


def heat_with(day: HeatDay, name: str, round_: int = 1) -> Heat:
    pilot_id = day.desk.world.pilots[name]
    return next(heat for heat in day.heats() if heat.round == round_ and pilot_id in heat.pilots)


def seat_of(day: HeatDay, name: str, round_: int = 1) -> Seat:
    seat = heat_with(day, name, round_).seat_of(day.desk.world.pilots[name])
    assert seat is not None
    return seat


def pair_apart(day: HeatDay) -> tuple[str, str]:
    """Two pilots of different heats of round 1."""
    first, second, _third = day.by_names()[0]
    return first[0], second[0]


def swap_of(day: HeatDay, one: str, other: str) -> Swap:
    pilots = day.desk.world.pilots
    return Swap(heat_with(day, one).heat_id, pilots[one], heat_with(day, other).heat_id, pilots[other])


class TestSwap:
    def test_two_pilots_take_each_others_heat(self, day: HeatDay) -> None:
        one, other = pair_apart(day)
        before = day.by_names()
        answer = do(day, swap_of(day, one, other))
        after = day.by_names()
        assert after[1] == before[1]
        assert after[0] == [sorted({one: other, other: one}.get(name, name) for name in heat) for heat in before[0]]
        assert f"{one} and {other} swap heats in round 1." in answer.notice

    def test_nobody_else_is_told_anything(self, day: HeatDay) -> None:
        one, other = pair_apart(day)
        told = look(day, swap_of(day, one, other)).change.told
        assert {each.name for each in told} == {one, other}
        assert {each.round for each in told} == {1}

    def test_looking_writes_nothing(self, day: HeatDay) -> None:
        before = day.heats()
        look(day, swap_of(day, *pair_apart(day)))
        assert day.heats() == before

    def test_the_journal_says_so_and_it_can_be_undone(self, day: HeatDay) -> None:
        one, other = pair_apart(day)
        before = day.heats()
        answer = do(day, swap_of(day, one, other))
        entries = [entry.sentence for entry in lines(day.desk.store, day.desk.world.meet)]
        assert entries[-1] == f"{one} and {other} swap heats in round 1"
        assert answer.undo_id is not None
        undo.undo(day.desk.store, day.desk.acting(ORGANISER).deed(), answer.undo_id)
        assert day.heats() == before

    def test_not_within_one_heat(self, day: HeatDay) -> None:
        first = day.by_names()[0][0]
        with pytest.raises(Refused, match="only between two heats of one round"):
            look(day, swap_of(day, first[0], first[1]))

    def test_not_with_a_heat_that_has_begun(self, day: HeatDay) -> None:
        wish = swap_of(day, *pair_apart(day))
        day.fly(1)
        with pytest.raises(Conflict, match="Round 1, heat 1 is flown already"):
            look(day, wish)

    def test_done_as_it_was_looked_at_or_not_at_all(self, day: HeatDay) -> None:
        wish = swap_of(day, *pair_apart(day))
        basis = look(day, wish).change.basis
        organiser = day.desk.acting(ORGANISER)
        changing.change_heats(day.desk.store, organiser.deed(), day.desk.world.meet, wish, basis)
        with pytest.raises((Conflict, Refused)):
            changing.change_heats(day.desk.store, organiser.deed(), day.desk.world.meet, wish, basis)


class TestMove:
    def test_a_full_heat_has_no_room(self, day: HeatDay) -> None:
        one, other = pair_apart(day)
        wish = Move(heat_with(day, one).heat_id, day.desk.world.pilots[one], heat_with(day, other).heat_id)
        with pytest.raises(Refused, match="has no room for one more"):
            look(day, wish)

    def test_into_a_heat_with_room(self, desk: Desk) -> None:
        day = HeatDay(desk)
        day.make(size=3, rounds=1, names=("Ana", "Bo", "Cy", "Di"))
        one, other = pair_apart_of_two(day)
        to = heat_with(day, other)
        do(day, Move(heat_with(day, one).heat_id, desk.world.pilots[one], to.heat_id))
        assert sorted(len(heat.seats) for heat in day.heats()) == [1, 3]
        assert desk.world.pilots[one] in heat_with(day, other).pilots
        assert set(to.seats) <= set(heat_with(day, other).seats)


def pair_apart_of_two(day: HeatDay) -> tuple[str, str]:
    first, second = day.by_names()[0]
    return first[0], second[0]


class TestChannelAndPad:
    def free_mhz(self, day: HeatDay, name: str, round_: int = 1) -> int:
        taken = {seat.mhz for seat in heat_with(day, name, round_).seats}
        return min({5658, 5740, 5820, 5917} - taken)

    def test_another_channel_in_one_heat(self, day: HeatDay) -> None:
        mhz, pad = self.free_mhz(day, "Ana"), seat_of(day, "Ana").pad
        later = seat_of(day, "Ana", 2)
        do(day, Reseat(heat_with(day, "Ana").heat_id, day.desk.world.pilots["Ana"], mhz, pad))
        assert (seat_of(day, "Ana").mhz, seat_of(day, "Ana").pad) == (mhz, pad)
        assert seat_of(day, "Ana", 2) == later
        with day.desk.store.read() as session:
            row = session.exec(
                select(t.HeatSeat).where(
                    t.HeatSeat.heat_id == heat_with(day, "Ana").heat_id,
                    t.HeatSeat.pilot_id == day.desk.world.pilots["Ana"],
                )
            ).one()
            assert session.get_one(t.Token, row.token_id).nominal_mhz == mhz

    def test_in_all_heats_to_come(self, day: HeatDay) -> None:
        taken = {seat.mhz for round_ in (1, 2) for seat in heat_with(day, "Ana", round_).seats}
        mhz = min({5658, 5740, 5820, 5917} - taken)
        wish = Reseat(heat_with(day, "Ana").heat_id, day.desk.world.pilots["Ana"], mhz, 1, is_everywhere=True)
        do(day, wish)
        assert (seat_of(day, "Ana").mhz, seat_of(day, "Ana", 2).mhz) == (mhz, mhz)

    def test_the_channel_of_another_is_refused(self, day: HeatDay) -> None:
        heat = heat_with(day, "Ana")
        other = next(seat for seat in heat.seats if seat.pilot_id != day.desk.world.pilots["Ana"])
        with pytest.raises(Refused, match="would need the same token in round 1"):
            look(day, Reseat(heat.heat_id, day.desk.world.pilots["Ana"], other.mhz, seat_of(day, "Ana").pad))

    def test_whoever_stands_there_takes_the_other_pad(self, day: HeatDay) -> None:
        heat = heat_with(day, "Ana")
        own = seat_of(day, "Ana")
        other = next(seat for seat in heat.seats if seat.pilot_id != own.pilot_id)
        answer = do(day, Reseat(heat.heat_id, own.pilot_id, own.mhz, other.pad))
        changed = heat_with(day, "Ana")
        assert changed.seat_of(own.pilot_id) == Seat(own.pilot_id, own.label, own.mhz, other.pad)
        assert changed.seat_of(other.pilot_id) == Seat(other.pilot_id, other.label, other.mhz, own.pad)
        assert "Tell Ana, " in answer.notice

    def test_a_pad_beyond_the_line(self, day: HeatDay) -> None:
        own = seat_of(day, "Ana")
        with pytest.raises(Refused, match="places from 1 to 2") as refusal:
            look(day, Reseat(heat_with(day, "Ana").heat_id, own.pilot_id, own.mhz, 3))
        assert refusal.value.field == "pad"

    def test_a_frequency_of_no_token(self, day: HeatDay) -> None:
        with pytest.raises(Refused, match="Ana can't set 5695 MHz with any token of this meet"):
            look(day, Reseat(heat_with(day, "Ana").heat_id, day.desk.world.pilots["Ana"], 5695, 1))

    def test_nothing_new_is_refused(self, day: HeatDay) -> None:
        own = seat_of(day, "Ana")
        with pytest.raises(Refused, match="That is how it is already"):
            look(day, Reseat(heat_with(day, "Ana").heat_id, own.pilot_id, own.mhz, own.pad))


class TestBelowAFloor:
    @pytest.fixture
    def near(self, desk: Desk) -> HeatDay:
        """Two pilots in one heat, and a token too near to one of theirs."""
        with desk.store.write() as session:
            token = t.Token(code="T9", label="A8", nominal_mhz=5725, state_since=desk.clock())
            session.add(token)
            session.flush()
            session.add(t.MeetToken(meet_id=desk.world.meet, token_id=token.id))
            session.commit()
        day = HeatDay(desk)
        day.make(size=2, rounds=1, names=("Ana", "Bo"))
        pilots = desk.world.pilots
        for name, mhz in (("Ana", 5917), ("Bo", 5740)):
            if seat_of(day, name).mhz != mhz:
                do(day, Reseat(heat_with(day, name).heat_id, pilots[name], mhz, seat_of(day, name).pad))
        return day

    def test_it_takes_a_reason_which_is_written_down(self, near: HeatDay) -> None:
        wish = Reseat(heat_with(near, "Ana").heat_id, near.desk.world.pilots["Ana"], 5725, seat_of(near, "Ana").pad)
        assert look(near, wish).change.broken == ("Round 1, heat 1: 15 MHz from 5725 on air, the floor is 37",)
        with pytest.raises(Refused, match="15 MHz from 5725 on air") as refusal:
            do(near, wish)
        assert refusal.value.field == "override_reason"
        answer = do(near, wish, reason="a demonstration, one at a time")
        assert seat_of(near, "Ana").mhz == 5725
        assert journal_kinds(near.desk.store)[-2:] == ["heat_seat_changed", "override"]
        assert answer.undo_id is not None
        undo.undo(near.desk.store, near.desk.acting(ORGANISER).deed(), answer.undo_id)
        assert seat_of(near, "Ana").mhz == 5917

    def test_what_is_below_a_floor_already_is_no_new_reason(self, near: HeatDay) -> None:
        heat, own = heat_with(near, "Ana"), seat_of(near, "Ana")
        do(near, Reseat(heat.heat_id, own.pilot_id, 5725, own.pad), reason="a demonstration")
        other = next(seat for seat in heat.seats if seat.pilot_id != own.pilot_id)
        assert look(near, Reseat(heat.heat_id, own.pilot_id, 5725, other.pad)).change.broken == ()


class TestComingAndGoing:
    def test_who_comes_late_gets_a_seat_in_each_round_that_is_not_over(self, desk: Desk) -> None:
        day = HeatDay(desk)
        day.make(size=3, rounds=3, names=("Ana", "Bo", "Cy", "Di", "Ed"))
        day.fly(2)
        before = {heat.heat_id: heat for heat in day.heats()}
        wish = FitIn(desk.world.pilots["Fay"])
        assert {each.name for each in look(day, wish).change.told} == {"Fay"}
        answer = do(day, wish)
        assert [("Fay" in names) for names in day.flying()] == [False, True, True]
        assert all(set(before[heat.heat_id].seats) <= set(heat.seats) for heat in day.heats())
        assert answer.notice == "Fay flies in the rounds to come. Tell Fay."
        assert seat_of(day, "Fay", 2).mhz == seat_of(day, "Fay", 3).mhz

    def test_a_further_heat_where_all_are_full(self, desk: Desk) -> None:
        day = HeatDay(desk)
        day.make(size=2, rounds=1, names=("Ana", "Bo", "Cy", "Di"))
        do(day, FitIn(desk.world.pilots["Fay"]))
        assert day.by_names()[0][-1] == ["Fay"]
        assert heat_with(day, "Fay").number == 3

    def test_who_has_a_seat_everywhere_is_told_so(self, day: HeatDay) -> None:
        with pytest.raises(Refused, match="Ana has a seat in every round that is not over"):
            look(day, FitIn(day.desk.world.pilots["Ana"]))

    def test_a_place_stays_empty_and_nobody_else_changes(self, day: HeatDay) -> None:
        before = day.heats()
        answer = do(day, TakeOut(day.desk.world.pilots["Ana"]))
        assert "Ana" not in day.flying()[0] + day.flying()[1]
        assert [gap.seat.pilot_id for heat in day.heats() for gap in heat.gaps] == [day.desk.world.pilots["Ana"]] * 2
        for heat, then in zip(before, day.heats(), strict=True):
            assert set(then.seats) == {seat for seat in heat.seats if seat.pilot_id != day.desk.world.pilots["Ana"]}
        assert answer.notice.startswith("Ana flies in no more heats")

    def test_who_was_taken_out_comes_back(self, day: HeatDay) -> None:
        before = day.flying()
        do(day, TakeOut(day.desk.world.pilots["Ana"]))
        do(day, FitIn(day.desk.world.pilots["Ana"]))
        assert day.flying() == before
        assert not any(heat.gaps for heat in day.heats())

    def test_no_heats_no_change(self, desk: Desk) -> None:
        with pytest.raises(Refused, match="no heats yet"):
            look(HeatDay(desk), FitIn(desk.world.pilots["Ana"]))

    def test_a_pilot_who_is_not_coming(self, day: HeatDay) -> None:
        with pytest.raises(Refused, match="not coming any more"):
            look(day, FitIn(999))


class TestSeatPage:
    def test_what_may_be_changed(self, day: HeatDay) -> None:
        heat = heat_with(day, "Ana")
        pilot_id = day.desk.world.pilots["Ana"]
        view = changing.seat_page(day.desk.store, day.desk.world.meet, heat.heat_id, pilot_id, day.desk.clock())
        assert view.may_change
        assert [mhz for mhz, _text in view.channels] == [5658, 5740, 5820, 5917]
        assert len(view.others) == 4
        assert view.heats == ()
        day.fly(3)
        view = changing.seat_page(day.desk.store, day.desk.world.meet, heat.heat_id, pilot_id, day.desk.clock())
        assert not view.may_change

    def test_a_heat_that_isnt_there(self, day: HeatDay) -> None:
        with pytest.raises(NotFound):
            changing.seat_page(day.desk.store, day.desk.world.meet, 999, 1, day.desk.clock())
