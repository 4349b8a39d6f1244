"""The club's pilots and their transmitters: added, changed, retired, brought back."""

import pytest
from sqlmodel import select

from meetapp.flows.club import named_rows, own_links, pilots, transmitters
from meetapp.flows.club.pilots import PilotDraft
from meetapp.flows.club.transmitters import TransmitterDraft
from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Conflict, NotFound, Refused
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.desk import Desk
from tests.world import NOON, World

ORGANISER = Actor("organiser", "Organiser", session_id=1)


def kit(world: World, kind: str = "analogue R", nickname: str = "", wake: str = "") -> TransmitterDraft:
    return TransmitterDraft(world.kinds[kind], nickname, wake)


def test_a_pilot_is_added_with_a_first_transmitter(store: Store, world: World) -> None:
    draft = PilotDraft(" Gus \n Grey ", "", None)
    made = pilots.add_pilot(store, deed(ORGANISER), draft, kit(world, wake="r3")).made_id
    assert made is not None
    view = pilots.pilot_view(store, made)
    assert (view.name, view.board_name, view.link) == ("Gus Grey", "Gus Grey", "none")
    [own] = view.transmitters
    assert (own.kind_name, own.wakes_on) == ("analogue R", "R3")
    assert journal_kinds(store) == ["pilot_added"]


def test_names_of_people_stay_out_of_the_journals_facts(store: Store, world: World) -> None:
    pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Gus Grey", "Gus", None), None)
    with store.read() as session:
        facts = session.exec(select(t.JournalLine.facts)).all()
    assert "Gus" not in str(facts)


def test_the_same_form_twice_adds_one_pilot(store: Store, world: World) -> None:
    first = pilots.add_pilot(store, deed(ORGANISER, key="a-key-of-a-form"), PilotDraft("Gus", "", None), None)
    assert pilots.add_pilot(store, deed(ORGANISER, key="a-key-of-a-form"), PilotDraft("Gus", "", None), None) == first
    with pytest.raises(Conflict):
        pilots.add_pilot(store, deed(ORGANISER, key="a-key-of-a-form", digest="x"), PilotDraft("Al", "", None), None)
    assert pilots.list_pilots(store).flying_count == 7


