"""A meet's laptop under load, on loopback, with a real server process.

    .venv/bin/python -m tests.bench.load [--phones 300] [--pilots 60] [--seconds 60] [--folder FOLDER]

Phones with live pages (each does as static/live.js does), two marshals who act twice a second each, and
a burst in which every phone opens its page anew. In the same run: the same commit on bare SQLite, and an empty route.
The folder should lie on the disk that a club would use, not in memory. Phones and server share the machine's cores.
"""

import argparse
import asyncio
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles
from time import perf_counter

from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.bench.load.club import Club, make_club
from tests.bench.load.crowd import LivePage, Marshal, last_to_know
from tests.bench.load.plain import commits
from tests.bench.load.process import Process
from tests.bench.load.wire import Phone
from tests.running import start_server, stop_server

EVERY_S = 0.5
SETTLE_S = 5.0
GLANCE_S = 0.005


def percentiles(seconds: Sequence[float]) -> tuple[float, float, float]:
    """p50, p95 and p99 in milliseconds."""
    cuts = quantiles(seconds, n=100, method="inclusive")
    return cuts[49] * 1000, cuts[94] * 1000, cuts[98] * 1000


def say(what: str, seconds: Sequence[float]) -> None:
    """One line of the report."""
    if len(seconds) < 2:
        print(f"{what:<66} too few to tell ({len(seconds)})")
        return
    p50, p95, p99 = percentiles(seconds)
    print(f"{what:<66} {p50:7.1f} {p95:7.1f} {p99:7.1f} {max(seconds) * 1000:7.1f}   ({len(seconds)})")


async def open_pages(port: int, club: Club, count: int) -> list[LivePage]:
    """Every phone opens its pilot's own address, a few at a time; pilots have several phones if there are fewer."""
    pages = [LivePage(Phone(port)) for _ in range(count)]
    for number, page in enumerate(pages):
        await page.show("/my/" + club.pilot_secrets[number % len(club.pilot_secrets)])
    return pages


async def burst(pages: Sequence[LivePage]) -> list[float]:
    """All phones open their page at once; seconds of each."""

    async def one(page: LivePage) -> float:
        phone = Phone(page.phone.port, page.phone.cookies)
        began = perf_counter()
        assert (await phone.get("/my")).status == 200
        took = perf_counter() - began
        phone.hang_up()
        return took

    return list(await asyncio.gather(*(one(page) for page in pages)))


async def load(port: int, club: Club, options: argparse.Namespace, server: Process) -> None:
    """Run it and print what was measured."""
    pages = await open_pages(port, club, options.phones)
    marshals = [Marshal(Phone(port), name) for name in ("Mo", "Lu")]
    for marshal in marshals:
        await marshal.join(club.desk_secret)
    followers = [asyncio.create_task(page.follow()) for page in pages]
    await asyncio.sleep(SETTLE_S)
    print(f"server: {server.memory_mb():.0f} MB with {len(pages)} phones")
    before, began = server.processor_seconds(), perf_counter()
    until = began + options.seconds
    acting = [asyncio.create_task(each.act(EVERY_S, until, number)) for number, each in enumerate(marshals)]
    watching = asyncio.create_task(watch(server, until))
    waiting = asyncio.create_task(own_lateness(until))
    await asyncio.sleep(options.seconds / 2)
    burst_began = perf_counter()
    opened = await burst(pages)
    burst_ended = perf_counter()
    await asyncio.gather(*acting)
    used = server.processor_seconds() - before
    busy = used / (perf_counter() - began)
    await asyncio.sleep(SETTLE_S)
    memory, late = await watching, await waiting
    lost = [task.exception() for task in followers if task.done()]
    for task in followers:
        task.cancel()
    if lost:
        print(f"streams that ended too soon: {len(lost)}, the first by {lost[0]!r}")
    report(club, pages, marshals, (burst_began, burst_ended), opened)
    say("this run's own loop, how late it was (a part of every tap)", late)
    taps = sum(len(marshal.actions) for marshal in marshals)
    print(f"server: {used * 1000 / max(1, taps):.0f} ms of a processor for each tap with all that follows")
    print(f"server: {busy * 100:.0f} % of a core; memory, MB: {' '.join(format(each, '.0f') for each in memory)}")


