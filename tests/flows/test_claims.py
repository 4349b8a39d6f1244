"""Names are claimed once; newcomers add themselves; the desk gives out new links."""

import threading
from datetime import timedelta

import pytest
from sqlmodel import Session, select

from meetapp.flows import access
from meetapp.flows.club import own_links
from meetapp.flows.deeds import Actor, Answer
from meetapp.flows.errors import Conflict, Forbidden, MeetError, NotFound, Refused
from meetapp.flows.pilot import claims
from meetapp.flows.pilot.claims import Claim, Newcomer
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.flows.secrets import new_secret, secret_hash
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import NOON, World, add_pilot, make_world

STRANGER = Actor("pilot", "somebody")


def claim(store: Store, pilot_id: int, secret: str = "own-secret", brought: Brought | None = None) -> Answer:
    return claims.claim(store, deed(STRANGER), Claim(pilot_id, brought or Brought(), True), secret)


def add(store: Store, world: World, name: str, kind: str = "analogue 40", wake_mhz: int | None = None) -> int:
    with store.write() as session:
        pilot_id = add_pilot(session, world, name, kind, wake_mhz)
        session.commit()
    return pilot_id


def pilot_row(store: Store, pilot_id: int) -> t.Pilot:
    with store.read() as session:
        return session.get_one(t.Pilot, pilot_id)


def attendance(store: Store, pilot_id: int) -> t.Attendance:
    with store.read() as session:
        return session.exec(select(t.Attendance).where(t.Attendance.pilot_id == pilot_id)).one()


def close_the_meet(store: Store) -> None:
    with store.write() as session:
        meet = session.exec(select(t.Meet)).one()
        meet.state, meet.closed_at = "closed", NOON
        session.add(meet)
        session.commit()


def test_the_list_names_expected_pilots_first_and_no_claimed_ones(store: Store, world: World) -> None:
    add(store, world, "Abe")
    claim(store, world.pilots["Bo"])
    names = [name.board_name for name in claims.join_view(store).names]
    assert names == ["Ana", "Cy", "Di", "Ed", "Fay", "Abe"]


def test_a_search_also_finds_taken_names_and_says_so(store: Store, world: World) -> None:
    claim(store, world.pilots["Bo"])
    [found] = claims.join_view(store, " BO ").names
    assert (found.board_name, found.is_taken) == ("Bo", True)


def test_a_long_list_is_cut_and_says_how_many_more_there_are(store: Store, world: World) -> None:
    for number in range(claims.SHOWN_AT_MOST):
        add(store, world, f"Pilot {number:03}")
    view = claims.join_view(store)
    assert (len(view.names), view.more) == (claims.SHOWN_AT_MOST, 6)


def test_without_an_open_meet_there_is_no_list(store: Store, world: World) -> None:
    close_the_meet(store)
    assert claims.join_view(store).meet_name is None


def test_a_claim_binds_the_name_checks_in_and_writes_the_journal(store: Store, world: World) -> None:
    gus = add(store, world, "Gus")
    answer = claim(store, gus, "s3cret", Brought(transmitter_id=world.transmitters["Gus"]))
    assert answer.location == "/my"
    assert pilot_row(store, gus).link_hash == secret_hash("s3cret")
    assert attendance(store, gus).checked_in_at == NOON
    assert attendance(store, gus).transmitter_id == world.transmitters["Gus"]
    assert journal_kinds(store) == ["name_claimed"]


def test_the_only_transmitter_is_todays_where_nothing_else_is_said(store: Store, world: World) -> None:
    gus = add(store, world, "Gus")
    claim(store, gus)
    assert attendance(store, gus).transmitter_id == world.transmitters["Gus"]


def test_nothing_that_is_kept_holds_the_secret_itself(store: Store, world: World) -> None:
    secret = new_secret()
    claim(store, world.pilots["Ana"], secret)
    with store.read() as session:
        kept = [str(row.answer) for row in session.exec(select(t.Operation))]
        kept += [str(row.facts) for row in session.exec(select(t.JournalLine))]
    assert not any(secret in text for text in kept)


def test_a_second_claim_is_sent_to_the_desk(store: Store, world: World) -> None:
    claim(store, world.pilots["Ana"], "first")
    with pytest.raises(Refused, match="The name Ana is taken") as refused:
        claim(store, world.pilots["Ana"], "second")
    assert "Go to the desk" in refused.value.hint
    assert pilot_row(store, world.pilots["Ana"]).link_hash == secret_hash("first")


