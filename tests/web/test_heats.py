"""The organiser's pages of heats, by the words on them."""

from collections.abc import Callable

import pytest

from meetapp.config import Settings
from meetapp.main import create_app
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import Desk
from tests.heat_day import HeatDay
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, post, press_twice
from tests.world import ORGANISER_PASSWORD, Clock, World


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
        assert "with 2 heats in a round, their sizes differing by at most one, if nobody" in organiser.text
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


def test_a_search_that_is_over_at_once_still_shows_heats(
    store: Store, world: World, clock: Clock, day: HeatDay
) -> None:
    app = create_app(Settings(database_url=store.url, search_seconds=1e-9), clock)
    person = Surfer(app)
    person.sign_in_organiser(ORGANISER_PASSWORD)
    person.open(f"{heats_at(world)}/plan")
    person.press("Look at the heats", size=3, rounds=2)
    assert "Nothing is written yet." in person.text
    person.press("Make these heats")
    assert day.flying() == [["Ana", "Bo", "Cy", "Di", "Ed", "Fay"]] * 2
    app.state.meetapp.store.close()


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


class TestOutOfDate:
    def test_another_transmitter_and_a_pilot_who_went_home_are_named(
        self, organiser: Surfer, world: World, day: HeatDay
    ) -> None:
        day.make(size=3, rounds=1)
        organiser.open(heats_at(world))
        assert "don't fit any more" not in organiser.text
        day.desk.set_transmitter("Cy", kind_id=world.kinds["digital wide"])
        (attendance,) = day.desk.rows(t.Attendance, pilot_id=world.pilots["Ed"])
        day.desk.set_row(t.Attendance, attendance.id, left_at=day.desk.clock())
        organiser.open(heats_at(world))
        assert "Ed has a seat and went home" in organiser.text
        assert "Cy flies another transmitter, or with another token, than these heats were made for" in organiser.text


