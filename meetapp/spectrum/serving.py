"""Sets for the pilots who come: the best set among those that serve everybody, and who is left out where none does.

A set serves a pilot where they have a token to themselves in one of the heats: a token within the pull of a frequency
that their transmitter makes, and no token with more pilots than there are heats, which are as many as it takes to
fly everybody once. Heats then come out even (see `crowd`). First of all counts how many pilots a set serves; among
those that serve as many, the order of `problem.order_key`. The proof goes the same way (`ranking`), with the pilots
served as the first thing compared.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from math import ceil

from meetapp.spectrum.bands import Segment, lies_within
from meetapp.spectrum.channels import DEFAULT_PULL_MHZ, REFERENCE_WIDTH_MHZ, BadProblem
from meetapp.spectrum.crowd import Crowd, Group
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.ranking import Ranking, Stage
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.search import IsOver, answer_in_hand, stages, why_impossible
from meetapp.spectrum.sweep import Sweep
from meetapp.spectrum.tuning import Tuning

_SERVED: Stage = ("served",)


@dataclass(frozen=True, slots=True)
class ExpectedPilot:
    """A pilot who is expected, with every frequency in MHz that they could be set to."""

    pilot_id: int
    mhz: frozenset[int]


@dataclass(frozen=True, slots=True)
class ServingProblem:
    """Tokens for these pilots. `pick` says what is chosen from, how many, and how far apart (carriers of one width).

    pilots: those who are expected; where not all can be served, earlier ones come first. heat_size: how many fly at
    once at most; no more than there are tokens do. Units: MHz.

    Raises BadProblem with a sentence for a person.
    """

    pick: PickProblem
    pilots: tuple[ExpectedPilot, ...]
    heat_size: int
    pull_mhz: int = DEFAULT_PULL_MHZ

    def __post_init__(self) -> None:
        if self.pick.widths_mhz:
            raise BadProblem("widths_mhz", "Choose for the pilots expected with one width for all tokens.")
        if self.heat_size < 1:
            raise BadProblem("heat_size", f"In a heat flies 1 pilot or more, not {self.heat_size}.")
        if self.pull_mhz < 0:
            raise BadProblem("pull_mhz", "The pull is a distance: give 0 MHz or more.")

    @property
    def heats(self) -> int:
        """How many heats it takes to fly everybody once."""
        return max(1, ceil(len(self.pilots) / min(self.heat_size, self.pick.count)))

    def can_take(self, pilot: ExpectedPilot, token_mhz: int) -> bool:
        """Whether the pilot's transmitter makes a frequency within the pull of a token."""
        return any(token_mhz + off in pilot.mhz for off in range(-self.pull_mhz, self.pull_mhz + 1))


@dataclass(frozen=True, slots=True)
class ServingSet:
    """The best set found for the pilots; Optimal only where it is proven that none serves more, and none is better.

    `seats` are pairs of pilot and token (MHz) for those who are served, `left_out` the others, both in the order
    of the pilots. `most_served`: no set with this count and spacing serves more pilots, which is proven.
    `found.bound_mhz`, where it isn't proven best, holds for the sets that serve `most_served`.
    """

    found: Optimal | BestFound
    seats: tuple[tuple[int, int], ...]
    left_out: tuple[int, ...]
    most_served: int

    @property
    def is_most_proven(self) -> bool:
        """Whether no set serves more."""
        return len(self.seats) == self.most_served


ServingAnswer = ServingSet | Impossible | Undecided


def expected_pilot(
    pilot_id: int,
    transmitter: Tuning,
    goggles: Tuning | None = None,
    segments: Collection[Segment] | None = None,
    width_mhz: float = REFERENCE_WIDTH_MHZ,
) -> ExpectedPilot:
    """A pilot with all that their transmitter makes, their goggles receive and their band profile holds.

    Units: MHz. `goggles` None: they receive what the transmitter makes. `segments` None: no band rule is applied.

    >>> from meetapp.data.catalog import published_plans
    >>> from meetapp.spectrum.tuning import parse_tuning
    >>> tuning = parse_tuning("R", published_plans())
    >>> sorted(expected_pilot(1, tuning, segments=[Segment(5725, 5875)]).mhz)
    [5769, 5806, 5843]
    """
    mhz = transmitter.all_mhz()
    if goggles is not None:
        mhz &= goggles.all_mhz()
    if segments is not None:
        inside = tuple(segments)
        mhz = frozenset(each for each in mhz if lies_within(each, width_mhz, inside))
    return ExpectedPilot(pilot_id, mhz)


