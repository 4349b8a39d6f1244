"""The organiser's pages of heats, by the words on them."""

from collections.abc import Callable

import pytest

from meetapp.store.engine import Store
from tests.desk import Desk
from tests.heat_day import HeatDay
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import World


@pytest.fixture
def day(store: Store, world: World) -> HeatDay:
    return HeatDay(Desk(store, world))


def heats_at(world: World) -> str:
    return f"/organiser/meets/{world.meet}/heats"


class TestPlanning:
    def test_from_the_meet_to_heats_made(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        organiser.open(f"/organiser/meets/{world.meet}")
        organiser.follow("Heats")
        assert "No heats yet." in organiser.text
        organiser.follow("Plan heats")
        organiser.press("Look at the heats", size=3, rounds=2)
        assert "Nothing is written yet." in organiser.text
        assert "Heats in a round 2 (proven: no plan has fewer)" in organiser.text
        assert "Channel changes 0 over the day (proven: no plan has fewer)" in organiser.text
        assert "differ by at most one" in organiser.text
        assert "over all pilots (proven: no plan has more than" in organiser.text
        assert "no promise of a clear picture" in organiser.text
        assert day.heats() == ()
        organiser.press("Make these heats")
        assert organiser.path == heats_at(world)
        assert "4 heats made." in organiser.text
        assert [heading.get_text() for heading in organiser.page.find_all("h3")] == [
            "Round 1, heat 1", "Round 1, heat 2", "Round 2, heat 1", "Round 2, heat 2"
        ]  # fmt: skip
        assert len(day.heats()) == 4

    def test_the_heats_made_are_those_that_were_looked_at(
        self, organiser: Surfer, world: World, day: HeatDay
    ) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=4, rounds=1)
        looked_at = [table.get_text(" ", strip=True) for table in organiser.page.find_all("table")]
        organiser.press("Make these heats")
        assert [table.get_text(" ", strip=True) for table in organiser.page.find_all("table")] == looked_at

    def test_each_heat_shows_spacing_and_both_clearances(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        four = [world.pilots[name] for name in ("Ana", "Bo", "Cy", "Di")]
        organiser.press("Look at the heats", size=4, rounds=1, pilot=four)
        assert "spacing 80 MHz, two-signal clearance 2 MHz, three-signal 15 MHz" in organiser.text

    def test_who_flies_is_ticked(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        ticked = [box["value"] for box in organiser.page.find_all("input", {"name": "pilot", "checked": True})]
        assert ticked == [str(world.pilots[name]) for name in ("Ana", "Bo", "Cy", "Di", "Ed", "Fay")]
        organiser.press("Look at the heats", size=2, rounds=1, pilot=[world.pilots["Bo"], world.pilots["Di"]])
        organiser.press("Make these heats")
        assert day.by_names() == [[["Bo", "Di"]]]

    def test_what_cant_be_met_says_with_whom_and_what_frees_it(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=6, rounds=1)
        assert "What can't be met" in organiser.text
        assert "It lies with: Ana, Bo, Cy, Di, Ed, Fay." in organiser.text

    def test_a_wrong_question_keeps_what_was_typed(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=4, rounds="many", pads=6)
        assert organiser.status == 422
        assert "The rounds must be a whole number." in organiser.text
        assert organiser.page.find("input", {"name": "rounds"})["value"] == "many"  # type: ignore[index]
        assert organiser.page.find("input", {"name": "pads"})["value"] == "6"  # type: ignore[index]

    def test_a_line_too_short_for_a_heat(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=4, rounds=1, pads=3)
        assert organiser.status == 422
        assert "A start line of 3 places is too short for heats of 4." in organiser.text

    def test_made_twice_by_a_resend_is_made_once(self, organiser: Surfer, world: World, store: Store) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=3, rounds=1)
        press_twice(organiser, "Make these heats")
        assert journal_kinds(store) == ["heats_made"]

    def test_a_field_that_changed_meanwhile_shows_the_question_again(
        self, organiser: Surfer, world: World, day: HeatDay
    ) -> None:
        organiser.open(f"{heats_at(world)}/plan")
        organiser.press("Look at the heats", size=3, rounds=1)
        day.desk.lend_ground("finish camera", 5740)
        organiser.press("Make these heats")
        assert organiser.status == 409
        assert "The field has changed since these heats were planned." in organiser.text
        assert organiser.page.find("input", {"name": "size"})["value"] == "3"  # type: ignore[index]
        organiser.press("Look at the heats")
        organiser.press("Make these heats")
        assert day.heats()

    def test_heats_made_up_by_hand_are_refused(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        post(organiser, f"{heats_at(world)}/make", plan="eJyLjgUAARUAuQ==.0123")
        assert organiser.status == 409
        assert "can't be read any more" in organiser.text
        assert day.heats() == ()

    def test_only_the_organiser(self, marshal: Surfer, world: World, surfer: Callable[[], Surfer]) -> None:
        for path in (heats_at(world), f"{heats_at(world)}/plan"):
            marshal.open(path)
            assert marshal.status == 403
        post(marshal, f"{heats_at(world)}/make", plan="x")
        assert marshal.status == 403
        stranger = surfer()
        stranger.open(heats_at(world))
        assert stranger.path == "/sign-in"

    def test_a_meet_that_isnt_there(self, organiser: Surfer) -> None:
        organiser.open("/organiser/meets/999/heats")
        assert organiser.status == 404
        organiser.open("/organiser/meets/999/heats/plan")
        assert organiser.status == 404


class TestAgain:
    def test_what_has_begun_stays(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        day.make(size=2, rounds=2)
        day.fly(1)
        first = day.heats()[0]
        organiser.open(heats_at(world))
        assert "flown" in organiser.text
        organiser.follow("Plan again")
        organiser.press("Look at the heats", size=3)
        assert "The heat that has begun stays as it is. The 5 still to come are replaced." in organiser.text
        organiser.press("Make these heats")
        assert day.heats()[0] == first
