"""The check of journal against tables: quiet about a sound club, and not to be fooled by a spoilt one."""

import re
import shutil
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from meetapp.flows.club import pilots, transmitters
from meetapp.flows.desk import alarms, check_in, pauses, reports
from meetapp.flows.loans import pass_offers
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.acting import run_by_pilots
from tests.agreement import NOT_REBUILT, REBUILT, disagreements
from tests.desk import Desk
from tests.heat_day import HeatDay
from tests.heat_desk import HeatDesk
from tests.meet_day import close_it
from tests.world import NOON, Clock, World, add_pilot, make_club, open_meet

OUT = "in_at IS NULL AND voided_at IS NULL"
SPOILT = {
    "a hand-out without its line": "UPDATE journal_line SET kind = 'seen_on_goggles' WHERE kind = 'handed_out'",
    "an undo that undoes something else":
        "UPDATE journal_line SET undoes_id = (SELECT max(id) FROM journal_line WHERE kind = 'handed_out') "
        "WHERE id = (SELECT min(id) FROM journal_line WHERE kind = 'undone')",
    "a tap without its answer": "DELETE FROM operation WHERE key = (SELECT min(key) FROM operation)",
    "a loan that came back without a line": f"UPDATE loan SET in_at = out_at WHERE {OUT}",
    "a loan since another time": "UPDATE loan SET out_at = '2026-06-14 11:00:00.000000'",
    "another holder":
        "UPDATE loan SET pilot_id = (SELECT max(id) FROM pilot) WHERE id = (SELECT max(id) FROM loan WHERE "
        f"pilot_id IS NOT NULL AND {OUT})",
    "another name of a ground transmitter": "UPDATE loan SET holder_name = 'nobody' WHERE pilot_id IS NULL",
    "a loan that ended with a missing token": "UPDATE loan SET ended_missing = NOT ended_missing",
    "a picture nobody has seen": "UPDATE loan SET seen_at = NULL WHERE seen_at IS NOT NULL",
    "another reason for going out": "UPDATE loan SET override_reason = 'why not' WHERE override_reason <> ''",
    "a loan that was undone and counts": "UPDATE loan SET voided_at = NULL, in_at = out_at WHERE voided_at IS NOT NULL",
    "another loan that doesn't count":
        "INSERT INTO loan (meet_id, token_id, pilot_id, holder_name, out_at, in_at, entered_at, ended_missing, "
        "override_reason, voided_at) SELECT meet_id, token_id, pilot_id, '', out_at, out_at, entered_at, 0, '', out_at "
        "FROM loan WHERE id = 1",
    "another setting": "UPDATE loan_setting SET mhz = mhz + 1 WHERE until_at IS NULL",
    "another setting of a loan that is over": "UPDATE loan_setting SET mhz = mhz + 1 WHERE until_at IS NOT NULL",
    "an open loan without a setting": "UPDATE loan_setting SET until_at = since_at",
    "a pilot gone from the line": "UPDATE line_entry SET left_at = joined_at WHERE left_at IS NULL",
    "a pilot who is passed": "UPDATE line_entry SET is_skipped = NOT is_skipped WHERE left_at IS NULL",
    "a pilot who was served": "UPDATE line_entry SET was_served = NOT was_served WHERE left_at IS NOT NULL",
    "a pilot who came to the line earlier": "UPDATE line_entry SET joined_at = '2026-06-14 11:00:00.000000'",
    "two at the head of the line": "UPDATE line_entry SET head_since = joined_at WHERE left_at IS NULL",
    "turns the other way round": "UPDATE sharing SET pilot_id = partner_id, partner_id = pilot_id",
    "turns that go on": "UPDATE sharing SET ended_at = NULL",
    "an offer to somebody else": "UPDATE pass_offer SET to_pilot_id = to_pilot_id + 1",
    "an offer that nobody took": "UPDATE pass_offer SET was_taken = 0 WHERE was_taken",
    "an offer that stands": "UPDATE pass_offer SET ended_at = NULL WHERE NOT was_taken",
    "a pause that is over": "UPDATE pause SET ended_at = started_at WHERE ended_at IS NULL",
    "another pause": "UPDATE pause SET started_at = '2026-06-14 11:00:00.000000'",
    "an alarm that is over": "UPDATE alarm SET ended_at = started_at",
    "an alarm that was never raised": "UPDATE alarm SET voided_at = started_at",
    "another reporter": "UPDATE clash_report SET pilot_id = (SELECT min(id) FROM pilot)",
    "another look": "UPDATE clash_report SET look = 'colour'",
    "a pilot who went home": "UPDATE attendance SET left_at = checked_in_at WHERE left_at IS NULL",
    "another transmitter today": "UPDATE attendance SET transmitter_id = transmitter_id + 1",
    "a missing token that hangs on the board": "UPDATE token SET state = 'usable'",
    "a token withdrawn without a line":
        "UPDATE token SET state = 'withdrawn' WHERE id = (SELECT min(id) FROM token WHERE state = 'usable')",
    "a token missing since another time": "UPDATE token SET state_since = '2026-06-14 11:00:00.000000'",
    "a transmitter that wakes elsewhere": "UPDATE pilot_transmitter SET wake_mhz = wake_mhz + 1",
    "a transmitter brought back": "UPDATE pilot_transmitter SET retired_at = NULL WHERE retired_at IS NOT NULL",
    "a pilot who is retired": "UPDATE pilot SET retired_at = NULL",
    "a meet that is closed": "UPDATE meet SET state = 'closed'",
    "a meet that was closed at some time": "UPDATE meet SET closed_at = opened_at",
    "a plan of heats of another time": "UPDATE heat_plan SET made_at = '2026-06-14 11:00:00.000000'",
    "another plan that goes on": "UPDATE heat_plan SET size = size + 1",
    "a heat that is flown": "UPDATE heat SET state = 'flown' WHERE state = 'called'",
    "a heat that counts": "UPDATE heat SET state = 'flown' WHERE state = 'voided'",
    "a heat called at another time": "UPDATE heat SET called_at = '2026-06-14 11:00:00.000000' WHERE state = 'called'",
    "heats flown the other way round": "UPDATE heat SET position = 100 - position",
    "a heat flown for another": "UPDATE heat SET again_for_id = NULL",
    "a seat that isn't empty": "UPDATE heat_seat SET missing = '' WHERE missing = 'broken'",
    "a seat that is empty":
        "UPDATE heat_seat SET missing = 'left' WHERE id = (SELECT max(id) FROM heat_seat WHERE missing = '')",
    "a pilot who has landed": "UPDATE heat_seat SET is_up_late = 0",
}  # fmt: skip


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a meet with a little of everything, most of it still going on."""
    path = tmp_path_factory.mktemp("busy") / "club.db"
    desk = _at_the_desk(path)
    _lend_and_wait(desk)
    _fly_heats(desk)
    _whatever_else(desk)
    desk.store.close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")  # all of it in one file, to be copied
    return path


def _at_the_desk(path: Path) -> Desk:
    store, world = Store(sqlite_url(path)), World()
    t.metadata.create_all(store.engine)
    with store.write() as session:
        make_club(session, world)
        for name in ("Ana", "Bo", "Cy", "Di", "Ed", "Fay", "Gus", "Hal", "Ida"):
            add_pilot(session, world, name)
        tokens = {"R1": 5658, "R2": 5695, "R3": 5732, "R4": 5769, "R5": 5806, "R6": 5843, "R7": 5880, "R8": 5917}
        open_meet(session, world, tokens, spacing=37, clearance=None)
        session.add(
            t.JournalLine(meet_id=world.meet, kind="meet_opened", facts={"name": "June meet"}, actor_role="organiser",
                          actor_name="Organiser", happened_at=NOON, entered_at=NOON)
        )
        session.commit()
    run_by_pilots(store)
    return Desk(store, world, Clock())


def _lend_and_wait(desk: Desk) -> None:
    """A line, an undo, a picture seen, settings, turns, offers, an override, a loan that came back, a pilot gone."""
    world = desk.world
    desk.join("Ed", "Fay", "Gus", "Hal")
    desk.undo(desk.hand_out("Ed", "R7"))
    desk.hand_out("Ed", "R7")
    desk.tick_seen("Ed")
    desk.clock.forward(minutes=1)
    desk.change("Ed", power_mw=200)
    withdrawn = _offer(desk, "Ed", "Fay")
    pass_offers.withdraw(desk.store, desk.as_pilot("Ed").deed(), world.meet, world.pilots["Ed"], withdrawn)
    desk.share("Ed", "Fay")
    desk.swap("R7")
    desk.clock.forward(minutes=1)
    desk.end_turns("R7")
    _offer(desk, "Fay", "Gus")
    desk.as_pilot("Gus").hand_over("Fay", "Gus")
    desk.clock.forward(minutes=1)
    _offer(desk, "Gus", "Ed")
    desk.hand_out("Fay", "R6")
    desk.take_back("Fay")
    desk.leave("Hal")
    desk.join("Hal", "Fay")
    desk.not_ready("Fay")
    desk.clock.forward(minutes=1)
    desk.lend_ground("line camera", 5900, override_reason="the camera can't do another channel")
    desk.hand_out("Ida", "R6")


def _offer(desk: Desk, who: str, to: str) -> int:
    ids = desk.world.pilots
    answer = pass_offers.offer(desk.store, desk.as_pilot(who).deed(), desk.world.meet, ids[who], ids[to])
    assert answer.made_id is not None
    return answer.made_id


def _whatever_else(desk: Desk) -> None:
    """A newcomer, a report, a missing token, an alarm, a pause, a pilot and a transmitter retired."""
    store, world = desk.store, desk.world
    newcomer = check_in.NewPilot(world.meet, "Jo", world.kinds["analogue 40"])
    check_in.check_in_new(store, desk.deed(), newcomer)
    report = reports.ReportDraft(world.meet, world.pilots["Ida"], "lines", "flight")
    reports.add(store, desk.deed(), report)
    desk.missing("R6")
    for kind in ("stray", "down"):
        alarms.raise_alarm(store, desk.deed(), kind)
    check_in.check_out(store, desk.deed(), world.meet, world.pilots["Ida"])
    transmitters.retire_transmitter(store, desk.deed(), world.pilots["Ida"], world.transmitters["Ida"])
    pilots.retire_pilot(store, desk.deed(), world.pilots["Ida"])
    for alarm in desk.rows(t.Alarm):
        alarms.end_alarm(store, desk.deed(), alarm.id)
    alarms.raise_alarm(store, desk.deed(), "stray")
    pauses.pause(store, desk.deed(), world.meet, "wind")


def _fly_heats(desk: Desk) -> None:
    """One is flown with a gap, one doesn't count, one is flown with somebody still up, and one is called."""
    HeatDay(desk).make(size=2, rounds=2, names=("Ana", "Bo", "Cy", "Di"))
    HeatDay(desk).make(size=2, rounds=3, names=("Ana", "Bo", "Cy", "Di"))
    heats = HeatDesk(desk)
    first, second = heats.heats()[:2]
    heats.miss(first.number, _name(desk, first.seats[0].pilot_id), "broken")
    heats.call()
    desk.join("Ed", *(_name(desk, seat.pilot_id) for seat in second.seats[:1]))
    heats.call()
    heats.call_off(second.number)
    heats.call()
    heats.void(second.number)
    heats.call()
    called = heats.field().called
    assert called is not None
    heats.call(up=[_name(desk, called.seats[0].pilot_id)])
    assert {heat.state for heat in heats.heats()} == {"flown", "voided", "called", "planned"}


