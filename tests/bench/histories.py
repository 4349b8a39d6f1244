"""Let people act on one meet at the same moment, over and over, and look for one order that explains every answer.

    python -m tests.bench.histories                                       # 10 000 actions on a file of its own
    python -m tests.bench.histories 10000 --postgres --workers 2           # a PostgreSQL server of its own
    python -m tests.bench.histories 10000 postgresql://… --workers 2       # an empty database of a server
"""

import sys
import time
from collections import Counter
from dataclasses import dataclass, field

from tests.agreement import disagreements
from tests.apart import run_apart
from tests.bench.busy_meet import command
from tests.bench.kills import prepare
from tests.desk_load import Meet as Prepared
from tests.history import phones
from tests.history.meets import next_meet, own_page_secret
from tests.history.order import NoOrder, Op, one_order
from tests.quick_start import killed_at_the_end

MARSHALS = ("Mo", "Lu", "Kim")
PILOTS = ("Ana", "Bo", "Cy")
AT_A_MEET = 500
"""How many actions one meet has; each meet is a history by itself."""
KEPT_S = 2.1
"""A server of a file may show what it kept for two seconds where another process changed the meet."""


@dataclass
class Tally:
    """What was seen. `not_hinted`: the histories in which the journal's own order had to be left for another."""

    actions: int = 0
    meets: int = 0
    not_hinted: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    at_once: int = 0
    faults: list[str] = field(default_factory=list)

    def sentence(self) -> str:
        """The figures in some lines."""
        kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(self.answers.items()))
        return (
            f"{self.actions} actions at {self.meets} meets, {self.at_once} of them begun while another was not "
            f"answered: {kinds}. The search left the journal's order {self.not_hinted} times; {len(self.faults)} faults"
        )


def run(url: str, actions: int, seed: int = 1, workers: int = 1, at_a_meet: int = AT_A_MEET) -> Tally:
    """Act so often, meet by meet, on one server, and look for an order of each."""
    prepared, tally = prepare(url), Tally()
    with killed_at_the_end("serve", "--database", url, "--workers", str(workers)) as base:
        while tally.actions < actions and not tally.faults:
            _one_meet(prepared, int(base.rsplit(":", 1)[1]), min(at_a_meet, actions), seed + tally.meets, tally)
            if actions > at_a_meet:
                print(tally.sentence(), flush=True)
    tally.faults += disagreements(url)
    prepared.store.close()
    return tally


def _one_meet(prepared: Prepared, port: int, actions: int, seed: int, tally: Tally) -> None:
    ground, begin = next_meet(prepared.store, prepared.world, actions)
    if tally.meets:
        time.sleep(KEPT_S)
    run_apart(_act(ground, port, seed))
    ops, lines = phones.as_ops(ground)
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


async def _act(ground: phones.Ground, port: int, seed: int) -> None:
    people = [(await phones.marshal(name, port, ground, seed), phones.act_at_the_desk) for name in MARSHALS]
    people += [(await phones.pilot(name, port, ground, seed, own_page_secret(name)), phones.act_as_pilot)
               for name in PILOTS]  # fmt: skip
    people.append((await phones.watcher("somebody", port, ground), phones.look_at_the_board))
    await phones.act(people, ground)


def _at_once(ops: list[Op]) -> int:
    """How many were begun before one called earlier was answered."""
    latest, found = 0.0, 0
    for op in sorted(ops, key=lambda op: op.called):
        found += op.called < latest
        latest = max(latest, op.answered or latest)
    return found


if __name__ == "__main__":
    sys.exit(command(__doc__, "actions", run, usual=10_000))
