"""All reports read together: which sets of hidden things explain them, and what that leaves for each report.

A set's odds are its candidates' odds beforehand times, for each report, the weight of what is known plus what the set
adds. Candidates that explain no more together than one by one (all that touch one report) enter each report by their
mean, which is exact for them. The others are enumerated: every set up to `_EXACT`, then the best sets grown on until
little is added. Same input, same answer.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import nlargest
from math import exp, inf, log

from meetapp.review.causes import Cause
from meetapp.review.hidden import Hidden, is_felt, log_odds

_EXACT = 1
_WIDTH, _WIDTH_QUICK = 20, 4
_MOST_STRONG, _MOST_STRONG_QUICK = 70, 25
"""How many sets grow on, of how many candidates; quick where only rates are learned from what comes out."""

_KEPT = 0.97
_SMALL = 12
"""Groups of so few candidates are enumerated with all of them."""

_LEAST_SURPLUS = 0.004
_DEEPEST = 7
_LITTLE = 0.003
_TOUCHES = 0.02
_FORGOTTEN, _HARDLY_TRUE = 1e-6, 1e-4

Shares = dict[Cause, float]
Candidate = tuple[Hidden, float]
"""Something hidden and its odds beforehand."""


@dataclass
class Joint:
    """What came out: for each report, by its number, the probability of each cause (they sum to 1); for each candidate
    how likely it is what disturbed each report that it touches."""

    reports: dict[int, Shares] = field(default_factory=dict)
    hidden: list[tuple[Hidden, Mapping[int, float]]] = field(default_factory=list)


def read_together(known: Mapping[int, Shares], hidden: Sequence[Candidate], *, quick: bool = False) -> Joint:
    """The odds of every cause of every report. `known`: report number to the weights of what needs nothing hidden;
    `hidden`: each candidate with its odds beforehand at this meet.

    Cost: candidates, plus for each group of reports that share one: sets times candidates.

    >>> from meetapp.review.causes import OWN_RECEIVER
    >>> lone = Hidden(Cause("no_token"), 5800, 0, 60, 0.1, ((0, 0.2),), ("x", 0))
    >>> found = read_together({0: {OWN_RECEIVER: 0.1}}, [(lone, lone.prior)])
    >>> round(found.reports[0][Cause("no_token")], 4)  # 0.1 * 0.2 beside 0.1 * (0.9 + 0.1)
    0.1667
    """
    base = [0.0] * (max(known, default=-1) + 1)
    for number, causes in known.items():
        base[number] = sum(causes.values())
    most, width = (_MOST_STRONG_QUICK, _WIDTH_QUICK) if quick else (_MOST_STRONG, _WIDTH)
    strong = _strong(hidden, base, most)
    chosen = {id(each) for each, _prior in strong}
    weak = [each for each in hidden if id(each[0]) not in chosen]
    means = _means(weak)
    for number, causes in means.items():
        base[number] += sum(causes.values())
    joint, rest = Joint(), [1.0] * len(base)
    found: dict[int, Shares] = defaultdict(dict)
    for numbers, group in _groups(strong, base):
        for number, share in _enumerate(numbers, group, base, found, joint, width).items():
            rest[number] = share
    for number, causes in known.items():
        joint.reports[number] = _all_shares(causes, means.get(number, {}), found[number], rest[number] / base[number])
    part = [share / whole if whole else 0.0 for share, whole in zip(rest, base, strict=True)]
    least = [_HARDLY_TRUE / share if share else inf for share in part]
    for each, prior in weak:
        if is_felt(prior, each.adds, least):
            joint.hidden.append((each, {number: prior * weight * part[number] for number, weight in each.adds}))
    return joint


def _all_shares(known: Shares, weak: Shares, found: Shares, part: float) -> Shares:
    """One report's causes: `part` of each weight of what wasn't enumerated, and what was found of the rest."""
    shares = {cause: part * weight for cause, weight in known.items()}
    for cause, weight in weak.items():
        shares[cause] = shares.get(cause, 0.0) + part * weight
    for cause, share in found.items():
        shares[cause] = shares.get(cause, 0.0) + share
    whole = sum(shares.values())
    return {cause: share / whole for cause, share in shares.items()}


def _means(hidden: Iterable[Candidate]) -> dict[int, Shares]:
    """What candidates add to each report one by one."""
    by_cause: dict[Cause, dict[int, float]] = {}
    for each, prior in hidden:
        if (sums := by_cause.get(each.cause)) is None:
            sums = by_cause[each.cause] = defaultdict(float)
        for number, weight in each.adds:
            sums[number] += prior * weight
    found: dict[int, Shares] = defaultdict(dict)
    for cause, sums in by_cause.items():
        for number, weight in sums.items():
            found[number][cause] = weight
    return found


def _strong(hidden: Iterable[Candidate], base: Sequence[float], most: int) -> list[Candidate]:
    """The candidates worth enumerating, in each group of reports: those that hold nearly all of what is gained."""
    worth, gain_of = [], {}
    for each, prior in hidden:
        if len(each.adds) > 1 and (gain := prior * together(each.adds, base)) > _LEAST_SURPLUS / 40:
            worth.append((each, prior))
            gain_of[id(each)] = gain
    found = []
    for _numbers, group in _groups(worth, base):
        total, so_far = sum(gain_of[id(each)] for each, _prior in group), 0.0
        if total < _LEAST_SURPLUS:
            continue
        group.sort(key=lambda one: (-gain_of[id(one[0])], one[0].mhz, one[0].start_s, one[0].end_s))
        for each, prior in group[:most]:
            found.append((each, prior))
            so_far += gain_of[id(each)]
            if so_far > _KEPT * total and len(group) > _SMALL:
                break
    return found


def together(adds: Sequence[tuple[int, float]], base: Sequence[float]) -> float:
    """How much better all its reports together are explained by something hidden than one by one.

    >>> together([(0, 2.0)], [1, 1]), together([(0, 2.0), (1, 3.0)], [1, 1])
    (0.0, 6.0)
    """
    if len(adds) == 2:  # most: for these the sum below comes to this product
        (one, weight), (other, other_weight) = adds
        return weight / base[one] * other_weight / base[other]
    times, one_by_one = 1.0, 1.0
    for number, weight in adds:
        part = weight / base[number]
        times *= 1 + part
        one_by_one += part
    return times - one_by_one


def _groups(hidden: Iterable[Candidate], base: Sequence[float]) -> list[tuple[list[int], list[Candidate]]]:
    """Candidates and reports that hang together, apart from those that don't."""
    head: dict[int, int] = {}

    def find(number: int) -> int:
        while head.setdefault(number, number) != number:
            number = head[number]
        return number

    least = [_TOUCHES * each for each in base]
    touching = [(touched, each) for each in hidden if (touched := _touched(each[0], least))]
    for touched in {touched for touched, _each in touching}:
        first = find(touched[0])
        for number in touched[1:]:
            head[find(number)] = first
    numbers: dict[int, list[int]] = defaultdict(list)
    for number in sorted(head):
        numbers[find(number)].append(number)
    members: dict[int, list[Candidate]] = defaultdict(list)
    for touched, each in touching:
        members[find(touched[0])].append(each)
    return [(numbers[top], members[top]) for top in numbers]


