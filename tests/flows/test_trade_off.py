"""The trade-off on the page, and sets side by side."""

from dataclasses import replace
from itertools import count

import pytest
from sqlmodel import Session, select

from meetapp.flows.errors import Refused
from meetapp.flows.planning import choosing
from meetapp.flows.planning.choosing import Question, SearchJobs
from meetapp.flows.planning.choosing.trade_off import TradeOff
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import measure
from meetapp.spectrum.pull import pulled
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.flows.test_choosing import FIVE_PLANS, change, expect, leave_only
from tests.world import NOON, World

SIX = Question(6, 37, "both", FIVE_PLANS)


def laid_out(store: Store, world: World, question: Question, jobs: SearchJobs | None = None) -> TradeOff:
    return choosing.trade_off(store, jobs or choosing.search_to_the_end(), world.meet, question, NOON, patience_s=0)


def test_each_row_is_the_best_set_at_its_spacing_and_says_from_where_on(store: Store, world: World) -> None:
    found = laid_out(store, world, SIX)
    assert not found.is_searching
    spacings = [row.found.spacing_mhz or 0 for row in found.by_spacing]
    clearances = [row.found.clearance_mhz or 0 for row in found.by_spacing]
    assert spacings == sorted(spacings)
    assert clearances == sorted(clearances, reverse=True)
    assert all(row.is_proven for row in found.rows)
    # One row begins where the one before ends, from 20 MHz on.
    assert [row.from_mhz for row in found.by_spacing] == [20, *(int(each) + 1 for each in spacings[:-1])]
    [asked] = [row for row in found.by_spacing if row.is_asked]
    assert asked.from_mhz <= 37 <= (asked.found.spacing_mhz or 0)
    best = choosing.choose(store, choosing.search_to_the_end(), world.meet, SIX, NOON).shown
    assert best is not None
    assert asked.mhz == best.found.mhz
    for row in found.by_spacing:
        again = choosing.choose(
            store, choosing.search_to_the_end(), world.meet, replace(SIX, spacing_mhz=row.pick_spacing_mhz), NOON
        ).shown
        assert again is not None
        assert again.found.mhz == row.mhz
        assert (again.found.measures, again.found.worst) == (row.found, row.worst)


def test_every_number_of_channels_has_its_best(store: Store, world: World) -> None:
    found = laid_out(store, world, SIX)
    # Nine of the 39 frequencies don't fit at 37 MHz, eight do.
    assert [row.count for row in found.by_count] == [2, 3, 4, 5, 6, 7, 8]
    six = found.wanted
    assert six is not None
    assert six.mhz == next(row.mhz for row in found.by_spacing if row.is_asked)
    assert all((row.best_two_signal_mhz or 99) >= (row.found.two_signal_clearance_mhz or 99) for row in found.by_count)
    assert [row.count for row in found.rows if row.count != 6] == [2, 3, 4, 5, 7, 8]


def test_the_worst_case_goes_by_who_is_expected(store: Store, world: World) -> None:
    leave_only(store, world)
    row = laid_out(store, world, SIX).by_spacing[0]
    assert row.worst == pulled(row.mhz, 2)
    assert row.found == measure([Carrier(mhz) for mhz in row.mhz])


def test_points_are_the_sets_that_serve_who_comes(store: Store, world: World) -> None:
    leave_only(store, world, "Ana", "Bo", "Cy")
    expect(store, world, "Rea", "analogue R")
    found = laid_out(store, world, replace(SIX, count=4))
    assert found.expected == 4
    assert [row.unserved for row in found.by_spacing] == [0] * len(found.by_spacing)
    anybody = laid_out(store, world, replace(SIX, count=4, for_expected=False))
    assert sum(row.unserved for row in anybody.rows) > 0


