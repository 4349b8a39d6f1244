"""Choosing a meet's channels: what is proposed, whom it serves, what would have to give, and accepting it."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlmodel import Session, select

from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.planning import choosing, chosen_set
from meetapp.flows.planning.band_exits import Barred
from meetapp.flows.planning.choosing import Choice, Question
from meetapp.flows.planning.chosen_set import AcceptedSet
from meetapp.flows.planning.planned_set import SetFigures, figures, read_plan
from meetapp.flows.planning.token_counts import CountsQuestion, token_counts
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.pull import pulled
from meetapp.spectrum.queueing import MeanTimes
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.desk import ORGANISER, Desk
from tests.world import NOON, World, add_pilot

FIVE_PLANS = ("A", "B", "E", "F", "R")
SIX = Question(6, 37, "both", FIVE_PLANS)
BEST_SIX = (5645, 5695, 5765, 5805, 5865, 5945)
"""The best of plans A, B, E, F, R at 37 MHz with no band rule: 20 MHz and 10 MHz of clearance (see `picking.pick`)."""


def change(store: Store, step: Callable[[Session], None]) -> None:
    with store.write() as session:
        step(session)
        session.commit()


def choose(store: Store, world: World, question: Question) -> Choice:
    return choosing.choose(store, choosing.search_to_the_end(), world.meet, question, NOON)


def figures_of(store: Store, world: World, *mhz: int) -> SetFigures:
    with store.read() as session:
        return figures(read_plan(session, session.get_one(t.Meet, world.meet), NOON), mhz)


def leave_only(store: Store, world: World, *names: str) -> None:
    """Only these pilots are at the meet."""

    def step(session: Session) -> None:
        for row in session.exec(select(t.Attendance)):
            if row.pilot_id not in [world.pilots[name] for name in names]:
                row.is_expected, row.checked_in_at = False, None

    change(store, step)


def expect(store: Store, world: World, name: str, kind: str) -> None:
    """One more pilot is expected, with a transmitter of this kind."""

    def step(session: Session) -> None:
        pilot_id = add_pilot(session, world, name, kind)
        transmitter_id = world.transmitters[name]
        session.add(
            t.Attendance(meet_id=world.meet, pilot_id=pilot_id, transmitter_id=transmitter_id, is_expected=True)
        )

    change(store, step)


class TestTheBestSet:
    def test_it_is_the_one_that_the_sums_prove(self, store: Store, world: World) -> None:
        choice = choose(store, world, replace(SIX, within_band=False))
        assert choice.outcome == "proven"
        assert choice.is_best
        assert choice.shown is not None
        assert choice.shown.found.mhz == BEST_SIX
        assert choice.shown.found.measures == measure([Carrier(mhz) for mhz in BEST_SIX])
        assert [label for label, _mhz in choice.shown.channels] == ["E4", "R2", "A6", "A4", "A1", "E8"]

    def test_the_alternatives_come_in_order_and_start_with_it(self, store: Store, world: World) -> None:
        choice = choose(store, world, SIX)
        assert choice.shown is not None
        assert choice.ranked[0].found.mhz == choice.shown.found.mhz
        assert [line.is_shown for line in choice.ranked] == [True, False, False, False, False]
        clearances = [line.found.measures.clearance_mhz for line in choice.ranked]
        assert clearances == sorted(clearances, reverse=True)  # type: ignore[type-var]
        assert not choice.is_cut_short

    def test_an_alternative_can_be_looked_at(self, store: Store, world: World) -> None:
        other = choose(store, world, SIX).ranked[2].found.mhz
        choice = choose(store, world, replace(SIX, looked_at=other))
        assert choice.shown is not None
        assert choice.shown.found.mhz == other
        assert not choice.is_best
        assert [line.is_shown for line in choice.ranked] == [False, False, True, False, False]

    def test_the_band_profile_keeps_the_edges_out(self, store: Store, world: World) -> None:
        within = choose(store, world, SIX)
        without = choose(store, world, replace(SIX, within_band=False))
        # The test band is 5600 to 5960: with 20 MHz of width everything of these plans is inside.
        assert within.left_out_by_band == 0
        change(store, lambda session: setattr(session.exec(select(t.BandSegment)).one(), "low_mhz", 5725))
        within = choose(store, world, SIX)
        assert within.shown is not None
        assert without.shown is not None
        assert within.pool_size + within.left_out_by_band == without.pool_size
        assert all(mhz >= 5735 for mhz in within.shown.found.mhz)
        assert within.shown.found.band.outside_mhz == ()

    def test_a_set_that_leaves_the_band_profile_says_so(self, store: Store, world: World) -> None:
        change(store, lambda session: setattr(session.exec(select(t.BandSegment)).one(), "low_mhz", 5725))
        shown = choose(store, world, replace(SIX, within_band=False)).shown
        assert shown is not None
        assert shown.found.band.outside_mhz == tuple(mhz for mhz in shown.found.mhz if mhz < 5735)
        assert shown.found.band.outside_mhz

    def test_whom_the_band_profile_keeps_from_a_token_is_named(self, store: Store, world: World) -> None:
        leave_only(store, world, "Ana", "Bo")
        expect(store, world, "Rea", "analogue R")

        def step(session: Session) -> None:
            session.exec(select(t.BandSegment)).one().low_mhz = 5725
            licence = t.BandProfile(name="Licence", source="invented for the tests", is_own=True)
            session.add(licence)
            session.flush()
            session.add(t.BandSegment(profile_id=licence.id, low_mhz=5600, high_mhz=5960))
            session.get_one(t.Pilot, world.pilots["Bo"]).band_profile_id = licence.id

        change(store, step)
        band = figures_of(store, world, 5658, 5705, 5740, 5880).band
        assert band.outside_mhz == (5658, 5705)
        # Bo's own licence reaches further; Rea's transmitter makes nothing at 5705, band or no band.
        assert band.barred == (Barred(("Ana",), "Test band", (5658, 5705)), Barred(("Rea",), "Test band", (5658,)))

    def test_neighbours_are_kept_away_from_by_half_of_both_widths(self, store: Store, world: World) -> None:
        change(
            store,
            lambda session: session.add(
                t.Neighbour(site_id=world.site, label="Farm Wi-Fi", centre_mhz=5775, width_mhz=80)
            ),
        )
        choice = choose(store, world, SIX)
        assert choice.shown is not None
        assert choice.left_out_by_neighbours > 0
        assert all(abs(mhz - 5775) >= 50 for mhz in choice.shown.found.mhz)
        assert choosing.choosing_page(store, world.meet, NOON).neighbours == ("Farm Wi-Fi (5775 MHz, 80 MHz wide)",)

    def test_the_widest_expected_transmitter_decides_about_edges(self, store: Store, world: World) -> None:
        assert choosing.choosing_page(store, world.meet, NOON).width_mhz == 20
        expect(store, world, "Wim", "digital wide")
        page = choosing.choosing_page(store, world.meet, NOON)
        assert (page.width_mhz, page.widest) == (40, "digital wide")
        change(store, lambda session: setattr(session.exec(select(t.BandSegment)).one(), "low_mhz", 5725))
        shown = choose(store, world, replace(SIX, count=4, for_expected=False)).shown
        assert shown is not None
        assert min(shown.found.mhz) >= 5745

    @pytest.mark.parametrize("count", [4, 5, 6])
    def test_whoever_comes_a_set_is_shown_as_far_apart_as_it_was_searched(
        self, store: Store, world: World, count: int
    ) -> None:
        expect(store, world, "Wim", "digital wide")
        shown = choose(store, world, replace(SIX, count=count, for_expected=False)).shown
        assert shown is not None
        assert shown.found.measures == measure(tuple(map(Carrier, shown.found.mhz)))
        assert shown.found.measures.spacing_mhz is not None
        assert shown.found.measures.spacing_mhz >= SIX.spacing_mhz

    def test_how_many_tokens_asks_what_the_choice_of_channels_asks(self, store: Store, world: World) -> None:
        expect(store, world, "Wim", "digital wide")
        letters = choosing.choosing_page(store, world.meet, NOON).ticked
        answer = token_counts(store, world.meet, CountsQuestion(7, MeanTimes(8, 25), 37), NOON)
        row = next(each for each in answer.rows if each.tokens == 4)
        shown = choose(store, world, Question(4, 37, "both", letters)).shown
        assert shown is not None
        assert (row.found.mhz, row.found.measures) == (shown.found.mhz, shown.found.measures)

    def test_for_those_expected_only_as_many_tokens_are_wide_as_it_takes(self, store: Store, world: World) -> None:
        expect(store, world, "Wim", "digital wide")
        change(store, lambda session: setattr(session.exec(select(t.BandSegment)).one(), "low_mhz", 5725))
        shown = choose(store, world, replace(SIX, count=4)).shown
        assert shown is not None
        # Seven pilots in two heats of up to four: one token is for two of them, Wim and one more.
        assert sorted(token.width_mhz for token in shown.tokens) == [20, 20, 20, 40]
        [wide] = [token for token in shown.tokens if token.width_mhz == 40]
        assert (wide.low_mhz, wide.high_mhz) == (wide.mhz - 20, wide.mhz + 20)
        assert wide.low_mhz >= 5725
        assert wide.mhz in {made + off for made in (5770, 5805, 5839, 5878, 5914) for off in range(-2, 3)}
        assert shown.served.left_out == ()
        assert shown.found.band.outside_mhz == ()
        # Spacing and clearance by the rules of widths: between a carrier of 40 and one of 20 10 MHz more.
        carriers = [Carrier(token.mhz, token.width_mhz) for token in shown.tokens]
        assert shown.found.measures == measure(carriers)
        assert (shown.found.measures.spacing_mhz or 0) >= 37

    def test_only_the_tokens_that_the_club_owns(self, store: Store, world: World) -> None:
        change(store, lambda session: setattr(session.get_one(t.Token, world.tokens["F5"]), "state", "missing"))
        choice = choose(store, world, Question(3, 37, "both", FIVE_PLANS, only_owned=True))
        assert choice.pool_size == 3
        assert choice.shown is not None
        assert choice.shown.found.mhz == (5658, 5740, 5917)
        assert choice.shown.made_mhz == ()

    def test_a_pool_of_ones_own(self, store: Store, world: World) -> None:
        question = Question(2, 10, "both", (), extra_mhz=(5671, 5700, 5690))
        shown = choose(store, world, question).shown
        assert shown is not None
        assert shown.channels == (("", 5671), ("", 5700))
        assert shown.made_mhz == (5671, 5700)

    @pytest.mark.parametrize(
        ("question", "field", "words"),
        [
            pytest.param(replace(SIX, letters=("Q",)), "letters", "no channel plan 'Q'", id="no such plan"),
            pytest.param(replace(SIX, extra_mhz=(580,)), "extra_mhz", "580 MHz is not near", id="no such frequency"),
            pytest.param(replace(SIX, looked_at=(9999,)), "looked_at", "9999 MHz is not near", id="no such set"),
        ],
    )
    def test_a_question_that_can_not_be_meant(
        self, store: Store, world: World, question: Question, field: str, words: str
    ) -> None:
        with pytest.raises(Refused, match=words) as refused:
            choose(store, world, question)
        assert refused.value.field == field

    def test_a_meet_that_is_not_there(self, store: Store, world: World) -> None:
        with pytest.raises(NotFound):
            choosing.choose(store, choosing.search_to_the_end(), 999, SIX, NOON)


class TestWhatCanNotBeDone:
    def test_the_largest_count_and_the_widest_spacing_are_said(self, store: Store, world: World) -> None:
        choice = choose(store, world, Question(7, 40, "both", ("R",)))
        assert choice.outcome == "impossible"
        assert choice.shown is None
        # Plan R steps by 37 MHz, so at 40 only every second channel fits. All plans within 5600 to 5960 hold
        # 5621 5665 5705 5745 5785 5825 5865 5905 5945, and ten would take 9 x 40 from 5621 on: 5981.
        assert (choice.largest_count, choice.largest_spacing_mhz) == (4, 37)
        assert choice.would_give == ("With every channel plan of the club, 9 fit at 40 MHz.",)

    def test_too_few_frequencies(self, store: Store, world: World) -> None:
        choice = choose(store, world, Question(3, 37, "both", (), extra_mhz=(5740, 5800)))
        assert (choice.largest_count, choice.largest_spacing_mhz) == (2, None)

    def test_each_demand_that_makes_room_is_named(self, store: Store, world: World) -> None:
        expect(store, world, "Wim", "digital wide")

        def step(session: Session) -> None:
            session.exec(select(t.BandSegment)).one().low_mhz = 5725
            session.add(t.Neighbour(site_id=world.site, label="Farm Wi-Fi", centre_mhz=5775, width_mhz=80))

        change(store, step)
        choice = choose(store, world, Question(8, 37, "both", ("R",), for_expected=False))
        # R is 5658 5695 5732 5769 5806 5843 5880 5917. With 40 MHz of width the band leaves 5745 to 5940, the neighbour
        # 5835 and above: three of them. A fourth would not fit there in any plan: 3 x 37 = 111 is more than 105.
        assert choice.largest_count == 3
        assert choice.would_give == (
            "Without the band profile (no band rule applied), 5 fit at 37 MHz.",
            "Without keeping away from the neighbours, 5 fit at 37 MHz.",
        )


class TestWhoIsServed:
    def test_everybody_with_all_channels(self, store: Store, world: World) -> None:
        found = figures_of(store, world, 5658, 5740)
        assert found.unserved == ()
        assert found.worst_with_expected

    def test_who_can_not_be_served_is_named_with_the_reason(self, store: Store, world: World) -> None:
        leave_only(store, world, "Ana")
        expect(store, world, "Rea", "analogue R")
        expect(store, world, "Wim", "digital wide")
        expect(store, world, "Nox", "analogue 40")
        expect(store, world, "Gil", "analogue 40")
        expect(store, world, "Lic", "analogue 40")

        def step(session: Session) -> None:
            session.get_one(t.PilotTransmitter, world.transmitters["Nox"]).retired_at = NOON
            deaf = t.TransmitterKind(name="deaf", tuning="A B E F R", goggles="R", width_mhz=20, power_steps_mw="25")
            session.add(deaf)
            narrow = t.BandProfile(name="Licence", source="invented for the tests", is_own=True)
            session.add(narrow)
            session.flush()
            session.add(t.BandSegment(profile_id=narrow.id, low_mhz=5850, high_mhz=5925))
            session.get_one(t.PilotTransmitter, world.transmitters["Gil"]).kind_id = deaf.id
            session.get_one(t.Pilot, world.pilots["Lic"]).band_profile_id = narrow.id

        change(store, step)
        found = figures_of(store, world, 5740, 5820)
        assert {each.name: each.why for each in found.unserved} == {
            "Rea": "it makes none of these within 2 MHz",
            "Wim": "it makes none of these within 2 MHz",
            "Nox": "no transmitter is known for them",
            "Gil": "the goggles receive none of those that it makes",
            "Lic": "with its 20 MHz it leaves the band profile everywhere",
        }

    def test_a_wide_transmitter_needs_more_room_beside_a_neighbour(self, store: Store, world: World) -> None:
        leave_only(store, world, "Ana")
        expect(store, world, "Wim", "digital wide")
        # From 5770 the Wi-Fi's edge is 15 MHz away: room for half of 20 MHz, not of 40.
        wifi = t.Neighbour(site_id=world.site, label="Wi-Fi", centre_mhz=5795, width_mhz=20)
        change(store, lambda session: session.add(wifi))
        [unserved] = figures_of(store, world, 5769).unserved
        assert (unserved.name, unserved.why) == ("Wim", "with its 40 MHz it overlaps a neighbour everywhere")

    def test_who_went_home_or_is_not_expected_does_not_count(self, store: Store, world: World) -> None:
        expect(store, world, "Rea", "analogue R")

        def step(session: Session) -> None:
            for row in session.exec(select(t.Attendance)):
                if row.pilot_id == world.pilots["Rea"]:
                    row.checked_in_at, row.left_at = NOON, NOON

        change(store, step)
        assert figures_of(store, world, 5740).unserved == ()

    def test_who_can_not_go_below_the_ceiling_is_named(self, store: Store, world: World) -> None:
        def step(session: Session) -> None:
            session.get_one(t.TransmitterKind, world.kinds["analogue R"]).power_steps_mw = "200 600"

        change(store, step)
        expect(store, world, "Rea", "analogue R")
        # The test band's own power is 25 mW; the meet has no ceiling.
        [strong] = figures_of(store, world, 5658, 5740).too_strong
        assert (strong.name, strong.lowest_mw, strong.ceiling_mw) == ("Rea", 200, 25)


class TestTheWorstCase:
    def test_without_anybody_it_is_the_pull_alone(self, store: Store, world: World) -> None:
        leave_only(store, world)
        found = figures_of(store, world, 5658, 5740, 5820, 5917)
        assert not found.worst_with_expected
        assert found.worst == pulled([5658, 5740, 5820, 5917], 2)
        assert found.unserved == found.unmade_mhz == ()

    def test_it_goes_by_what_is_really_set(self, store: Store, world: World) -> None:
        # Plan B has 5733 where a token says 5732 (R3): that pilot really sets 5733.
        leave_only(store, world, "Ana")
        change(
            store, lambda session: setattr(session.get_one(t.TransmitterKind, world.kinds["analogue R"]), "tuning", "B")
        )
        expect(store, world, "Bea", "analogue R")
        found = figures_of(store, world, 5695, 5732)
        assert found.measures.spacing_mhz == 37
        # Bea makes nothing at 5695, so with both tokens out Ana has 5695 and Bea sets 5733 for 5732.
        assert found.worst.spacing_mhz == 38
        found = figures_of(store, world, 5732, 5769)
        assert found.worst.spacing_mhz == 36

    def test_widths_count(self, store: Store, world: World) -> None:
        leave_only(store, world)
        expect(store, world, "Wim", "digital wide")
        found = figures_of(store, world, 5660, 5735, 5839)
        # Three carriers of 40 MHz, by the rules of widths: the distance less (40 + 40)/2 - 20, and for a product
        # |p - v| - (40 - 20)/2 - (120 - 60)/2. Here 5735 - 5660 = 75 and 2 x 5735 - 5660 = 5810, 29 from 5839.
        assert found.worst == Measures(75 - 20, 29 - 10 - 30, None)
        assert found.measures == Measures(75, 29, None)

    def test_one_wide_pilot_among_others_counts_on_one_token(self, store: Store, world: World) -> None:
        leave_only(store, world, "Ana", "Bo")
        expect(store, world, "Wim", "digital wide")
        # Wim at 5660 and one of the others at 5733 (B1), less (20 + 40)/2 - 20: only one of the two can be Wim's.
        assert figures_of(store, world, 5660, 5735).worst.spacing_mhz == 5733 - 5660 - 10

    def test_a_token_that_nobody_expected_makes_counts_by_the_pull(self, store: Store, world: World) -> None:
        leave_only(store, world)
        expect(store, world, "Rea", "analogue R")
        found = figures_of(store, world, 5658, 5700)
        assert found.unmade_mhz == (5700,)
        assert found.unmade_why == ("Nobody expected can make 5700 MHz",)
        assert found.worst.spacing_mhz == 40

    def test_why_nobody_uses_a_token_is_told_by_what_stands_in_the_way(self, store: Store, world: World) -> None:
        leave_only(store, world)
        expect(store, world, "Rea", "analogue R")

        def step(session: Session) -> None:
            session.get_one(t.TransmitterKind, world.kinds["analogue R"]).goggles = "R1 R2 R3 R8"
            session.exec(select(t.BandSegment)).one().low_mhz = 5700
            session.add(t.Neighbour(site_id=world.site, label="Farm Wi-Fi", centre_mhz=5917, width_mhz=20))

        change(store, step)
        # R3 is free; R1 and R2 lie below 5700, R4 (5769) is none of the goggles', R8 is on the neighbour.
        assert figures_of(store, world, 5658, 5695, 5732, 5700, 5769, 5917).unmade_why == (
            "The band profile bars 5658, 5695 MHz for everybody expected who could make it",
            "Nobody expected can make 5700 MHz",
            "Nobody expected who can make 5769 MHz has goggles that receive it",
            "5917 MHz overlaps a neighbour with every transmitter expected that could make it",
        )

    def test_little_clearance_is_said(self, store: Store, world: World) -> None:
        # 2 x 5695 - 5658 = 5732 is 28 from 5760; 2 x 5700 - 5658 = 5742 is 2 from 5740.
        leave_only(store, world)
        assert not figures_of(store, world, 5658, 5695, 5760).is_clearance_small
        assert figures_of(store, world, 5658, 5700, 5740).is_clearance_small
        assert not figures_of(store, world, 5658, 5700).is_clearance_small


class TestAccepting:
    def accept(self, store: Store, world: World, *mhz: int, **changed: object) -> str:
        told: dict[str, object] = {"spacing_floor_mhz": 37.0, "clearance_floor_mhz": 0.0}
        order = AcceptedSet(world.meet, mhz, 37, **(told | changed))  # type: ignore[arg-type]
        return chosen_set.accept_set(store, deed(ORGANISER), order).notice

    def set_of(self, store: Store, world: World) -> list[tuple[str, str]]:
        page = chosen_set.tokens_page(store, world.meet, NOON)
        return [(token.label, token.code) for token in page.tokens if token.is_chosen]

    def test_tokens_that_are_there_are_used_and_missing_ones_made(self, store: Store, world: World) -> None:
        change(store, lambda session: setattr(session.get_one(t.Token, world.tokens["F5"]), "state", "missing"))
        usual = choosing.look_at(store, world.meet, (5658, 5760, 5820, 5671), NOON).usual
        notice = self.accept(
            store,
            world,
            5820,
            5658,
            5760,
            5671,
            spacing_floor_mhz=usual.spacing_mhz,
            clearance_floor_mhz=usual.clearance_mhz,
        )
        chosen = self.set_of(store, world)
        assert [label for label, _code in chosen] == ["R1", "5671", "F2", "F5"]
        assert chosen[0][1] == "T1"
        new = dict(chosen)
        assert new["F5"] != "T3"
        assert all(len(new[label]) == 4 and not set(new[label]) & set("01IO") for label in ("5671", "F2", "F5"))
        assert f"5671 (code {new['5671']}), F2 (code {new['F2']}), F5 (code {new['F5']})" in notice
        assert journal_kinds(store) == ["set_accepted"]

    def test_the_floors_start_at_what_the_set_reaches(self, store: Store, world: World) -> None:
        shown = choosing.look_at(store, world.meet, (5658, 5740, 5820, 5917), NOON)
        assert shown.usual == Floors(80, 2)

    def test_the_clearance_floor_counts_up_to_the_useful_one(self, store: Store, world: World) -> None:
        assert choosing.look_at(store, world.meet, (5658, 5740, 5905), NOON).usual == Floors(82, 35)

    def test_floors_do_not_start_below_zero(self, store: Store, world: World) -> None:
        expect(store, world, "Wim", "digital wide")
        assert choosing.look_at(store, world.meet, (5660, 5735, 5805), NOON).usual.clearance_mhz == 0

    def test_one_token_keeps_the_spacing_asked_for(self, store: Store, world: World) -> None:
        shown = choose(store, world, Question(1, 37, "both", ("R",))).shown
        assert shown is not None
        assert shown.usual == Floors(37, None)

    def test_lower_floors_need_a_reason(self, store: Store, world: World) -> None:
        with pytest.raises(Refused, match="lie below what the set reaches") as refused:
            self.accept(store, world, 5658, 5740, 5820, 5917)
        assert refused.value.field == "lower_floors_reason"
        assert journal_kinds(store) == []
        self.accept(store, world, 5658, 5740, 5820, 5917, lower_floors_reason="two fields")
        with store.read() as session:
            meet = session.get_one(t.Meet, world.meet)
        assert (meet.spacing_floor_mhz, meet.clearance_floor_mhz, meet.lower_floors_reason) == (37, 0, "two fields")

    @pytest.mark.parametrize("mhz", [(), (9999,)], ids=["empty", "no such frequency"])
    def test_a_set_that_can_not_be(self, store: Store, world: World, mhz: tuple[int, ...]) -> None:
        with pytest.raises(Refused):
            self.accept(store, world, *mhz)
        assert len(self.set_of(store, world)) == 4

    def test_a_token_that_is_out_can_not_leave_the_set(self, desk: Desk) -> None:
        desk.hand_out("Ana", "F1")
        with pytest.raises(Refused, match="F1 is out with Ana since 14:00, so it can't leave"):
            self.accept(desk.store, desk.world, 5658, 5820, 5917, spacing_floor_mhz=97.0, clearance_floor_mhz=35.0)
        tokens = [desk.world.tokens[label] for label in ("R1", "F5")]
        with pytest.raises(Refused, match="F1 is out with Ana"):
            chosen_set.set_tokens(desk.store, desk.deed(), desk.world.meet, tokens, with_usual_floors=False)
        assert len(self.set_of(desk.store, desk.world)) == 4
        self.accept(desk.store, desk.world, 5740, 5917, spacing_floor_mhz=177.0, clearance_floor_mhz=None)
        assert [label for label, _code in self.set_of(desk.store, desk.world)] == ["F1", "R8"]

    def test_a_resent_acceptance_makes_no_second_tokens(self, store: Store, world: World) -> None:
        order = AcceptedSet(world.meet, (5760, 5880), 37, 120, None)
        first = chosen_set.accept_set(store, deed(ORGANISER, key="the-same-key"), order)
        assert chosen_set.accept_set(store, deed(ORGANISER, key="the-same-key"), order) == first
        with store.read() as session:
            assert len(session.exec(select(t.Token).where(t.Token.nominal_mhz == 5760)).all()) == 1

    def test_by_hand_the_floors_follow_only_if_asked(self, store: Store, world: World) -> None:
        tokens = [world.tokens["R1"], world.tokens["R8"]]
        chosen_set.set_tokens(store, deed(ORGANISER), world.meet, tokens, with_usual_floors=False)
        page = chosen_set.tokens_page(store, world.meet, NOON)
        assert page.floors == Floors(37, 0)
        assert page.found is not None
        assert page.found.worst.spacing_mhz == 5917 - 5658
        chosen_set.set_tokens(store, deed(ORGANISER), world.meet, tokens, with_usual_floors=True)
        assert chosen_set.tokens_page(store, world.meet, NOON).floors == Floors(5917 - 5658, None)

    def test_a_token_that_is_not_there(self, store: Store, world: World) -> None:
        with pytest.raises(Refused, match="isn't in the club's list"):
            chosen_set.set_tokens(store, deed(ORGANISER), world.meet, [999], with_usual_floors=True)
