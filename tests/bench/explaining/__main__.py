"""How well explanations find the true causes of simulated meets.

python -m tests.bench.explaining [MEETS] [--first SEED] [--world NAME ...] [--kept FILE]

MEETS with causes and as many without in each world (40), from seed --first (1) on. --world: only these. --kept: a file
for the observers' weights, which take most of the time and are the same for every explainer.
"""

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from time import process_time

from meetapp.simulate.plan import MeetPlan, parse_causes
from meetapp.simulate.simulating import simulate
from tests.bench.explaining.figures import calibration_error, confusion, of_all, of_first, reliability
from tests.bench.explaining.judging import explainer
from tests.bench.explaining.measuring import HEADINGS, Measured, details, line, measure
from tests.bench.explaining.worlds import WORLDS, KeptWeights

_BIG = MeetPlan(
    pilots=60,
    hours=6.5,
    tokens=8,
    flight_min=5,
    causes=parse_causes("no_token=5,wrong_channel=6,too_close=4,product=2,neighbour=3,own_receiver=5,unknown=4"),
)


def main() -> None:
    """Every world, then all together, then the time of a big meet."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("meets", nargs="?", type=int, default=40)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--world", action="append", choices=list(WORLDS))
    parser.add_argument("--kept", type=Path)
    options = parser.parse_args()
    seeds = range(options.first, options.first + options.meets)
    kept = KeptWeights(options.kept)
    print("ours: meetapp explain; near: the nearest on air is to blame; look: the commonest kind for this look; ideal:")
    print("the ideal observer. told: reports that it is sure of. quiet: meets without causes where nobody is accused.")
    print(*HEADINGS, sep="\n")
    together = Measured()
    by_world = {}
    for name in options.world or WORLDS:
        by_world[name] = measure(WORLDS[name], seeds, kept)
        kept.write()
        together.add(by_world[name])
        print(line(name, by_world[name]))
        sys.stdout.flush()
    print(line("all together", together))
    for name, found in [*by_world.items(), ("all together", together)]:
        print(f"\n{name}", *details(found), sep="\n")
    _print_reliability(together)
    print("\nConfusion, all reports", *confusion(together.ours), sep="\n")
    print("\nConfusion, those that can be told", *confusion([e for e in together.ours if e.is_told]), sep="\n")
    two = [each for each in together.ours if each.is_told_to_two]
    print("\nConfusion, those that observers of two worlds are sure of", *confusion(two), sep="\n")
    print("\nConfusion of the ideal observer", *confusion(together.ideal), sep="\n")
    _print_time()


def _print_reliability(found: Measured) -> None:
    for words, said in (("the first kind", of_first(found.ours)), ("all kinds", of_all(found.ours))):
        print(f"\nReliability of {words}, expected calibration error {calibration_error(said):.3f}")
        print(*reliability(said), sep="\n")
    said = of_first(found.ideal)
    print(f"\nReliability of the ideal observer's first kind, expected calibration error {calibration_error(said):.3f}")
    print(*reliability(said), sep="\n")


def _print_time() -> None:
    times = []
    for seed in (1, 2, 3):
        meet = simulate(replace(_BIG, seed=seed))
        begun = process_time()
        explainer(meet.file)
        times.append(process_time() - begun)
        size = f"{len(meet.file.pilots)} pilots, {len(meet.file.loans)} loans, {len(meet.file.reports)} reports"
        print(f"\n{size}: {times[-1]:.2f} s of processor time", end="")
    print()


if __name__ == "__main__":
    main()