def _touched(hidden: Hidden, least: Sequence[float]) -> tuple[int, ...]:
    return tuple([number for number, weight in hidden.adds if weight > least[number]])


@dataclass(slots=True)
class _Set:
    """A set of candidates by their places, the log of its odds, and what it adds to each report."""

    members: frozenset[int]
    log_weight: float
    adds: dict[int, float]


def _enumerate(
    numbers: Sequence[int],
    group: Sequence[Candidate],
    base: Sequence[float],
    found: Mapping[int, Shares],
    joint: Joint,
    width: int,
) -> Mapping[int, float]:
    """One group's part, added to `found`; what is left of each report to all that wasn't enumerated."""
    own = set(numbers)
    touches = [{number: weight for number, weight in each.adds if number in own} for each, _prior in group]
    explains, rest = _marginals(_sets(group, touches, base, width), touches, numbers, base)
    for (hidden, _prior), shares in zip(group, explains, strict=True):
        joint.hidden.append((hidden, shares))
        for number, share in shares.items():
            found[number][hidden.cause] = found[number].get(hidden.cause, 0.0) + share
    return rest


def _marginals(
    sets: Sequence["_Set"], touches: Sequence[Mapping[int, float]], numbers: Sequence[int], base: Sequence[float]
) -> tuple[list[dict[int, float]], dict[int, float]]:
    """Over all sets: how much of each report each candidate explains, what is left to the known."""
    top = max(each.log_weight for each in sets)
    odds = [exp(each.log_weight - top) for each in sets]
    total = sum(odds)
    explains = [dict.fromkeys(each, 0.0) for each in touches]
    rest, none_of = dict.fromkeys(numbers, 0.0), 0.0
    for each, odd in zip(sets, odds, strict=True):
        probability = odd / total
        if probability < _FORGOTTEN:
            continue
        none_of += probability
        for number, added in each.adds.items():
            rest[number] -= probability * added / (base[number] + added)
        for member in each.members:
            for number, weight in touches[member].items():
                explains[member][number] += probability * weight / (base[number] + each.adds[number])
    return explains, {number: none_of + less for number, less in rest.items()}


def _sets(
    group: Sequence[Candidate], touches: Sequence[Mapping[int, float]], base: Sequence[float], width: int
) -> list[_Set]:
    """Sets from the empty one on, each level from the best of the one before."""
    priors = [log_odds(prior) - log_odds(1 - min(prior, 0.99)) for _each, prior in group]
    keys = [each.rules_out for each, _prior in group]
    level = [_Set(frozenset(), 0.0, {})]
    found = list(level)
    for depth in range(_DEEPEST):
        grown: dict[frozenset[int], _Set] = {}
        for each in level:
            taken = {keys[member] for member in each.members}
            for place, key in enumerate(keys):
                if key in taken or (members := each.members | {place}) in grown:
                    continue
                grown[members] = _with(each, members, touches[place], priors[place], base)
        if not grown:
            break
        top = max(each.log_weight for each in found)
        added = sum(exp(min(each.log_weight - top, 700)) for each in grown.values())
        before = sum(exp(each.log_weight - top) for each in found)
        found.extend(grown.values())
        level = nlargest(width, grown.values(), key=lambda each: each.log_weight)
        if depth >= _EXACT and added < _LITTLE * before:
            break
    return found


def _with(
    each: _Set, members: frozenset[int], touches: Mapping[int, float], prior: float, base: Sequence[float]
) -> _Set:
    adds, times = dict(each.adds), 1.0
    for number, weight in touches.items():
        before = adds.get(number, 0.0)
        adds[number] = before + weight
        times *= 1 + weight / (base[number] + before)
    return _Set(members, each.log_weight + prior + log(times), adds)
