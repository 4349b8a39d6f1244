"""Let people act on one meet at the same moment, over and over, and look for one order that explains every answer.

The server is killed in between: what was not answered then may have been done or not, and is mostly sent again.

    python -m tests.bench.histories                                       # 10 000 actions on a file of its own
    python -m tests.bench.histories 10000 --postgres --workers 2           # a PostgreSQL server of its own
    python -m tests.bench.histories 10000 postgresql://… --workers 2       # an empty database of a server
"""

import asyncio
import sys
import time
from collections import Counter
from contextlib import ExitStack
from dataclasses import dataclass, field
from types import TracebackType

from tests.agreement import disagreements
from tests.apart import run_apart
from tests.bench.busy_meet import command
from tests.bench.kills import prepare
from tests.desk_load import Meet as Prepared
from tests.history import people, phones
from tests.history.meets import next_meet, own_page_secret
from tests.history.order import NoOrder, Op, one_order
from tests.history.recorded import as_ops
from tests.quick_start import killed_at_the_end

MARSHALS = ("Mo", "Lu", "Kim")
PILOTS = ("Ana", "Bo", "Cy")
AT_A_MEET = 500
"""How many actions one meet has; each meet is a history by itself."""
FOR_A_KILL = 200
"""After how many actions the server is killed."""
KEPT_S = 2.1
"""A server of a file may show what it kept for two seconds where another process changed the meet."""


@dataclass
class Tally:
    """What was seen. `not_hinted`: the histories in which the journal's own order had to be left for another."""

    actions: int = 0
    meets: int = 0
    kills: int = 0
    not_hinted: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    at_once: int = 0
    faults: list[str] = field(default_factory=list)

    def sentence(self) -> str:
        """The figures in some lines."""
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(self.answers.items()))
        return (
            f"{self.actions} actions at {self.meets} meets, {self.kills} kills, {self.at_once} actions begun while "
            f"another was not answered: {kinds}. The search "
            f"left the journal's order {self.not_hinted} times; {len(self.faults)} faults"
        )


def run(url: str, actions: int, seed: int = 1, workers: int = 1, at_a_meet: int = AT_A_MEET) -> Tally:
    """Act so often, meet by meet, on one server, and look for an order of each."""
    prepared, tally = prepare(url), Tally()
    with _Server(url, workers) as server:
        while tally.actions < actions and not tally.faults:
            _one_meet(prepared, server, min(at_a_meet, actions), seed + tally.meets, tally)
            if actions > at_a_meet:
                print(tally.sentence(), flush=True)
    tally.faults += disagreements(url)
    prepared.store.close()
    return tally


class _Server:
    """A server that can be killed and started again, on another port."""

    def __init__(self, url: str, workers: int) -> None:
        self._command = ("serve", "--database", url, "--workers", str(workers))
        self._running = ExitStack()
        self.port = 0

    def __enter__(self) -> "_Server":
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.kill()

    def start(self) -> None:
        base = self._running.enter_context(killed_at_the_end(*self._command))
        self.port = int(base.rsplit(":", 1)[1])

    def kill(self) -> None:
        self._running.close()


def _one_meet(prepared: Prepared, server: _Server, actions: int, seed: int, tally: Tally) -> None:
    ground, begin = next_meet(prepared.store, prepared.world, actions)
    if tally.meets:
        time.sleep(KEPT_S)
    run_apart(_act(ground, server, seed, tally))
    ops, lines = as_ops(ground)
    found = one_order(ops, begin, lines)
    tally.actions += len(ops)
    tally.meets += 1
    tally.at_once += _at_once(ops)
    tally.answers.update(f"{op.kind} {op.answer[0] if op.answer else 'unanswered'}" for op in ops)
    tally.faults += ground.faults
    if isinstance(found, NoOrder):
        tally.faults.append(f"meet {tally.meets}: {found.why}{' (given up)' if found.is_given_up else ''}")
    else:
        tally.not_hinted += found.taken_back


async def _act(ground: phones.Ground, server: _Server, seed: int, tally: Tally) -> None:
    ground.port = server.port
    ground.is_up.set()
    there = [(await phones.marshal(name, ground, seed), people.act_at_the_desk) for name in MARSHALS]
    there += [(await phones.pilot(name, ground, seed, own_page_secret(name)), people.act_as_pilot)
              for name in PILOTS]  # fmt: skip
    there.append((await phones.watcher("somebody", ground), people.look_at_the_board))
    killing = asyncio.create_task(_kill_now_and_then(ground, server, tally))
    await people.act(there, ground)
    await killing


async def _kill_now_and_then(ground: phones.Ground, server: _Server, tally: Tally) -> None:
    """Kill the server after every so many actions, and half as many before the first time."""
    for due in range(min(FOR_A_KILL, ground.left) // 2, ground.left, FOR_A_KILL):
        while len(ground.records) < due:
            await asyncio.sleep(0.01)
        ground.is_up.clear()
        await asyncio.to_thread(server.kill)
        await asyncio.to_thread(server.start)
        tally.kills += 1
        ground.port = server.port
        ground.is_up.set()


def _at_once(ops: list[Op]) -> int:
    """How many were begun before one called earlier was answered."""
    latest, found = 0.0, 0
    for op in sorted(ops, key=lambda op: op.called):
        found += op.called < latest
        latest = max(latest, op.answered or latest)
    return found


if __name__ == "__main__":
    sys.exit(command(__doc__, "actions", run, usual=10_000))
