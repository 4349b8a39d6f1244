"""The page that deletes pilots' names: said first, ticked, done once."""

from collections.abc import Callable

from meetapp.store.engine import Store
from tests.desk import Desk
from tests.meet_day import close_it
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, opens_for_the_organiser_only, post, press_twice
from tests.world import Clock, World

PAGE = "/organiser/pilots/names"


def test_the_page_is_the_organisers(marshal: Surfer, surfer: Callable[[], Surfer]) -> None:
    opens_for_the_organiser_only(marshal, surfer(), PAGE)
    post(marshal, PAGE, pilot_id="1", understood="yes")
    assert marshal.status == 403


def test_a_name_is_deleted_from_the_pilots_own_page_once_it_is_understood(
    organiser: Surfer, store: Store, world: World, clock: Clock
) -> None:
    close_it(Desk(store, world, clock))
    organiser.open(f"/organiser/pilots/{world.pilots['Bo']}")
    organiser.follow("Delete the name")
    assert "can't be brought back" in organiser.text
    assert "backups and older copies" in organiser.text
    organiser.press("Delete the ticked names")
    assert organiser.status == 422
    assert "Tick that it can't be taken back." in organiser.text
    lines = journal_kinds(store)
    first, second = press_twice(organiser, "Delete the ticked names", understood="yes")
    assert first == second
    assert journal_kinds(store) == [*lines, "name_deleted"]
    assert "The name is deleted." in organiser.text
    assert "Bo" not in organiser.text.split()
    organiser.open(f"/organiser/pilots/{world.pilots['Bo']}")
    assert organiser.status == 404


def test_those_not_seen_for_long_are_ticked_and_those_who_never_came_are_not(
    organiser: Surfer, store: Store, world: World, clock: Clock
) -> None:
    close_it(Desk(store, world, clock))
    post(organiser, "/organiser/pilots/new", name="Newt")
    organiser.open(PAGE)
    organiser.press("Show these names", months="1")
    assert [box["value"] for box in organiser.page.find_all("input", {"name": "pilot_id"})] == ["7"]
    clock.now = clock.now.replace(year=2029)
    organiser.sign_in_organiser("kitchen-table")
    organiser.open(PAGE)
    organiser.press("Show these names", months="24")
    boxes = organiser.page.find_all("input", {"name": "pilot_id"})
    assert [box.has_attr("checked") for box in boxes] == [True] * 6 + [False]
    organiser.press("Delete the ticked names", understood="yes")
    assert "6 names are deleted." in organiser.text
    organiser.open(PAGE)
    organiser.press("Show these names", months="")
    assert organiser.status == 200
    organiser.press("Show these names", months="none")
    assert organiser.status == 422
    assert "must be a whole number" in organiser.text


def test_nobody_at_the_open_meet_is_deleted_and_the_page_keeps_the_ticks(organiser: Surfer, world: World) -> None:
    organiser.open(f"{PAGE}?pilot_id={world.pilots['Ana']}")
    organiser.press("Delete the ticked names", understood="yes")
    assert organiser.status == 422
    assert "Ana is at 'June meet' now." in organiser.text
    assert organiser.page.find("input", {"name": "pilot_id", "checked": True})
