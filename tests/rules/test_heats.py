"""Heats at the field: each step changes what it must and nothing else."""

from collections.abc import Callable
from dataclasses import replace
from itertools import count, pairwise

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from meetapp.rules.heat_joining import join, rounds_without, ways_into_round
from meetapp.rules.heats import (
    Heat,
    HeatList,
    HeatRefusal,
    Seat,
    call,
    call_off,
    land,
    land_late,
    leave,
    miss,
    next_heat_of,
    on_air,
    void,
)

CHANNELS = {1: 5658, 2: 5695, 3: 5732, 4: 5769, 5: 5806, 6: 5843}


def seat(pilot: int, number: int, pad: int | None = None) -> Seat:
    return Seat(pilot, f"R{number}", CHANNELS[number], pad or number)


def heat(heat_id: int, round_: int, number: int, *pilots: int) -> Heat:
    """A planned heat with pilots on R1, R2 and so on."""
    return Heat(heat_id, round_, number, tuple(seat(pilot, place) for place, pilot in enumerate(pilots, start=1)))


def two_rounds() -> HeatList:
    return heat(1, 1, 1, 11, 12, 13), heat(2, 1, 2, 14, 15, 16), heat(3, 2, 1, 11, 15, 13), heat(4, 2, 2, 14, 12, 16)


def done(outcome: HeatList | HeatRefusal) -> HeatList:
    assert not isinstance(outcome, HeatRefusal), outcome.reason
    return outcome


def flown(heats: HeatList, *heat_ids: int) -> HeatList:
    for heat_id in heat_ids:
        heats = done(land(done(call(heats, heat_id)), heat_id))
    return heats


def offer_of(pilot: int, *numbers: int) -> Callable[[Heat], tuple[Seat, ...] | None]:
    """A newcomer who can make these channels and takes the first that is free in a heat."""

    def offer(heat: Heat) -> tuple[Seat, ...] | None:
        taken = {each.mhz for each in heat.seats}
        free = [number for number in numbers if CHANNELS[number] not in taken]
        return (*heat.seats, seat(pilot, free[0], pad=7)) if free else None

    return offer


def by_id(heats: HeatList, heat_id: int) -> Heat:
    return next(each for each in heats if each.heat_id == heat_id)


def test_one_heat_is_called_at_a_time() -> None:
    heats = done(call(two_rounds(), 1))
    assert by_id(heats, 1).state == "called"
    assert call(heats, 2) == HeatRefusal("another_called", by_id(heats, 1))
    assert done(call_off(heats, 1)) == two_rounds()
    assert [each.pilot_id for each in on_air(heats)] == [11, 12, 13]


def test_a_heat_called_out_of_turn_moves_up_and_the_others_keep_their_order() -> None:
    heats = flown(two_rounds(), 1)
    assert [each.heat_id for each in done(call(heats, 4))] == [1, 4, 2, 3]


def test_who_lands_late_stays_on_air_until_landed() -> None:
    heats = done(land(done(call(two_rounds(), 1)), 1, {12}))
    assert [each.pilot_id for each in on_air(heats)] == [12]
    heats = done(call(heats, 2))
    assert sorted(each.pilot_id for each in on_air(heats)) == [12, 14, 15, 16]
    heats = done(land_late(heats, 12))
    assert sorted(each.pilot_id for each in on_air(heats)) == [14, 15, 16]


def test_a_no_show_leaves_a_gap_and_nobody_else_moves() -> None:
    heats = done(miss(done(call(two_rounds(), 1)), 1, 12, "no_show"))
    assert by_id(heats, 1).seats == (seat(11, 1), seat(13, 3))
    assert [(gap.seat, gap.why) for gap in by_id(heats, 1).gaps] == [(seat(12, 2), "no_show")]
    assert heats[1:] == two_rounds()[1:]


def test_a_broken_quad_is_fitted_into_a_later_heat_of_the_round_once_mended() -> None:
    heats = done(miss(done(call(two_rounds(), 1)), 1, 12, "broken"))
    assert rounds_without(heats, 12) == (1,)
    outcome = join(heats, 12, 4, lambda _: offer_of(12, 4), count(5))
    assert not isinstance(outcome, HeatRefusal)
    mended, told = outcome
    assert by_id(mended, 2).pilots == {12, 14, 15, 16}
    assert told == frozenset()


