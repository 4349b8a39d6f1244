"""Sets for the pilots who come: the best set among those that serve everybody, and who is left out where none does.

A set serves a pilot where they have a token to themselves in one of the heats: a token within the pull of a frequency
that their transmitter makes and no narrower than it, and no token with more pilots than there are heats, which are as
many as it takes to fly everybody once. Heats then come out even (see `crowd`). First of all counts how many pilots a
set serves; among those that serve as many, the order of `problem.order_key`. The proof goes the same way (`ranking`),
with the pilots served as the first thing compared.

Pilots who can take every token of the pool find a place with any set: there are as many places as pilots, so however
the others are seated, one is left for each of them. Where everybody is such a pilot, every set serves all, and the best
one is found without looking at them.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from math import ceil

from meetapp.spectrum.bands import Segment, lies_within
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import DEFAULT_PULL_MHZ, REFERENCE_WIDTH_MHZ, BadProblem
from meetapp.spectrum.crowd import crowd_of
from meetapp.spectrum.mixed import MixedSweep
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.ranking import Ranking, Stage
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.search import IsOver, answer_in_hand, answers, stages, why_impossible
from meetapp.spectrum.space import Space
from meetapp.spectrum.sweep import Sweep
from meetapp.spectrum.tuning import Tuning

_SERVED: Stage = ("served",)


@dataclass(frozen=True, slots=True)
class ExpectedPilot:
    """A pilot who is expected, with every frequency in MHz that they could be set to, and the width they occupy."""

    pilot_id: int
    mhz: frozenset[int]
    width_mhz: float = REFERENCE_WIDTH_MHZ


@dataclass(frozen=True, slots=True)
class ServingProblem:
    """Tokens for these pilots. `pick` says what is chosen from, how many, how far apart, and how wide.

    With one width for all tokens nobody's own width is looked at; with several a token serves nobody wider than it is.
    pilots: those who are expected; where not all can be served, earlier ones come first. heat_size: how many fly at
    once at most; no more than there are tokens do. Units: MHz.

    Raises BadProblem with a sentence for a person.
    """

    pick: PickProblem
    pilots: tuple[ExpectedPilot, ...]
    heat_size: int
    pull_mhz: int = DEFAULT_PULL_MHZ

    def __post_init__(self) -> None:
        if self.heat_size < 1:
            raise BadProblem("heat_size", f"In a heat flies 1 pilot or more, not {self.heat_size}.")
        if self.pull_mhz < 0:
            raise BadProblem("pull_mhz", "The pull is a distance: give 0 MHz or more.")

    @property
    def heats(self) -> int:
        """How many heats it takes to fly everybody once."""
        return max(1, ceil(len(self.pilots) / min(self.heat_size, self.pick.count)))

    def can_take(self, pilot: ExpectedPilot, token: Carrier) -> bool:
        """Whether the pilot's transmitter makes a frequency within the pull of a token that is wide enough for it."""
        if self.pick.widths_mhz and pilot.width_mhz > token.width_mhz:
            return False
        return any(token.mhz + off in pilot.mhz for off in range(-self.pull_mhz, self.pull_mhz + 1))

    @property
    def tokens(self) -> tuple[Carrier, ...]:
        """Every token that a set may have: each frequency of the pool, with each width that has room there."""
        widths = sorted(set(self.pick.widths_mhz)) or [self.pick.width_mhz]
        return tuple(Carrier(mhz, width) for width in widths for mhz in self.pick.room_for(width))


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
    return ExpectedPilot(pilot_id, mhz, width_mhz)


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
    return _answers(problem, how_many=1)


def next_best_serving(problem: ServingProblem, how_many: int, node_budget: int) -> tuple[ServingSet, ...]:
    """The best sets for the pilots in order, each proven: those that serve most first. Fewer where the budget is spent.

    `node_budget` bounds the carriers tried for all together, give or take a few hundred. None where no set is possible.

    >>> pilot = ExpectedPilot(1, frozenset([5658]))
    >>> problem = ServingProblem(PickProblem((5658, 5695, 5800), 2, 37), (pilot,), heat_size=1)
    >>> [answer.found.mhz for answer in next_best_serving(problem, 3, 1000)]
    [(5658, 5800), (5658, 5695), (5695, 5800)]
    """
    listed: list[ServingSet] = []
    for answer in _answers(problem, how_many):
        if isinstance(answer, ServingSet) and isinstance(answer.found, Optimal):
            listed.append(answer)
        elif isinstance(answer, Impossible) or _nodes(answer) >= node_budget:
            break
    return tuple(listed)