class TestChanging:
    @pytest.fixture
    def made(self, day: HeatDay) -> HeatDay:
        day.make(size=2, rounds=1)
        return day

    def open_seat(self, organiser: Surfer, made: HeatDay, name: str) -> None:
        organiser.open(heats_at(made.desk.world))
        pilot_id = made.desk.world.pilots[name]
        link = organiser.page.find("a", href=lambda href: href and href.endswith(f"/pilots/{pilot_id}"))
        assert link is not None
        organiser.open(str(link["href"]))
        assert organiser.page.find("h1").get_text() == name  # type: ignore[union-attr]

    def test_a_swap_is_looked_at_and_then_done(self, organiser: Surfer, made: HeatDay) -> None:
        first, second, _third = made.by_names()[0]
        self.open_seat(organiser, made, first[0])
        choices = organiser.page.find("select", {"name": "other"}).find_all("option")  # type: ignore[union-attr]
        other = next(choice["value"] for choice in choices if second[0] in choice.get_text())
        organiser.press("Look at this swap", other=other)
        assert f"{first[0]} and {second[0]} swap heats in round 1." in organiser.text
        assert "Who is told something new 2" in organiser.text
        assert "Nothing is written yet." in organiser.text
        assert made.by_names()[0][0] == first
        press_twice(organiser, "Do it")
        assert f"Tell {first[0]}, {second[0]}." in organiser.text
        assert made.by_names()[0][0] == sorted([second[0], first[1]])

    def test_another_channel_and_pad(self, organiser: Surfer, made: HeatDay) -> None:
        self.open_seat(organiser, made, "Ana")
        heat = next(heat for heat in made.heats() if made.desk.world.pilots["Ana"] in heat.pilots)
        free = min({5658, 5740, 5820, 5917} - {seat.mhz for seat in heat.seats})
        organiser.press("Look at this channel and pad", mhz=free)
        organiser.press("Do it")
        seat = next(heat for heat in made.heats() if made.desk.world.pilots["Ana"] in heat.pilots).seat_of(
            made.desk.world.pilots["Ana"]
        )
        assert seat is not None
        assert seat.mhz == free

    def test_no_more_heats_and_fitted_in_again(self, organiser: Surfer, made: HeatDay) -> None:
        self.open_seat(organiser, made, "Ana")
        organiser.press("Look at taking them out")
        assert "no seat" in organiser.text
        organiser.press("Do it")
        assert "Ana flies in no more heats; their places stay empty." in organiser.text
        assert "Not in it: Ana (flies in no more heats)" in organiser.text
        assert not any("Ana" in row.get_text() for row in organiser.page.find_all("tr"))
        organiser.follow("Fit in")
        assert "Ana flies in the rounds to come." in organiser.text
        organiser.press("Do it")
        assert made.flying() == [["Ana", "Bo", "Cy", "Di", "Ed", "Fay"]]

    def test_below_a_floor_takes_a_reason(self, organiser: Surfer, made: HeatDay, store: Store) -> None:
        with store.write() as session:
            token = t.Token(code="T9", label="A8", nominal_mhz=5725, state_since=made.desk.clock())
            session.add(token)
            session.flush()
            session.add(t.MeetToken(meet_id=made.desk.world.meet, token_id=token.id))
            session.commit()
        pilots = made.desk.world.pilots
        made.make(size=2, rounds=1, names=("Ana", "Bo"))
        seats = {seat.pilot_id: seat.mhz for seat in made.heats()[0].seats}
        who = "Ana" if seats[pilots["Ana"]] != 5740 else "Bo"
        other = "Bo" if who == "Ana" else "Ana"
        self.open_seat(organiser, made, other)
        if seats[pilots[other]] != 5740:
            organiser.press("Look at this channel and pad", mhz=5740)
            organiser.press("Do it")
        self.open_seat(organiser, made, who)
        organiser.press("Look at this channel and pad", mhz=5725)
        assert "Below a floor of this meet" in organiser.text
        organiser.press("Do it all the same", override_reason="")
        assert organiser.status == 422
        assert "write down why" in organiser.text
        organiser.press("Do it all the same", override_reason="a demonstration")
        assert journal_kinds(store)[-2:] == ["heat_seat_changed", "override"]

    def test_a_change_that_says_nothing(self, organiser: Surfer, made: HeatDay) -> None:
        organiser.open(f"{heats_at(made.desk.world)}/change?what=swap&pilot=1&heat=1")
        assert organiser.status == 422
        assert "Choose whom to swap with." in organiser.text
        assert "Round 1, heat 1" in organiser.text
        organiser.open(f"{heats_at(made.desk.world)}/change?what=move&pilot=1&heat=1")
        assert "Choose the heat to fly in." in organiser.text
        ana = made.desk.world.pilots["Ana"]
        heat = next(heat for heat in made.heats() if ana in heat.pilots)
        organiser.open(f"{heats_at(made.desk.world)}/change?what=seat&pilot={ana}&heat={heat.heat_id}&pad=2&everywhere=on")
        assert organiser.status == 422
        assert "Choose the channel." in organiser.text
        assert organiser.page.find("input", {"name": "everywhere"}).has_attr("checked")
        organiser.open(f"{heats_at(made.desk.world)}/change?what=nothing")
        assert organiser.status == 422

    def test_a_change_that_cant_be_is_said_above_the_heats(self, organiser: Surfer, made: HeatDay) -> None:
        pilot = made.desk.world.pilots["Ana"]
        organiser.open(f"{heats_at(made.desk.world)}/change?what=fit-in&pilot={pilot}")
        assert "Ana has a seat in every round that is not over." in organiser.text
        assert "Round 1, heat 1" in organiser.text
        made.fly(3)
        post(organiser, f"{heats_at(made.desk.world)}/change", what="take-out", pilot=pilot, basis="another")
        assert organiser.status == 422
        assert "This pilot has no seat there any more." in organiser.text

    def test_done_only_as_it_was_looked_at(self, organiser: Surfer, made: HeatDay) -> None:
        pilot = made.desk.world.pilots["Ana"]
        post(organiser, f"{heats_at(made.desk.world)}/change", what="take-out", pilot=pilot, basis="another")
        assert organiser.status == 409
        assert "have changed since you looked" in organiser.text
        assert "Ana" in made.flying()[0]
        organiser.press("Do it")
        assert "Ana" not in made.flying()[0]

    def test_only_the_organiser(self, marshal: Surfer, made: HeatDay) -> None:
        post(marshal, f"{heats_at(made.desk.world)}/change", what="take-out", pilot=1, basis="x")
        assert marshal.status == 403