def test_a_leaver_is_gone_from_all_heats_to_come_and_stays_in_those_flown() -> None:
    heats = done(leave(flown(two_rounds(), 1), 11))
    assert by_id(heats, 1).pilots == {11, 12, 13}
    assert by_id(heats, 3).seats == (seat(15, 2), seat(13, 3))
    assert by_id(heats, 3).gaps[0].why == "left"


def test_a_heat_with_nobody_left_is_dropped_and_the_others_keep_their_numbers() -> None:
    heats = (heat(1, 1, 1, 11), heat(2, 1, 2, 12))
    assert done(leave(heats, 11)) == (heat(2, 1, 2, 12),)


def test_a_late_pilot_is_fitted_in_where_nobody_is_told_anything_new() -> None:
    heats = flown(two_rounds(), 1)
    outcome = join(heats, 17, 4, lambda _: offer_of(17, 4), count(5))
    assert not isinstance(outcome, HeatRefusal)
    joined, told = outcome
    assert told == frozenset()
    assert by_id(joined, 1) == by_id(heats, 1)
    assert by_id(joined, 2).pilots == {14, 15, 16, 17}
    # In round 2 the second heat: the first would let them fly twice running.
    assert by_id(joined, 4).pilots == {12, 14, 16, 17}
    for before in heats:
        assert set(before.seats) <= set(by_id(joined, before.heat_id).seats)


def test_telling_fewer_others_anew_goes_before_everything_but_a_further_heat() -> None:
    def offer(joining: Heat) -> tuple[Seat, ...] | None:
        if joining.heat_id == 1:
            first, *rest = joining.seats
            return replace(first, label="R6", mhz=5843), *rest, seat(17, 1, 7)
        return None if joining.seats else (seat(17, 1),)

    way, further = ways_into_round(two_rounds(), 1, 4, offer, 9)
    assert way.told_anew == {11}
    assert not way.is_new_heat
    assert further.is_new_heat
    assert further.told_anew == frozenset()
    assert [each.heat_id for each in further.heats] == [1, 2, 9, 3, 4]
    assert by_id(further.heats, 9).number == 3


def test_a_pilot_who_fits_nowhere_is_refused_and_nothing_changes() -> None:
    assert join(two_rounds(), 17, 4, lambda _: lambda _: None, count(5)) == HeatRefusal("pilot_fits_nowhere")
    assert join(two_rounds(), 11, 4, lambda _: offer_of(11, 4), count(5)) == HeatRefusal("pilot_has_seats")


def test_a_full_heat_takes_nobody() -> None:
    (further,) = ways_into_round(two_rounds(), 1, 3, offer_of(17, 4), 9)
    assert further.is_new_heat


def test_a_voided_heat_is_flown_again_by_the_same_pilots_on_the_same_seats() -> None:
    heats = flown(two_rounds(), 1)
    heats = done(void(heats, 1, 9))
    assert by_id(heats, 1).state == "voided"
    assert by_id(heats, 1).seats == two_rounds()[0].seats
    again = by_id(heats, 9)
    assert (again.round, again.number, again.again_for, again.seats) == (1, 3, 1, two_rounds()[0].seats)


def test_the_repeat_stands_where_the_fewest_fly_twice_running_then_late_in_its_round() -> None:
    # After heat 2 two of them would fly again at once in heat 3; before it, all three just flew. So after heat 2.
    assert [each.heat_id for each in done(void(flown(two_rounds(), 1), 1, 9))] == [1, 2, 9, 3, 4]
    other = (heat(1, 1, 1, 11, 12, 13), heat(2, 1, 2, 14), heat(5, 1, 3, 17), heat(3, 2, 1, 11, 12, 13))
    assert [each.heat_id for each in done(void(flown(other, 1), 1, 9))] == [1, 2, 9, 5, 3]