def _nodes(answer: ServingSet | Undecided) -> int:
    return answer.nodes if isinstance(answer, Undecided) else answer.found.nodes


def _answers(problem: ServingProblem, how_many: int) -> Iterator[ServingAnswer]:
    """For each rank the answers on the way and then the proven one, as `search.answers` does."""
    if all(problem.can_take(pilot, token) for pilot in problem.pilots for token in problem.tokens):
        for answer in answers(problem.pick, how_many):
            everybody = len(problem.pilots)
            yield _seated(problem, answer, everybody) if isinstance(answer, Optimal | BestFound) else answer
        return
    impossible = why_impossible(problem.pick)
    if impossible is not None:
        yield impossible
        return
    space = serving_space(problem)
    ranking = Ranking(space, (_SERVED, *stages(problem.pick)), bounded=2)
    for _ in range(how_many):
        yield Undecided(space.tried.nodes)
        for _pause in ranking.next_best():
            so_far = answer_in_hand(problem.pick, space, ranking, clearance_stage=1)
            yield so_far if isinstance(so_far, Undecided) else _seated(problem, so_far, ranking.bound(0))
        if ranking.in_hand is None:
            return
        proven = answer_in_hand(problem.pick, space, ranking, clearance_stage=1, is_proven=True)
        assert not isinstance(proven, Undecided)
        yield _seated(problem, proven, ranking.bound(0))


def serving_space(problem: ServingProblem) -> Space:
    """The lists of tokens, each with how many of the pilots it serves.

    >>> pilots = (ExpectedPilot(1, frozenset([5659])), ExpectedPilot(2, frozenset([5917])))
    >>> serving_space(ServingProblem(PickProblem((5658, 5695), 2, 37), pilots, heat_size=2)).ceiling.served
    1
    """
    takes = [[token for token in problem.tokens if problem.can_take(pilot, token)] for pilot in problem.pilots]
    if problem.pick.widths_mhz:
        return MixedSweep(problem.pick, takes, problem.heats)
    lowest = problem.pick.pool_mhz[0]
    reaches = (sum(1 << (token.mhz - lowest) for token in tokens) for tokens in takes)
    return Sweep(problem.pick, crowd_of(reaches, problem.heats))


def seats_in(problem: ServingProblem, tokens: Collection[Carrier]) -> dict[int, int]:
    """Who flies with which token of a set: pilot id to MHz, for as many pilots as the tokens can serve.

    Earlier pilots come first: who has a token keeps one, though others may have to move over.

    >>> pilots = (ExpectedPilot(1, frozenset([5658, 5695])), ExpectedPilot(2, frozenset([5658])))
    >>> problem = ServingProblem(PickProblem((5658, 5695), 2, 37), pilots, heat_size=2)
    >>> seats_in(problem, (Carrier(5658), Carrier(5695)))
    {2: 5658, 1: 5695}
    """
    held: dict[Carrier, list[ExpectedPilot]] = {token: [] for token in tokens}
    for pilot in problem.pilots:
        _seat(problem, pilot, held, set())
    return {pilot.pilot_id: token.mhz for token, pilots in held.items() for pilot in pilots}


def _seated(problem: ServingProblem, found: Optimal | BestFound, most_served: int) -> ServingSet:
    widths = found.widths_mhz or (problem.pick.width_mhz,) * len(found.mhz)
    token_of = seats_in(problem, tuple(map(Carrier, found.mhz, widths)))
    ids = [pilot.pilot_id for pilot in problem.pilots]
    return ServingSet(
        found,
        tuple((pilot_id, token_of[pilot_id]) for pilot_id in ids if pilot_id in token_of),
        tuple(pilot_id for pilot_id in ids if pilot_id not in token_of),
        most_served,
    )


def _seat(
    problem: ServingProblem, pilot: ExpectedPilot, held: dict[Carrier, list[ExpectedPilot]], tried: set[Carrier]
) -> bool:
    """Find the pilot a token, moving others over where that makes room (an augmenting path)."""
    for token, holders in held.items():
        if token in tried or not problem.can_take(pilot, token):
            continue
        tried.add(token)
        if len(holders) < problem.heats:
            holders.append(pilot)
            return True
        for place, holder in enumerate(holders):
            if _seat(problem, holder, held, tried):
                holders[place] = pilot
                return True
    return False