async def watch(server: Process, until: float) -> list[float]:
    """The server's memory from time to time, in MB."""
    step = max(5.0, (until - perf_counter()) / 10)
    seen = [server.memory_mb()]
    while perf_counter() < until:
        await asyncio.sleep(min(step, max(0.0, until - perf_counter())))
        seen.append(server.memory_mb())
    return seen


async def own_lateness(until: float) -> list[float]:
    """How late this process wakes who asked for it, in seconds: its readers could make a tap look slow."""
    late = []
    while (began := perf_counter()) < until:
        await asyncio.sleep(GLANCE_S)
        late.append(perf_counter() - began - GLANCE_S)
    return late


def report(
    club: Club,
    pages: Sequence[LivePage],
    marshals: Sequence[Marshal],
    in_burst: tuple[float, float],
    opened: Sequence[float],
) -> None:
    """Print how long taps took and when they were known."""
    lines = {marshal.name: lines_of(club.url, marshal.name) for marshal in marshals}
    actions = [pair for marshal in marshals for pair in zip(marshal.actions, lines[marshal.name], strict=True)]
    calm = [(action, line) for action, line in actions if not in_burst[0] <= action.sent <= in_burst[1]]
    print(f"{'milliseconds':<66} {'p50':>7} {'p95':>7} {'p99':>7} {'longest':>7}   (how many)")
    say("an action, from tap to answer", [action.took for action, _line in calm])
    say("the same while all pages are opened", [a.took for a, _line in actions if in_burst[0] <= a.sent <= in_burst[1]])
    shown = "shown on the last phone, or nothing is to be seen there"
    for which, words in (("told", "told to the last phone"), ("shown", shown)) if pages else ():
        known = last_to_know(pages, which, {line for _action, line in calm})
        say(f"an action, from tap until it is {words}", [known[line] - a.sent for a, line in calm if line in known])
        if missed := sum(line not in known for _action, line in calm):
            print(f"  never {words}: {missed}")
    parts, asked = sum(page.parts for page in pages), sum(page.asked for page in pages)
    print(f"taps: {len(actions)}; parts that came with the news: {parts}; parts that were asked for: {asked}")
    say("a page of the burst", opened)
    print(f"the burst took {in_burst[1] - in_burst[0]:.1f} s; taps refused: {sum(each.refused for each in marshals)}")


def lines_of(url: str, name: str) -> list[int]:
    """The journal lines of a marshal, in order."""
    store = Store(url)
    with store.read() as session:
        mine = select(t.JournalLine.id).where(t.JournalLine.actor_name == name)
        found = list(session.exec(mine.order_by(col(t.JournalLine.id))))
    store.close()
    return found


async def baseline(folder: Path, count: int) -> None:
    """Print what the same commit costs on bare SQLite, and an empty route."""
    say("a hand-out's rows committed on bare SQLite", commits(folder, count))
    command = [sys.executable, "-m", "uvicorn", "tests.bench.load.plain:empty", "--port", "0", "--no-access-log"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        port = next(int(line.rsplit(":", 1)[1].split(" ")[0]) for line in process.stderr if "running on" in line)
        phone = Phone(port)
        took = []
        for _ in range(count):
            began = perf_counter()
            await phone.post("/", {"token_id": "1"})
            took.append(perf_counter() - began)
        phone.hang_up()
        process.terminate()
    say("an empty route", took)


def main() -> None:
    """Read the options and run."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.load", description=__doc__)
    parser.add_argument("--phones", type=int, default=300)
    parser.add_argument("--pilots", type=int, default=60)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--folder", type=Path, default=Path.cwd(), help="where the database lies for the run")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=options.folder, prefix="load-") as name:
        club = make_club(Path(name), options.pilots, datetime.now(UTC))
        process, server = start_server("serve", "--database", str(Path(name) / "club.db"))
        try:
            port = int(server.base.rsplit(":", 1)[1])
            asyncio.run(load(port, club, options, Process(process.pid)))
        finally:
            stop_server(process)
        asyncio.run(baseline(Path(name), 300))


if __name__ == "__main__":
    main()
