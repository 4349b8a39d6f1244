"""The organiser's first page: real states, the next step, the meets, the latest changes."""

from datetime import date

from sqlmodel import select

from meetapp.flows.club import club, sites, tokens
from meetapp.flows.club.club import ClubDraft, seed_catalogue
from meetapp.flows.club.organiser import organiser_home
from meetapp.flows.club.sites import SiteDraft
from meetapp.flows.deeds import Actor
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed
from tests.world import NOON, SAFETY_WORDS, World

ORGANISER = Actor("organiser", "Organiser", session_id=1)


def states(store: Store) -> dict[str, str]:
    return {step.text: step.state for step in organiser_home(store).steps}


def test_a_new_club_is_led_step_by_step(store: Store) -> None:
    with store.write() as session:
        session.add(t.Club(name="Hill Flyers", password_hash="x", safety_words=SAFETY_WORDS, made_at=NOON))
        seed_catalogue(session)
        session.commit()
    assert states(store) == {
        "Club and field address": "next",
        "Sites": "to do",
        "Transmitter kinds": "done",
        "Pilots": "to do",
        "Tokens": "to do",
        "A meet": "to do",
    }
    club.change_club(store, deed(ORGANISER), ClubDraft("Hill Flyers", "10.0.0.1", "Land.", 35))
    assert states(store)["Sites"] == "next"
    sites.add_site(store, deed(ORGANISER), SiteDraft("Hill", "Europe/Berlin", 1, ""))
    assert states(store)["Pilots"] == "next"
    with store.write() as session:
        session.add(t.Pilot(name="Gus", board_name="Gus"))
        session.commit()
    home = organiser_home(store)
    assert home.next_step is not None
    assert (home.next_step.text, states(store)["Tokens"]) == ("A meet", "to do")
    assert "1 pilot, 1 without a transmitter yet" in [step.detail for step in home.steps]
    with store.write() as session:
        session.add(t.Meet(name="First", on_date=date(2026, 12, 1), site_id=1, fly_at_once=4))
        session.commit()
    assert states(store)["Tokens"] == "next"
    tokens.make_tokens(store, deed(ORGANISER), "R1")
    assert set(states(store).values()) <= {"done"}
    assert organiser_home(store).next_step is None


def test_what_is_retired_or_withdrawn_or_closed_does_not_count(store: Store, world: World) -> None:
    with store.write() as session:
        for row in session.exec(select(t.TransmitterKind)):
            row.retired_at = NOON
        for row in session.exec(select(t.Pilot)):
            row.retired_at = NOON
        for row in session.exec(select(t.Token)):
            row.state = "withdrawn"
        session.get_one(t.Site, world.site).retired_at = NOON
        session.get_one(t.Meet, world.meet).state = "closed"
        session.commit()
    assert "done" not in states(store).values()
    assert organiser_home(store).meets == ()


def test_the_open_meet_comes_first_then_the_planned_ones_by_date(store: Store, world: World) -> None:
    with store.write() as session:
        for name, day in (("later", 20), ("sooner", 10)):
            session.add(t.Meet(name=name, on_date=date(2026, 5, day), site_id=world.site, fly_at_once=4))
        session.commit()
    assert [meet.name for meet in organiser_home(store).meets] == ["June meet", "sooner", "later"]


def test_the_latest_changes_are_told_newest_first_in_the_sites_zone(store: Store, world: World) -> None:
    club.change_club(store, deed(ORGANISER), ClubDraft("Hill Flyers", "", "Land.", 35))
    sites.add_wifi(store, deed(ORGANISER), world.site, 155, 80, "the farm")
    home = organiser_home(store)
    assert [change.sentence for change in home.changes] == [
        "At Lower Meadow: neighbour the farm, Wi-Fi 155 (80 MHz) added, 5775 MHz, 80 MHz wide",
        "The club saved: Hill Flyers, useful clearance 35 MHz",
    ]
    assert str(home.zone) == "Europe/Berlin"