def test_wide_transmitters_count_in_the_trade_off(store: Store, world: World) -> None:
    leave_only(store, world, "Ana")
    expect(store, world, "Wim", "digital wide")
    found = laid_out(store, world, replace(SIX, count=3, letters=("R",)))
    for row in found.by_spacing:
        shown = choosing.choose(
            store,
            choosing.search_to_the_end(),
            world.meet,
            replace(SIX, count=3, letters=("R",), spacing_mhz=row.pick_spacing_mhz),
            NOON,
        ).shown
        assert shown is not None
        assert (shown.found.mhz, shown.found.measures) == (row.mhz, row.found)
        assert shown.has_wide


def test_points_that_ran_out_of_time_are_marked(store: Store, world: World) -> None:
    leave_only(store, world)
    looks = count()
    # This clock goes on by a fiftieth of a second with every look at it, whatever the machine does meanwhile: so each
    # point of the raster gets as many looks, and it takes far more to prove them.
    jobs = SearchJobs(lambda: next(looks) / 50, lambda run: run(), rest=lambda: None)
    raster = Question(7, 30, "both", (), extra_mhz=tuple(range(5650, 5926)))
    found = laid_out(store, world, raster, jobs)
    unproven = [row for row in found.rows if not row.is_proven]
    assert unproven
    for row in unproven:
        if row.bound_mhz is not None:
            assert row.bound_mhz >= (row.found.clearance_mhz or 0)


class TestComparing:
    def compare(self, store: Store, world: World, *sets: tuple[int, ...]) -> choosing.Comparison:
        return choosing.compare(store, world.meet, SIX, sets, NOON)

    def test_the_meet_s_own_set_stands_first(self, store: Store, world: World) -> None:
        found = self.compare(store, world, (5658, 5740, 5820, 5905))
        assert [each.name for each in found.sets] == ["Set A", "Set B"]
        assert [each.is_accepted for each in found.sets] == [True, False]
        own, other = found.sets
        assert own.shown.found.mhz == (5658, 5740, 5820, 5917)
        assert own.differs == ()
        # 5658 5740 5820 5917: 82 80 97 apart; with 5905 in place of 5917: 82 80 85.
        # Two-signal: 2 x 5740 - 5658 = 5822 is 2 from 5820 in both. Three-signal: 5740 + 5820 - 5658 = 5902.
        assert own.shown.found.measures == measure([Carrier(mhz) for mhz in (5658, 5740, 5820, 5917)])
        assert "12 MHz less three-signal clearance." in other.differs
        assert not any("spacing." in sentence for sentence in other.differs)
        assert "Tokens to be made: 5905 MHz." in other.differs

    def test_differences_are_said_in_words(self, store: Store, world: World) -> None:
        leave_only(store, world, "Ana")
        expect(store, world, "Rea", "analogue R")
        found = self.compare(store, world, (5665, 5740, 5820), (5658, 5695, 5820))
        _own, less, other = found.sets
        assert less.differs[0] == "1 channel fewer."
        assert "Doesn't serve Rea." in less.differs
        assert "Doesn't serve Rea." not in other.differs

    def test_no_more_than_three_stand_side_by_side(self, store: Store, world: World) -> None:
        found = self.compare(store, world, (5658, 5740), (5658, 5760), (5658, 5780))
        assert len(found.sets) == 3
        assert found.left_over == 1

    @pytest.mark.parametrize("sets", [(), ((5917, 5658, 5740, 5820),)], ids=["none", "only the meet's own"])
    def test_nothing_to_compare(self, store: Store, world: World, sets: tuple[tuple[int, ...], ...]) -> None:
        with pytest.raises(Refused, match="nothing to compare"):
            self.compare(store, world, *sets)

    def test_a_frequency_that_can_not_be_meant(self, store: Store, world: World) -> None:
        with pytest.raises(Refused, match="9999 MHz is not near"):
            self.compare(store, world, (9999, 5740))

    def test_a_meet_without_a_set_compares_the_others(self, store: Store, world: World) -> None:
        def step(session: Session) -> None:
            for token in session.exec(select(t.MeetToken)):
                session.delete(token)

        change(store, step)
        found = self.compare(store, world, (5658, 5740), (5658, 5820))
        assert [each.is_accepted for each in found.sets] == [False, False]
        assert "80 MHz more spacing." in found.sets[1].differs
