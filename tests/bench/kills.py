"""Kill the server in the middle of a busy meet, again and again: nothing answered is lost, nothing is half done.

Every fifth kill comes while the program brings the oldest tables forward (`kills_at_start`), some while it starts, half
of the others as soon as the journal grew, before the answer is out; with several workers some end one worker only.

    python -m tests.bench.kills 200                                   # a file of its own
    python -m tests.bench.kills 200 --postgres --workers 2           # a PostgreSQL server of its own
    python -m tests.bench.kills 200 postgresql://… --workers 2       # an empty database of a server
"""

import random
import sys
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime

import httpx
from sqlalchemy import create_engine, text
from sqlmodel import select

from meetapp.config import data_folder
from meetapp.store import tables as t
from meetapp.store.engine import Store, file_of, is_file
from meetapp.store.forward import bring_file_forward
from meetapp.store.server_database import migrate_server
from tests.agreement import disagreements
from tests.bench.busy_meet import command
from tests.bench.kills_at_start import kill_while_brought_forward
from tests.desk_load import Load, Meet, Phone, Tap, marshal, pilot
from tests.quick_start import Started, kill, serving
from tests.world import make_world

MARSHALS = ("Mo", "Lu", "Kim")
MOST_TAPS = 20
"""How many taps a server answers at most before it is killed."""
STARTS_KILLED, ONE_WORKER_KILLED = 0.2, 0.6
"""How often a start is killed before a server works, and one worker before all of them."""
SHORT = 10
"""Up to so many kills the figures come at the end only."""
NEWEST_LINE = text("SELECT max(id) FROM journal_line")


@dataclass
class Tally:
    """What was seen. `faults`: a sentence for whatever was lost, half done, done twice or answered otherwise."""

    kills: int = 0
    starts: int = 0
    migrations: int = 0
    workers: int = 0
    answered: int = 0
    refused: int = 0
    cut_off: int = 0
    cut_off_but_done: int = 0
    faults: list[str] = field(default_factory=list)

    def sentence(self) -> str:
        """The figures in a line."""
        return (
            f"{self.kills} kills ({self.starts} while it started, {self.migrations} while tables were brought forward, "
            f"{self.workers} of one worker), {self.answered} taps done and answered, {self.refused} refused, "
            f"{self.cut_off} cut off ({self.cut_off_but_done} of them done before), {len(self.faults)} faults"
        )


def prepare(url: str) -> Meet:
    """Make the test club in an empty database."""
    if is_file(url):
        bring_file_forward(file_of(url), data_folder("migrations"), datetime.now(UTC))
    else:
        migrate_server(url, data_folder("migrations"))
    store = Store(url)
    return Meet(store, make_world(store))