def test_the_repeat_leaves_out_who_left_and_who_flies_in_the_round_anyway() -> None:
    heats = done(miss(done(call(two_rounds(), 1)), 1, 12, "broken"))
    outcome = join(heats, 12, 4, lambda _: offer_of(12, 4), count(5))
    assert not isinstance(outcome, HeatRefusal)
    heats = done(land(outcome[0], 1))
    again = by_id(done(void(heats, 1, 9, absent={13})), 9)
    assert again.pilots == {11}
    assert done(void(heats, 1, 9, absent={11, 13}))[-1].heat_id == 4


def test_who_was_missing_joins_the_repeat_like_anybody_who_comes_late() -> None:
    heats = done(land(done(miss(done(call(two_rounds(), 1)), 1, 12, "no_show")), 1))
    heats = done(void(heats, 1, 9))
    assert by_id(heats, 9).pilots == {11, 13}
    ways = ways_into_round(heats, 1, 4, offer_of(12, 2), 10)
    assert by_id(ways[0].heats, 9).seats == (seat(11, 1), seat(13, 3), seat(12, 2, 7))


def test_the_repeat_holds_nobody_whose_seat_was_taken_meanwhile() -> None:
    heats = done(miss((heat(1, 1, 1, 11),), 1, 11, "no_show"))
    outcome = join(heats, 12, 1, lambda _: offer_of(12, 1), count(5))
    assert not isinstance(outcome, HeatRefusal)
    again = by_id(done(void(flown(outcome[0], 1), 1, 9)), 9)
    assert again.pilots == {12}


def test_the_next_heat_of_a_pilot_says_how_many_are_before_it() -> None:
    heats = done(call(two_rounds(), 1))
    assert next_heat_of(heats, 12) == (by_id(heats, 1), 0)
    heats = done(land(heats, 1))
    assert next_heat_of(heats, 12) == (by_id(heats, 4), 2)
    assert next_heat_of(heats, 99) is None


@pytest.mark.parametrize(
    ("step", "reason"),
    [
        pytest.param(lambda heats: call(heats, 9), "heat_unknown", id="call what is not there"),
        pytest.param(lambda heats: call(heats, 1), "heat_not_planned", id="call a flown heat"),
        pytest.param(lambda heats: call((*heats, heat(9, 3, 1)), 9), "heat_empty", id="call nobody"),
        pytest.param(lambda heats: call_off(heats, 2), "heat_not_called", id="call off what is not called"),
        pytest.param(lambda heats: land(heats, 1), "heat_not_called", id="land what has landed"),
        pytest.param(lambda heats: land(done(call(heats, 2)), 2, {11}), "pilot_not_in_it", id="a stranger still up"),
        pytest.param(lambda heats: land_late(heats, 11), "pilot_not_up", id="land twice"),
        pytest.param(lambda heats: miss(heats, 1, 11, "broken"), "heat_not_planned", id="miss a flown heat"),
        pytest.param(lambda heats: miss(heats, 2, 11, "broken"), "pilot_not_in_it", id="miss another heat"),
        pytest.param(lambda heats: leave(heats, 99), "pilot_not_in_it", id="a stranger leaves"),
        pytest.param(lambda heats: void(heats, 2, 9), "heat_not_flown", id="void what was not flown"),
        pytest.param(lambda heats: void(heats, 9, 10), "heat_unknown", id="void what is not there"),
        pytest.param(lambda heats: void(heats, 1, 9, still_up={16}), "pilot_not_in_it", id="void, a stranger up"),
    ],
)
def test_steps_that_can_not_be_are_refused(
    step: Callable[[HeatList], HeatList | HeatRefusal], reason: str
) -> None:
    outcome = step(flown(two_rounds(), 1))
    assert isinstance(outcome, HeatRefusal)
    assert outcome.reason == reason