def _name(desk: Desk, pilot_id: int) -> str:
    return next(name for name, known in desk.world.pilots.items() if known == pilot_id)


@pytest.fixture
def copied(busy: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(busy, tmp_path / "club.db"))


def test_journal_and_tables_of_a_sound_club_agree(copied: Path) -> None:
    assert disagreements(sqlite_url(copied)) == []
    store = Store(sqlite_url(copied))
    close_it(Desk(store, World(meet=1), Clock(NOON + timedelta(hours=3))))
    store.close()
    assert disagreements(sqlite_url(copied)) == []


@pytest.mark.parametrize("spoil", SPOILT.values(), ids=SPOILT)
def test_a_spoilt_club_is_told(copied: Path, spoil: str) -> None:
    with closing(sqlite3.connect(copied)) as connection, connection:
        assert connection.execute(spoil).rowcount > 0
    assert disagreements(sqlite_url(copied)) != []


def test_every_table_is_held_against_the_journal_or_named_with_the_reason_why_not() -> None:
    tables = set(t.metadata.tables)
    assert tables == REBUILT | NOT_REBUILT.keys()
    spoilt = {re.search(r"^(?:UPDATE|DELETE FROM|INSERT INTO) (\w+)", each)[1] for each in SPOILT.values()}
    assert spoilt == REBUILT