def test_two_phones_at_the_same_moment_bind_one(any_store: Store) -> None:
    world = make_world(any_store)
    outcomes: list[str] = []
    start = threading.Barrier(2)

    def try_it(secret: str) -> None:
        start.wait()
        try:
            claim(any_store, world.pilots["Ana"], secret)
            outcomes.append(secret)
        except MeetError as error:
            outcomes.append(error.code)

    phones = [threading.Thread(target=try_it, args=(f"phone {number}",)) for number in (1, 2)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()
    won = [outcome for outcome in outcomes if outcome.startswith("phone")]
    assert sorted(outcome for outcome in outcomes if outcome not in won) == ["refused"]
    assert pilot_row(any_store, world.pilots["Ana"]).link_hash == secret_hash(won[0])


def test_a_claim_sent_twice_is_done_once(store: Store, world: World) -> None:
    sent = deed(STRANGER)
    order = Claim(world.pilots["Ana"], Brought(kind_id=world.kinds["analogue R"]), True)
    first = claims.claim(store, sent, order, "own")
    assert claims.claim(store, sent, order, "own") == first
    with store.read() as session:
        own = session.exec(select(t.PilotTransmitter).where(t.PilotTransmitter.pilot_id == world.pilots["Ana"])).all()
    assert len(own) == 2
    other = deed(STRANGER, key=sent.key, digest="other")
    with pytest.raises(Conflict):
        claims.claim(store, other, order, "own")


def test_a_claim_can_bring_a_new_transmitter_with_its_wake_channel(store: Store, world: World) -> None:
    claim(store, world.pilots["Ana"], brought=Brought(kind_id=world.kinds["analogue R"], wake="r3"))
    with store.read() as session:
        own = session.get_one(t.PilotTransmitter, attendance(store, world.pilots["Ana"]).transmitter_id)
    assert (own.kind_id, own.wake_mhz) == (world.kinds["analogue R"], 5732)


@pytest.mark.parametrize(
    ("wake", "sentence"),
    [
        pytest.param("R9", "R9", id="no such channel"),
        pytest.param("F4", "can't wake on F4", id="not of this kind"),
        pytest.param("R", "not one channel", id="a whole plan"),
        pytest.param("580", "580", id="not near 5.8 GHz"),
    ],
)
def test_a_wake_channel_that_cannot_be_is_refused(wake: str, sentence: str, store: Store, world: World) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        claim(store, world.pilots["Ana"], brought=Brought(kind_id=world.kinds["analogue R"], wake=wake))
    assert refused.value.field == "wake"
    assert pilot_row(store, world.pilots["Ana"]).link_hash is None


def test_nobody_claims_a_transmitter_of_somebody_else(store: Store, world: World) -> None:
    with pytest.raises(Refused, match="isn't on the list"):
        claim(store, world.pilots["Ana"], brought=Brought(transmitter_id=world.transmitters["Bo"]))


@pytest.mark.parametrize("what", ["no such pilot", "retired", "no meet"])
def test_a_name_that_cannot_be_claimed(what: str, store: Store, world: World) -> None:
    pilot_id = world.pilots["Ana"]
    if what == "no such pilot":
        pilot_id = 9999
    elif what == "retired":
        with store.write() as session:
            session.add(_retired(session, pilot_id))
            session.commit()
    else:
        close_the_meet(store)
    with pytest.raises(MeetError):
        claim(store, pilot_id)
    with pytest.raises(MeetError):
        claims.claim_view(store, pilot_id)


def _retired(session: Session, pilot_id: int) -> t.Pilot:
    pilot = session.get_one(t.Pilot, pilot_id)
    pilot.retired_at = NOON
    return pilot


def add_self(store: Store, world: World, name: str, board_name: str = "") -> Answer:
    brought = Brought(kind_id=world.kinds["analogue 40"], wake="F4")
    return claims.add_self(store, deed(STRANGER), Newcomer(name, board_name, brought, True), "newcomer")


def test_a_newcomer_is_on_the_list_bound_and_here(store: Store, world: World) -> None:
    answer = add_self(store, world, "Gus  van\x07 Dorn", "Gus")
    assert answer.made_id is not None
    row = pilot_row(store, answer.made_id)
    assert (row.name, row.board_name, row.link_hash) == ("Gus van Dorn", "Gus", secret_hash("newcomer"))
    assert attendance(store, row.id).checked_in_at == NOON
    assert journal_kinds(store) == ["pilot_added_self"]


@pytest.mark.parametrize(
    ("name", "board_name", "sentence", "field"),
    [
        pytest.param("ana", "", "Ana is on the list already", "name", id="the name is on the list"),
        pytest.param("Gus", " BO ", "Bo is on the list already", "board_name", id="the board name is on the list"),
        pytest.param("\x07", "", "Fill in: your name", "name", id="nothing readable"),
        pytest.param("Maximilian-Alexander von Dorn", "", "too long for the board", "board_name", id="too long"),
    ],
)
def test_a_newcomer_whose_name_needs_another_look(
    name: str, board_name: str, sentence: str, field: str, store: Store, world: World
) -> None:
    with pytest.raises(Refused, match=sentence) as refused:
        add_self(store, world, name, board_name)
    assert refused.value.field == field
    assert journal_kinds(store) == []


def test_a_newcomer_with_a_taken_name_goes_to_the_desk(store: Store, world: World) -> None:
    claim(store, world.pilots["Ana"])
    with pytest.raises(Refused, match="The name Ana is taken"):
        add_self(store, world, "Ana")


def test_a_new_link_replaces_the_old_one_and_lets_its_phones_go(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    claim(store, ana, "old")
    phone = access.sign_in_pilot(store, ana, "Ana", NOON)
    own_links.new_link(store, deed(), ana, "new")
    assert access.signed_in(store, phone.secret, NOON) is None
    with pytest.raises(NotFound, match="a newer one replaced it"):
        own_links.open_link(store, "old", NOON)
    assert own_links.open_link(store, "new", NOON).pilot_id == ana
    assert journal_kinds(store) == ["name_claimed", "link_renewed"]


def test_the_first_opening_of_a_link_is_remembered(store: Store, world: World) -> None:
    ana = world.pilots["Ana"]
    own_links.new_link(store, deed(), ana, "new")
    assert pilot_row(store, ana).claimed_at is None
    own_links.open_link(store, "new", NOON + timedelta(minutes=5))
    own_links.open_link(store, "new", NOON + timedelta(minutes=9))
    assert pilot_row(store, ana).claimed_at == NOON + timedelta(minutes=5)


def test_a_name_whose_new_link_nobody_opened_yet_stays_taken(store: Store, world: World) -> None:
    own_links.new_link(store, deed(), world.pilots["Ana"], "new")
    with pytest.raises(Refused, match="taken"):
        claim(store, world.pilots["Ana"])


def test_only_the_desk_gives_out_a_new_link(store: Store, world: World) -> None:
    with pytest.raises(Forbidden):
        own_links.new_link(store, deed(STRANGER), world.pilots["Ana"], "new")
