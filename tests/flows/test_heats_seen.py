"""Heats as others see them: a pilot's own page, the board, the desk, and what the closing of a meet says."""

import pytest

from meetapp.flows.desk.desk import desk_view
from meetapp.flows.heats.heats_now import OwnHeat, ShownSeat
from meetapp.flows.pilot.board import board_view
from meetapp.flows.pilot.own_view import my_view
from meetapp.flows.planning.closing import close_meet, closing_page
from tests.desk import ORGANISER, Desk
from tests.heat_desk import HeatDesk
from tests.meet_day import close_it


@pytest.fixture
def heats(desk: Desk) -> HeatDesk:
    day = HeatDesk(desk)
    day.plan(
        {"Ana": "R1", "Bo": "F1"}, {"Cy": "R8", "Di": "R1"}, {"Ed": "F5"}, {"Ana": "R1"}, rounds=(1, 1, 1, 2)
    )  # fmt: skip
    return day


def own(heats: HeatDesk, name: str) -> OwnHeat | None:
    return my_view(heats.desk.store, heats.desk.world.pilots[name], heats.desk.clock()).heat


class TestAPilot:
    def test_sees_heat_pad_channel_and_when(self, heats: HeatDesk) -> None:
        assert own(heats, "Di") == OwnHeat("Round 1, heat 2", 2, "R1", 5658, "R1", "after the next one")
        assert [own(heats, name).when for name in ("Ana", "Cy", "Ed")] == [  # type: ignore[union-attr]
            "next", "after the next one", "after the next 2 heats"
        ]  # fmt: skip
        assert own(heats, "Fay") is None

    def test_is_told_when_others_are_in_the_air(self, heats: HeatDesk) -> None:
        heats.call()
        assert own(heats, "Di").when == "next"  # type: ignore[union-attr]

    def test_has_a_place_in_the_order_of_switching_on(self, heats: HeatDesk) -> None:
        heats.desk.set_transmitter("Ana", wake_mhz=5740)
        heats.desk.set_transmitter("Bo", wake_mhz=5880)
        heats.call()
        ana, bo = own(heats, "Ana"), own(heats, "Bo")
        assert ana is not None
        assert bo is not None
        assert (ana.when, ana.place, ana.of) == ("now", 1, 2)
        assert (bo.place, bo.of) == (2, 2)

    def test_is_told_why_the_token_is_not_out(self, heats: HeatDesk) -> None:
        heats.desk.missing("R1")
        heats.call()
        ana = own(heats, "Ana")
        assert ana is not None
        assert (ana.is_now, ana.place, ana.why_waits) == (True, None, "R1 is missing")

    def test_sees_the_next_one_after_landing(self, heats: HeatDesk) -> None:
        heats.call()
        heats.call()
        assert own(heats, "Ana").title == "Round 2, heat 1"  # type: ignore[union-attr]
        assert own(heats, "Bo") is None

    def test_an_empty_heat_does_not_count(self, heats: HeatDesk) -> None:
        heats.miss(1, "Ana")
        heats.miss(1, "Bo")
        assert own(heats, "Di").when == "next"  # type: ignore[union-attr]


class TestTheBoard:
    def test_shows_the_heat_on_air_and_the_next_one(self, heats: HeatDesk) -> None:
        heats.call()
        now = board_view(heats.desk.store, heats.desk.clock()).heats
        assert now is not None
        assert (now.in_air, now.next_heat) == ("Round 1, heat 1", "Round 1, heat 2")
        assert now.next_seats == (ShownSeat("R8", 5917, "Cy"), ShownSeat("R1", 5658, "Di"))

    def test_without_heats_it_shows_none(self, desk: Desk) -> None:
        assert board_view(desk.store, desk.clock()).heats is None
        assert desk_view(desk.store, desk.world.meet, desk.clock(), desk.actor).heats is None


class TestClosing:
    def test_says_what_is_open(self, heats: HeatDesk) -> None:
        heats.call()
        page = closing_page(heats.desk.store, heats.desk.world.meet)
        assert (page.heat_in_air, page.heats_to_come) == ("Round 1, heat 1", 3)

    def test_the_heat_in_the_air_ends_as_flown(self, heats: HeatDesk) -> None:
        heats.desk.missing("F1")
        heats.call()
        close_it(heats.desk)
        assert [heat.state for heat in heats.heats()] == ["flown", "planned", "planned", "planned"]
        assert [gap.why for gap in heats.heat(1).gaps] == ["no_token"]
        assert heats.heat(1).still_up == frozenset()
        assert heats.desk.kinds()[-4:] == ["heat_flown", "heat_no_token", "taken_back", "meet_closed"]

    def test_a_call_without_a_token_is_none(self, heats: HeatDesk) -> None:
        for label in ("R1", "F1"):
            heats.desk.missing(label)
        heats.call()
        close_meet(heats.desk.store, heats.desk.acting(ORGANISER).deed(), heats.desk.world.meet, {})
        assert heats.states()[0] == (1, "planned")