def serving_set(problem: ServingProblem, is_over: IsOver | None = None) -> ServingAnswer:
    """The set that serves most of the pilots, and the best of those; or why there is none.

    `is_over` is asked every few milliseconds; without it the search goes on until it is proven.
    Cost: worst case exponential in the count of tokens.

    >>> low, high = ExpectedPilot(1, frozenset([5658, 5695])), ExpectedPilot(2, frozenset([5658, 5917]))
    >>> answer = serving_set(ServingProblem(PickProblem((5658, 5695, 5800, 5917), 2, 37), (low, high), heat_size=2))
    >>> answer.found.mhz, answer.seats, answer.left_out
    ((5658, 5917), ((1, 5658), (2, 5917)), ())
    """
    best: ServingAnswer = Undecided(0)
    for answer in improving_serving_set(problem):
        best = answer
        if is_over is not None and is_over():
            break
    return best


def improving_serving_set(problem: ServingProblem) -> Iterator[ServingAnswer]:
    """The answer as it gets better: ask for the next one, go on later, or stop and leave it at that.

    Like `search.improving`: the set never gets worse and the bounds never rise; the last answer is proven.

    >>> pilot = ExpectedPilot(1, frozenset([5658]))
    >>> *_, last = improving_serving_set(ServingProblem(PickProblem((5658, 5695), 2, 40), (pilot,), heat_size=1))
    >>> last
    Impossible(largest_count=1, largest_spacing_mhz=37)
    """
    impossible = why_impossible(problem.pick)
    if impossible is not None:
        yield impossible
        return
    space = serving_space(problem)
    ranking = Ranking(space, (_SERVED, *stages(problem.pick)), bounded=2)
    yield Undecided(0)
    for _pause in ranking.next_best():
        so_far = answer_in_hand(problem.pick, space, ranking, clearance_stage=1)
        yield so_far if isinstance(so_far, Undecided) else _seated(problem, so_far, ranking.bound(0))
    proven = answer_in_hand(problem.pick, space, ranking, clearance_stage=1, is_proven=True)
    assert not isinstance(proven, Undecided)
    yield _seated(problem, proven, ranking.bound(0))


def serving_space(problem: ServingProblem) -> Sweep:
    """The lists of tokens, each with how many of the pilots it serves.

    >>> pilots = (ExpectedPilot(1, frozenset([5659])), ExpectedPilot(2, frozenset([5917])))
    >>> serving_space(ServingProblem(PickProblem((5658, 5695), 2, 37), pilots, heat_size=2)).ceiling.served
    1
    """
    pool = problem.pick.pool_mhz
    sizes: dict[int, int] = {}
    for pilot in problem.pilots:
        reach = sum(1 << (mhz - pool[0]) for mhz in pool if problem.can_take(pilot, mhz))
        sizes[reach] = sizes.get(reach, 0) + 1
    return Sweep(problem.pick, Crowd([Group(reach, size) for reach, size in sizes.items()], problem.heats))


def _seated(problem: ServingProblem, found: Optimal | BestFound, most_served: int) -> ServingSet:
    """Give each pilot a token, earlier ones first: who has one keeps one, though others may have to move over."""
    held: dict[int, list[ExpectedPilot]] = {mhz: [] for mhz in found.mhz}
    for pilot in problem.pilots:
        _seat(problem, pilot, held, set())
    token_of = {pilot.pilot_id: mhz for mhz, pilots in held.items() for pilot in pilots}
    ids = [pilot.pilot_id for pilot in problem.pilots]
    return ServingSet(
        found,
        tuple((pilot_id, token_of[pilot_id]) for pilot_id in ids if pilot_id in token_of),
        tuple(pilot_id for pilot_id in ids if pilot_id not in token_of),
        most_served,
    )


def _seat(
    problem: ServingProblem, pilot: ExpectedPilot, held: dict[int, list[ExpectedPilot]], tried: set[int]
) -> bool:
    """Find the pilot a token, moving others over where that makes room (an augmenting path)."""
    for mhz, holders in held.items():
        if mhz in tried or not problem.can_take(pilot, mhz):
            continue
        tried.add(mhz)
        if len(holders) < problem.heats:
            holders.append(pilot)
            return True
        for place, holder in enumerate(holders):
            if _seat(problem, holder, held, tried):
                holders[place] = pilot
                return True
    return False