class TestLateAtTheDesk:
    def test_a_marshal_fits_in_who_comes_late(self, marshal: Surfer, world: World, day: HeatDay) -> None:
        day.make(size=3, rounds=2, names=("Ana", "Bo", "Cy", "Di", "Ed"))
        marshal.open("/desk/fit-in")
        marshal.follow("Fit in")
        assert "Fay flies in the rounds to come." in marshal.text
        press_twice(marshal, "Do it")
        assert "Tell Fay." in marshal.text
        assert "Everybody who is here has a seat in a heat to come." in marshal.text
        assert ["Fay" in names for names in day.flying()] == [True, True]

    def test_what_cant_be_is_said_above_the_list(self, marshal: Surfer, world: World, day: HeatDay) -> None:
        marshal.open("/desk/fit-in")
        assert "No heat is to come." in marshal.text
        day.make(size=3, rounds=1)
        marshal.open(f"/desk/fit-in?pilot={world.pilots['Ana']}")
        assert marshal.status == 422
        assert "Ana has a seat in every round that is not over." in marshal.text
        marshal.open("/desk/fit-in?pilot=x")
        assert marshal.status == 422

    def test_done_only_as_it_was_looked_at(self, marshal: Surfer, world: World, day: HeatDay) -> None:
        day.make(size=3, rounds=1, names=("Ana", "Bo"))
        post(marshal, "/desk/fit-in", pilot=world.pilots["Cy"], basis="another")
        assert marshal.status == 409
        assert day.flying() == [["Ana", "Bo"]]
        marshal.press("Do it")
        assert day.flying() == [["Ana", "Bo", "Cy"]]

    def test_only_who_keeps_the_desk(self, surfer: Callable[[], Surfer], world: World) -> None:
        stranger = surfer()
        stranger.open("/desk/fit-in")
        assert stranger.path == "/desk/join"


class TestPrint:
    def test_the_heats_round_by_round_and_pilot_by_pilot(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        day.make(size=3, rounds=2)
        organiser.open(heats_at(world))
        organiser.follow("Print")
        assert organiser.page.find("h1").get_text() == "Heats"  # type: ignore[union-attr]
        assert [heading.get_text() for heading in organiser.page.find_all("h2")] == ["Round 1", "Round 2", "By pilot"]
        tables = organiser.page.find_all("table")
        assert len(tables) == 5
        for heat, table in zip(day.heats(), tables, strict=False):
            rows = [[cell.get_text() for cell in row.find_all("td")] for row in table.find_all("tr")[1:]]
            names = {pilot_id: name for name, pilot_id in world.pilots.items()}
            assert rows == [
                [str(seat.pad), names[seat.pilot_id], f"{seat.label}, {seat.mhz} MHz"] for seat in heat.seats
            ]
        own = [cell.get_text() for cell in tables[-1].find_all("th", {"scope": "rowgroup"})]
        assert own == ["Ana", "Bo", "Cy", "Di", "Ed", "Fay"]
        assert len(tables[-1].find_all("tr")) == 1 + 12
        assert "No power before you hold the token." in organiser.text

    def test_a_token_called_otherwise_and_another_width_are_named(
        self, organiser: Surfer, world: World, day: HeatDay, store: Store
    ) -> None:
        with store.write() as session:
            for name, token_id in world.tokens.items():
                session.get_one(t.Token, token_id).label = f"A{name}"
            for kind_id in world.kinds.values():
                session.get_one(t.TransmitterKind, kind_id).width_mhz = 17.5
            session.commit()
        day.make(size=1, rounds=1)
        seat = day.heats()[0].seats[0]
        token = next(each for each in day.ground().snapshot.tokens if each.nominal_mhz == seat.mhz)
        words = f"token {token.label}, sets {seat.label}, {seat.mhz} MHz, 17.5 MHz wide"
        organiser.open(heats_at(world))
        assert organiser.page.find_all("td")[2].get_text() == words
        organiser.open(f"{heats_at(world)}/print")
        tables = organiser.page.find_all("table")
        assert tables[0].find_all("td")[2].get_text() == words
        assert words in [cell.get_text() for cell in tables[-1].find_all("td")]

    def test_the_drawing_says_what_the_table_says(self, organiser: Surfer, world: World, day: HeatDay) -> None:
        day.make(size=3, rounds=1, pads=5)
        organiser.open(f"{heats_at(world)}/print")
        heat = day.heats()[0]
        told = organiser.page.find("desc").get_text()  # type: ignore[union-attr]
        assert told == "; ".join(f"pad {seat.pad}: {seat.label}" for seat in heat.seats) + ". The table says the same."

    def test_a_meet_without_heats(self, organiser: Surfer, world: World) -> None:
        organiser.open(f"{heats_at(world)}/print")
        assert "This meet has no heats." in organiser.text
