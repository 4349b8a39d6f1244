"""A pilot's name deleted for good: nothing in the database holds it any more, and nothing brings it back."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy.engine import make_url

from meetapp.flows.club import own_links, pilots, transmitters
from meetapp.flows.club.former_names import former_name
from meetapp.flows.club.former_pilots import delete_names, names_chosen, names_not_seen
from meetapp.flows.club.name_traces import Hiding
from meetapp.flows.desk import check_in, pauses, reports
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.files.meet_csv import journal_csv, loans_csv
from meetapp.flows.files.meet_file import export_meet
from meetapp.flows.loans.undo import undo
from meetapp.flows.pilot import claims
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.flows.review.review import review_facts
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed
from tests.desk import ORGANISER, Desk
from tests.meet_day import close_it, fly_a_day, organisers

# Names that stand nowhere by chance.
NAME, BOARD_NAME = "Quillon Zbrx", "Zbrx9"


def rows_of(store: Store) -> list[tuple[str, str]]:
    """Every row of every table as text, with the name of its table."""
    with store.read() as session:
        tables = t.metadata.sorted_tables
        return [(table.name, str(row)) for table in tables for row in session.execute(table.select())]


def texts_of(store: Store) -> str:
    return "\n".join(text for _table, text in rows_of(store))


def a_day_of_one_with_a_name(desk: Desk) -> int:
    """A meet in which somebody left their name wherever one can be left; they have gone home. Gives their id."""
    sent = claims.Newcomer(NAME, BOARD_NAME, Brought(None, desk.world.kinds["analogue 40"], ""), True)
    own = replace(deed(now=desk.clock()), actor=replace(desk.as_pilot("Ana").actor, name=BOARD_NAME, pilot_id=None))
    pilot = claims.add_self(desk.store, own, sent, "secret of one").made_id
    assert pilot is not None
    desk.world.pilots[BOARD_NAME] = pilot
    with desk.store.write() as session:
        row = session.exec(t.PilotTransmitter.__table__.select().where(t.PilotTransmitter.pilot_id == pilot)).one()
        session.add(
            t.DeskSession(
                secret_hash="x",
                role="pilot",
                name=BOARD_NAME,
                pilot_id=pilot,
                made_at=desk.clock(),
                expires_at=desk.clock().replace(year=2027),
            )
        )
        session.commit()
    draft = transmitters.TransmitterDraft(desk.world.kinds["analogue 40"], f"{BOARD_NAME}'s blue one", "R3")
    transmitters.change_transmitter(desk.store, deed(ORGANISER), pilot, row.id, draft)
    pilots.change_pilot(desk.store, deed(ORGANISER), pilot, pilots.PilotDraft(NAME, BOARD_NAME, None))
    desk.as_pilot(BOARD_NAME).join(BOARD_NAME)
    desk.hand_out(BOARD_NAME, "R1")
    desk.change(BOARD_NAME, power_mw=200)
    pauses.pause(desk.store, desk.deed(), desk.world.meet, f"waiting for {NAME.lower()}")
    pauses.resume(desk.store, desk.deed(), desk.world.meet)
    told = reports.ReportDraft(desk.world.meet, desk.world.pilots["Bo"], "gone", note=f"it was {BOARD_NAME}, I think")
    reports.add(desk.store, desk.deed(), told)
    desk.lend_ground(f"{BOARD_NAME}'s camera", 5880, override_reason=f"so says {NAME}")
    desk.take_back(BOARD_NAME)
    check_in.check_out(desk.store, desk.deed(), desk.world.meet, pilot)
    return pilot


def test_no_table_and_no_byte_of_the_file_holds_the_name_any_more(desk: Desk) -> None:
    pilot = a_day_of_one_with_a_name(desk)
    assert {table for table, text in rows_of(desk.store) if "zbrx" in text.lower()} == {
        *("pilot", "pilot_transmitter", "desk_session", "loan", "pause", "clash_report", "journal_line", "operation")
    }
    loans = len(desk.rows(t.Loan))
    answer = delete_names(desk.store, organisers(desk), [pilot])
    assert answer.notice == "The name is deleted. Loans and reports stay, as those of a former pilot."
    after = texts_of(desk.store)
    assert "zbrx" not in after.lower()
    assert "quillon" not in after.lower()
    assert len(desk.rows(t.Loan)) == loans
    desk.store.close()  # the last to close writes everything from the log into the file
    file = Path(str(make_url(desk.store.url).database))
    assert b"zbrx" not in file.read_bytes().lower()


def test_past_meets_keep_the_loans_as_those_of_a_former_pilot(desk: Desk) -> None:
    pilot = a_day_of_one_with_a_name(desk)
    fly_a_day(desk)
    close_it(desk)
    delete_names(desk.store, organisers(desk), [pilot])
    facts = review_facts(desk.store, desk.world.meet, desk.clock())
    former = former_name(pilot)
    assert former in {loan.who for loan in facts.loans}
    assert "Ana" in {loan.who for loan in facts.loans}
    file = export_meet(desk.store, desk.world.meet, desk.clock())
    for text in (loans_csv(facts), journal_csv(facts), file.model_dump_json()):
        assert former in text
        assert "Zbrx" not in text
    told = [line.sentence for line in facts.journal]
    assert f"R1 handed out to {former}: R1, 5658 MHz, 25 mW" in told
    assert f"The meet is paused: waiting for {former}" in told
    assert f"it was {former}, I think" in {report.note for report in facts.reports}


def test_undoing_what_came_before_does_not_bring_the_name_back(desk: Desk) -> None:
    pilot = a_day_of_one_with_a_name(desk)
    delete_names(desk.store, organisers(desk), [pilot])
    undone = 0
    for line in reversed(desk.rows(t.JournalLine, is_undoable=True)):
        actor = replace(desk.actor, role=line.actor_role, name=line.actor_name, session_id=line.actor_session_id)
        try:
            undo(desk.store, deed(actor, desk.clock()), line.id)
            undone += 1
        except Refused:
            continue
    assert undone >= 3
    assert "zbrx" not in texts_of(desk.store).lower()


def test_it_is_done_once_and_nothing_about_a_former_pilot_is_changed_any_more(desk: Desk) -> None:
    pilot = a_day_of_one_with_a_name(desk)
    first = delete_names(desk.store, organisers(desk, "the same key"), [pilot])
    assert delete_names(desk.store, organisers(desk, "the same key"), [pilot]) == first
    assert desk.kinds().count("name_deleted") == 1
    for again in (
        lambda: delete_names(desk.store, organisers(desk), [pilot]),
        lambda: pilots.bring_back_pilot(desk.store, organisers(desk), pilot),
        lambda: pilots.change_pilot(desk.store, organisers(desk), pilot, pilots.PilotDraft(NAME, "", None)),
        lambda: own_links.open_link(desk.store, "secret of one", desk.clock()),
    ):
        with pytest.raises(NotFound):
            again()
    assert all(row.pilot_id != pilot for row in pilots.list_pilots(desk.store).rows)
    assert names_chosen(desk.store, [pilot]).rows == ()
    (session,) = desk.rows(t.DeskSession, pilot_id=pilot)
    assert session.ended_at is not None


def test_nobody_in_the_middle_of_a_meet_loses_the_name(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.join("Bo")
    check_in.check_out(desk.store, desk.deed(), desk.world.meet, desk.world.pilots["Ed"])
    before = texts_of(desk.store)
    for who, why in (("Ana", "is on air"), ("Bo", "waiting line"), ("Cy", "is at 'June meet' now")):
        with pytest.raises(Refused, match=why):
            delete_names(desk.store, organisers(desk), [desk.world.pilots["Ed"], desk.world.pilots[who]])
    with pytest.raises(Refused, match="Nobody is chosen"):
        delete_names(desk.store, organisers(desk), [])
    assert texts_of(desk.store) == before


def test_names_not_seen_for_long_are_offered_but_nobody_who_is_expected(desk: Desk) -> None:
    close_it(desk)
    day = date(2026, 6, 14)
    newcomer = pilots.add_pilot(desk.store, organisers(desk), pilots.PilotDraft("Newt", "", None), None).made_id
    coming = t.Meet(name="next", on_date=date(2028, 1, 1), site_id=desk.world.site, fly_at_once=4)
    with desk.store.write() as session:
        session.add(coming)
        session.flush()
        session.add(t.Attendance(meet_id=coming.id, pilot_id=desk.world.pilots["Ana"], is_expected=True))
        session.commit()
    later = desk.clock().replace(year=2027, month=12)
    assert [row.name for row in names_not_seen(desk.store, 24, later).rows] == ["Newt"]
    rows = names_not_seen(desk.store, 12, later).rows
    assert [(row.name, row.last_seen) for row in rows] == [
        *((name, day) for name in ("Bo", "Cy", "Di", "Ed", "Fay")),
        ("Newt", None),
    ]
    delete_names(desk.store, organisers(desk), [row.pilot_id for row in rows if row.pilot_id != newcomer])
    assert [row.name for row in pilots.list_pilots(desk.store).rows] == ["Ana", "Newt"]


def test_only_whole_names_are_taken_out_and_longer_names_of_others_stay() -> None:
    hiding = Hiding({"Ana": "former pilot 1", "Al": "former pilot 2"}, ["Ana B", "ana"])
    text = "ANA, Anatol and Ana B; Al, al and Alan."
    assert hiding.in_text(text) == "former pilot 1, Anatol and Ana B; former pilot 2, al and Alan."
    assert hiding.in_value({"a": ["Ana", 3, None]}) == {"a": ["former pilot 1", 3, None]}