def run(url: str, kills: int, seed: int = 1, workers: int = 1) -> Tally:
    """Kill the program so many times, most of them while phones tap; what was cut off is sent again after each."""
    dice, tally = random.Random(seed), Tally()
    at_start = kill_while_brought_forward(url, kills // 5, dice)
    tally.kills = tally.migrations = kills // 5
    tally.faults += at_start.faults
    meet = prepare(url)
    phones: list[Phone] = []
    arguments = ("serve", "--database", url, "--workers", str(workers))
    while tally.kills < kills:
        if dice.random() < STARTS_KILLED:
            with serving(*arguments):
                time.sleep(dice.uniform(0, 0.5))
            tally.kills, tally.starts = tally.kills + 1, tally.starts + 1
        with serving(*arguments) as server:
            phones = _at_work(server, meet, phones, tally, dice)
            load = Load(meet, phones[:-1], phones[-1:], seed * 1000 + tally.kills)
            if workers > 1 and dice.random() < ONE_WORKER_KILLED:
                _kill_one_worker(server, meet, load, tally, dice)
                load.stop()
                judge(phones, meet, tally)
                for phone in phones:
                    send_again(phone, meet, tally, dice)
                load = Load(meet, phones[:-1], phones[-1:], seed * 1000 + tally.kills)
            _wait_for_the_moment(meet, load, dice)
        load.stop()
        tally.kills += 1
        judge(phones, meet, tally)
        if kills > SHORT:
            print(tally.sentence(), flush=True)
    with serving(*arguments) as server:
        base = server.address()
        for phone in phones:
            phone.client.base_url = httpx.URL(base)
            send_again(phone, meet, tally, dice)
    judge(phones, meet, tally)
    for phone in phones:
        phone.client.close()
    meet.store.close()
    return tally


def _at_work(server: Started, meet: Meet, phones: list[Phone], tally: Tally, dice: random.Random) -> list[Phone]:
    """The marshals' phones and a newcomer's at a server that just started; what was cut off is sent again."""
    base = server.address()
    newcomer = pilot(f"New {tally.kills}", base)
    phones = phones or [marshal(name, base) for name in MARSHALS]
    for phone in phones:
        phone.client.base_url = httpx.URL(base)
        send_again(phone, meet, tally, dice)
    return [*(phone for phone in phones if phone.name in MARSHALS), newcomer]


def _wait_for_the_moment(meet: Meet, load: Load, dice: random.Random) -> None:
    """Some taps on: in the middle of the next ones, or as soon as one is in the journal and before it is answered."""
    load.wait_for(dice.randint(0, MOST_TAPS))
    if dice.random() < 0.5:
        time.sleep(dice.uniform(0, 0.05))
        return
    # An engine of its own: each look has to see what was committed since the last one.
    engine = create_engine(meet.store.url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        before = connection.execute(NEWEST_LINE).scalar()
        while load.goes_on() and connection.execute(NEWEST_LINE).scalar() == before:
            pass
    engine.dispose()


def _kill_one_worker(server: Started, meet: Meet, load: Load, tally: Tally, dice: random.Random) -> None:
    _wait_for_the_moment(meet, load, dice)
    kill(dice.choice(server.workers()))
    tally.kills, tally.workers = tally.kills + 1, tally.workers + 1
    load.wait_for(load.answered + 3)


def send_again(phone: Phone, meet: Meet, tally: Tally, dice: random.Random) -> None:
    """What a phone does when the server is back: the unanswered tap once more; now and then an answered one too."""
    again = [tap for tap in phone.taps if tap.status is None]
    tally.cut_off += len(again)
    tally.cut_off_but_done += sum(is_done(tap, meet) for tap in again)
    for tap in again:
        if phone.send(tap) is None or tap.status is None:
            tally.faults.append(f"{tap.path}: no answer after the restart")
    done = [tap for tap in phone.taps if tap.status == 303 and tap not in again]
    for tap in [*again, *dice.sample(done, min(2, len(done)))]:
        answer = phone.send(tap)
        if tap.status == 303 and (answer is None or answer.headers.get("location") != tap.location):
            tally.faults.append(f"{tap.path}: sent again, it was answered otherwise")


def is_done(tap: Tap, meet: Meet) -> bool:
    """Whether the database has the answer to this tap."""
    with meet.store.read() as session:
        return session.get(t.Operation, tap.key) is not None


def judge(phones: list[Phone], meet: Meet, tally: Tally) -> None:
    """Hold the database against everything that was answered since the last look."""
    with meet.store.read() as session:
        kept = set(session.exec(select(t.Operation.key)))
    for phone in phones:
        for tap in phone.taps:
            if tap.status == 303 and tap.key not in kept:
                tally.faults.append(f"{tap.path}: it was answered, and is lost")
            if tap.status is not None and tap.status >= 400 and tap.key in kept:
                tally.faults.append(f"{tap.path}: it was refused, and is done")
            if tap.status is not None and tap.status not in (303, 409, 422):
                tally.faults.append(f"{tap.path}: answered {tap.status}")
        ended = [tap for tap in phone.taps if tap.status is not None]
        tally.answered += sum(tap.status == 303 for tap in ended)
        tally.refused += sum(tap.status != 303 for tap in ended)
        phone.taps = [tap for tap in phone.taps if tap.status is None]
    tally.faults += disagreements(meet.store.url)


if __name__ == "__main__":
    sys.exit(command(__doc__, "kills", run))