@pytest.mark.parametrize(
    ("draft", "field", "words"),
    [
        (PilotDraft("ANA", "other", None), "name", "There is a pilot named Ana already"),
        (PilotDraft("Anabel", " ana ", None), "board_name", "The board calls Ana 'Ana' already"),
        (PilotDraft("Gus", "", 99), "band_profile_id", "isn't offered any more"),
    ],
    ids=["name taken", "board name taken", "no profile"],
)
def test_a_pilot_that_can_not_be_told_apart_is_refused(
    store: Store, world: World, draft: PilotDraft, field: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        pilots.add_pilot(store, deed(ORGANISER), draft, None)
    assert refused.value.field == field
    assert pilots.list_pilots(store).flying_count == 6


@pytest.mark.parametrize(
    ("wake", "words"),
    [
        ("R9", "'R9' is no plan, channel"),
        ("A B", "is not one channel"),
        ("R", "is not one channel"),
        ("F1", "can't wake on F1"),
        ("5741", "can't wake on 5741 MHz"),
        ("574", "is not near 5.8 GHz"),
    ],
)
def test_a_wake_channel_that_the_kind_can_not_make_is_refused_and_nobody_is_added(
    store: Store, world: World, wake: str, words: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Gus", "", None), kit(world, wake=wake))
    assert refused.value.field == "wake"
    assert pilots.list_pilots(store).flying_count == 6


@pytest.mark.parametrize(
    ("typed", "shown"), [("", ""), ("?", ""), ("Unknown", ""), ("r3", "R3"), ("5732", "R3"), ("5732 MHz", "R3")]
)
def test_a_wake_channel_is_a_label_or_mhz_or_not_known(store: Store, world: World, typed: str, shown: str) -> None:
    ana = world.pilots["Ana"]
    transmitters.add_transmitter(store, deed(ORGANISER), ana, kit(world, nickname="spare", wake=typed))
    assert [own.wakes_on for own in pilots.pilot_view(store, ana).transmitters] == ["", shown]


def test_a_transmitter_is_changed_retired_and_brought_back(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    made = transmitters.add_transmitter(store, deed(ORGANISER), ana, kit(world, nickname="spare")).made_id
    assert made is not None
    transmitters.change_transmitter(
        store, deed(ORGANISER), ana, made, kit(world, "analogue 40", "spare two", "A1")
    )
    view = transmitters.transmitter_view(store, ana, made)
    assert (view.nickname, view.wake, view.kind_id) == ("spare two", "A1", world.kinds["analogue 40"])
    transmitters.retire_transmitter(store, deed(ORGANISER), ana, made)
    transmitters.retire_transmitter(store, deed(ORGANISER), ana, made)
    assert pilots.pilot_view(store, ana).transmitters[-1].is_retired
    transmitters.bring_back_transmitter(store, deed(ORGANISER), ana, made)
    assert not pilots.pilot_view(store, ana).transmitters[-1].is_retired
    assert journal_kinds(store) == [
        "transmitter_added",
        "transmitter_changed",
        "transmitter_retired",
        "transmitter_brought_back",
    ]


def test_a_transmitter_on_air_is_left_to_the_desk(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    ana, own = desk.world.pilots["Ana"], desk.world.transmitters["Ana"]
    for refused in (
        lambda: transmitters.retire_transmitter(desk.store, deed(ORGANISER), ana, own),
        lambda: transmitters.change_transmitter(desk.store, deed(ORGANISER), ana, own, kit(desk.world)),
    ):
        with pytest.raises(Refused, match="on air on R1"):
            refused()
    desk.take_back("Ana")
    transmitters.retire_transmitter(desk.store, deed(ORGANISER), ana, own)


def test_somebody_elses_transmitter_is_not_found(store: Store, world: World) -> None:
    with pytest.raises(NotFound):
        transmitters.transmitter_view(store, world.pilots["Ana"], world.transmitters["Bo"])


def test_a_retired_kind_stays_with_its_transmitters_and_is_not_offered(store: Store, world: World) -> None:
    ana, own = world.pilots["Ana"], world.transmitters["Ana"]
    named_rows.retire(store, deed(ORGANISER), named_rows.KINDS, world.kinds["analogue 40"])
    transmitters.change_transmitter(store, deed(ORGANISER), ana, own, kit(world, "analogue 40", wake="R1"))
    with pytest.raises(Refused, match="isn't offered any more"):
        transmitters.add_transmitter(store, deed(ORGANISER), ana, kit(world, "analogue 40"))
    assert world.kinds["analogue 40"] in dict(transmitters.transmitter_view(store, ana, own).kinds)
    assert world.kinds["analogue 40"] not in dict(transmitters.new_transmitter_view(store, ana).kinds)


def test_a_pilot_is_retired_and_brought_back(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    pilots.retire_pilot(store, deed(ORGANISER), ana)
    pilots.retire_pilot(store, deed(ORGANISER), ana)
    listed = pilots.list_pilots(store)
    assert (listed.flying_count, listed.retired_count, listed.rows[-1].name) == (5, 1, "Ana")
    pilots.bring_back_pilot(store, deed(ORGANISER), ana)
    pilots.bring_back_pilot(store, deed(ORGANISER), ana)
    assert pilots.list_pilots(store).rows[0].name == "Ana"
    assert journal_kinds(store) == ["pilot_retired", "pilot_brought_back"]


def test_a_pilot_on_air_is_not_retired_and_the_sentence_says_since_when(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    # Noon UTC in June is 14:00 at the site.
    with pytest.raises(Refused, match="Ana is on air on R1 since 14:00"):
        pilots.retire_pilot(desk.store, deed(ORGANISER), desk.world.pilots["Ana"])


def test_a_pilot_in_the_line_is_not_retired(desk: Desk) -> None:
    desk.join("Ana")
    with pytest.raises(Refused, match="Ana stands in the waiting line"):
        pilots.retire_pilot(desk.store, deed(ORGANISER), desk.world.pilots["Ana"])


def test_the_board_name_of_a_retired_pilot_can_be_taken_and_then_they_do_not_come_back_under_it(
    store: Store, world: World
) -> None:
    pilots.retire_pilot(store, deed(ORGANISER), world.pilots["Ana"])
    pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Anabel", "Ana", None), None)
    with pytest.raises(Refused, match="The board calls Anabel 'Ana' already"):
        pilots.bring_back_pilot(store, deed(ORGANISER), world.pilots["Ana"])


def test_the_name_of_a_retired_pilot_leads_back_to_them(store: Store, world: World) -> None:
    pilots.retire_pilot(store, deed(ORGANISER), world.pilots["Ana"])
    with pytest.raises(Refused) as refused:
        pilots.add_pilot(store, deed(ORGANISER), PilotDraft("Ana", "", None), None)
    assert refused.value.hint == "Bring that one back."


def test_a_pilot_is_changed_and_may_keep_their_own_names(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    pilots.change_pilot(store, deed(ORGANISER), ana, PilotDraft("Ana", "Ace", world.band))
    view = pilots.pilot_view(store, ana)
    assert (view.name, view.board_name, view.band_profile_id) == ("Ana", "Ace", world.band)


def test_the_page_says_how_the_link_stands(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    own_links.new_link(store, deed(ORGANISER), ana, "a-secret-for-ana")
    assert pilots.pilot_view(store, ana).link == "given"
    own_links.open_link(store, "a-secret-for-ana", NOON)
    assert pilots.pilot_view(store, ana).link == "bound"


def test_the_list_is_searched_by_either_name_and_says_how_many_more(store: Store, world: World) -> None:
    pilots.change_pilot(store, deed(ORGANISER), world.pilots["Ana"], PilotDraft("Ana", "Zorro", None))
    assert [row.name for row in pilots.list_pilots(store, "zor").rows] == ["Ana"]
    assert [row.name for row in pilots.list_pilots(store, " e ").rows] == ["Ed"]
    with store.write() as session:
        session.add_all(t.Pilot(name=f"P{place:04}", board_name=f"P{place:04}") for place in range(300))
        session.commit()
    many = pilots.list_pilots(store, "p0")
    assert (len(many.rows), many.more) == (pilots.SHOWN_AT_MOST, 100)


def test_a_pilot_that_is_not_there_is_said_so(store: Store, world: World) -> None:
    with pytest.raises(NotFound):
        pilots.pilot_view(store, 99)