class FieldDay(RuleBasedStateMachine):
    """A day at the field in any order of steps."""

    @initialize(pilots=st.integers(2, 8), rounds=st.integers(1, 3), size=st.integers(1, 4))
    def plan(self, pilots: int, rounds: int, size: int) -> None:
        self.size = size
        self.ids = count(100)
        self.pilots = count(pilots)
        self.was_flown: dict[int, tuple[Seat, ...]] = {}
        self.heats: HeatList = tuple(
            heat(next(self.ids), round_, number, *range(first, min(pilots, first + size)))
            for round_ in range(1, rounds + 1)
            for number, first in enumerate(range(0, pilots, size), start=1)
        )

    def step(self, outcome: HeatList | HeatRefusal, *named: int) -> None:
        """Take a step; the seats of everybody who is not named stay as they were."""
        if isinstance(outcome, HeatRefusal):
            return
        for before in self.heats:
            after = next((each for each in outcome if each.heat_id == before.heat_id), None)
            kept = () if after is None else after.seats
            assert {each for each in before.seats if each.pilot_id not in named} <= set(kept)
        self.heats = outcome

    def some(self, data: st.DataObject) -> Heat:
        return data.draw(st.sampled_from(self.heats))

    @precondition(lambda self: self.heats)
    @rule(data=st.data())
    def call_or_land(self, data: st.DataObject) -> None:
        called = next((each for each in self.heats if each.state == "called"), None)
        if called is None:
            self.step(call(self.heats, self.some(data).heat_id))
        else:
            up = data.draw(st.sets(st.sampled_from(sorted(called.pilots)))) if called.pilots else set()
            self.step(land(self.heats, called.heat_id, up))

    @precondition(lambda self: self.heats)
    @rule(data=st.data())
    def void_one(self, data: st.DataObject) -> None:
        self.step(void(self.heats, self.some(data).heat_id, next(self.ids)))

    @precondition(lambda self: self.heats)
    @rule(data=st.data(), why=st.sampled_from(["no_show", "broken"]))
    def miss_one(self, data: st.DataObject, why: str) -> None:
        one = self.some(data)
        if one.pilots:
            pilot = data.draw(st.sampled_from(sorted(one.pilots)))
            self.step(miss(self.heats, one.heat_id, pilot, why), pilot)  # type: ignore[arg-type]

    @precondition(lambda self: self.heats)
    @rule(data=st.data())
    def leave_one(self, data: st.DataObject) -> None:
        pilots = sorted(frozenset[int]().union(*(each.pilots for each in self.heats)))
        if pilots:
            pilot = data.draw(st.sampled_from(pilots))
            self.step(leave(self.heats, pilot), pilot)

    @rule(data=st.data(), numbers=st.lists(st.integers(1, 6), min_size=1, max_size=3, unique=True))
    def join_one(self, data: st.DataObject, numbers: list[int]) -> None:
        known = sorted({gap.seat.pilot_id for each in self.heats for gap in each.gaps})
        pilot = data.draw(st.sampled_from([*known, next(self.pilots)]))
        outcome = join(self.heats, pilot, self.size, lambda _: offer_of(pilot, *numbers), self.ids)
        if not isinstance(outcome, HeatRefusal):
            assert outcome[1] == frozenset()
            self.step(outcome[0], pilot)
            assert rounds_without(self.heats, pilot) == ()

    @invariant()
    def flown_heats_never_change(self) -> None:
        for each in getattr(self, "heats", ()):
            if each.state in ("flown", "voided"):
                assert self.was_flown.setdefault(each.heat_id, each.seats) == each.seats
        assert set(getattr(self, "was_flown", ())) <= {each.heat_id for each in getattr(self, "heats", ())}

    @invariant()
    def nobody_flies_twice_in_a_round_and_rounds_stay_in_order(self) -> None:
        heats = [each for each in getattr(self, "heats", ()) if each.state != "voided"]
        for round_ in {each.round for each in heats}:
            flying = [one.pilot_id for each in heats if each.round == round_ for one in each.seats]
            assert len(flying) == len(set(flying))
        numbered = [(each.round, each.number) for each in getattr(self, "heats", ())]
        assert len(numbered) == len(set(numbered))
        to_come = [each for each in heats if each.state == "planned" and each.again_for is None]
        assert all(one.round <= other.round for one, other in pairwise(to_come))

    @invariant()
    def heats_never_grow_beyond_their_size_by_joining(self) -> None:
        assert all(len(each.seats) <= self.size for each in getattr(self, "heats", ()))


FieldDay.TestCase.settings = settings(stateful_step_count=25)
TestFieldDay = FieldDay.TestCase
