"""The rounds of a day: who flies with whom each time, so that nobody flies twice running and many pilots meet.

Everybody keeps one channel all day, so a heat is any mixture whose channels keep the floors together. The search starts
from the heats of the first round and looks for better mixtures by exchanges of two pilots between two heats of one
round. Repeating the first round as it stands is always possible: with two heats or more nobody then flies twice
running, and each exchange is taken only where that gets no worse.
"""

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations

from meetapp.spectrum.heats.day import Day, Mixer, Round, Seat
from meetapp.spectrum.heats.effort import Effort, EffortSpent

_MULTIPLIER, _INCREMENT, _MODULUS = 1103515245, 12345, 1 << 31
"""A linear congruential sequence (ISO C, rand): shuffles that are the same every time."""

_SHAKE = 6
"""How many exchanges in a row are made without a look at their worth, once no single one helps any more."""

_SHAKES_IN_VAIN = 40
"""How often the best plan is shaken in vain before the search ends, at the first look."""

def mixed_rounds(
    first: Sequence[Sequence[int]],
    rounds: int,
    mixer: Mixer,
    most_pairs: int,
    effort: Effort,
    have_met: Collection[tuple[int, int]] = (),
    just_flew: Collection[int] = (),
    patience: int = 0,
) -> list[Round]:
    """So many rounds out of the heats of the first one: the fewest flights twice running, then the most pairs found.

    first: pilots by place. It ends where `most_pairs` meet, where shaking the best plan has helped no more for a
    while, or where the effort is spent; it is never worse than the first round repeated. A longer look (`patience`)
    shakes more often and differently. Same input, same rounds.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.heats.air import Air
    >>> air = Air([5658, 5732, 5806], [20], Floors(37, None))
    >>> mixer = Mixer(air, [(bit, 0) for bit in (0, 0, 0, 74, 74, 74)])
    >>> for heats in mixed_rounds([[0, 3], [1, 4], [2, 5]], 2, mixer, 6, Effort(999, lambda: False)): print(heats)
    [[0, 3], [1, 4], [2, 5]]
    [[0, 4], [1, 5], [2, 3]]
    """
    best = None
    for start in (_turned(first, rounds, mixer), [[list(heat) for heat in first] for _ in range(rounds)]):
        day = Day(start, mixer, have_met, just_flew)
        for number in range(rounds):
            day.put_first_in_order(number)
        day = _improved(day, most_pairs, effort.half(), patience)
        if best is None or day.worth > best.worth:
            best = day
        if best.worth >= (0, most_pairs):
            break
    assert best is not None
    return best.rounds


def _turned(first: Sequence[Sequence[int]], rounds: int, mixer: Mixer) -> list[Round]:
    """Rounds in which the pilots of each carrier move on through its heats, each carrier at a pace of its own."""
    sitting: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for heat, pilots in enumerate(first):
        for place, pilot in enumerate(pilots):
            sitting.setdefault(mixer.carriers[pilot], []).append((heat, place))
    found = []
    for number in range(rounds):
        heats = [list(heat) for heat in first]
        for pace, places in enumerate(sitting.values()):
            for step, (heat, place) in enumerate(places):
                old_heat, old_place = places[(step + number * pace) % len(places)]
                heats[heat][place] = first[old_heat][old_place]
        found.append(heats)
    return found


def _improved(day: Day, most_pairs: int, effort: Effort, patience: int) -> Day:
    """Exchange as long as one helps; then shake the best plan and try again, until that has helped no more for long."""
    best, in_vain, number = day, 0, patience + 1
    try:
        _climb(day, effort)
        while in_vain < _SHAKES_IN_VAIN * (patience + 1) and best.worth < (0, most_pairs):
            day = best.copy()
            number = _shake(day, number, effort)
            _climb(day, effort)
            in_vain = 0 if day.worth > best.worth else in_vain + 1
            best = max(best, day, key=lambda each: each.worth)
    except EffortSpent:
        pass
    return max(best, day, key=lambda each: each.worth)


def _climb(day: Day, effort: Effort) -> None:
    """Take exchanges that help until there are none."""
    while True:
        taken = 0
        for number, one, other in list(_exchanges(day)):
            if day.may_help(number, one, other):
                effort.spend()
                if (day.gain(number, one, other) or 0) > 0:
                    day.exchange(number, one, other)
                    taken += 1
        if not taken:
            return


def _shake(day: Day, number: int, effort: Effort) -> int:
    """Take a few exchanges that break nothing, whether they help or not; returns where the sequence stands."""
    possible = list(_exchanges(day))
    taken = 0
    for _ in range(_SHAKE * _SHAKE if possible else 0):
        effort.spend()
        number = (number * _MULTIPLIER + _INCREMENT) % _MODULUS
        exchange = possible[number // 8 % len(possible)]
        if day.gain(*exchange) is not None:
            day.exchange(*exchange)
            taken += 1
        if taken == _SHAKE:
            break
    return number


def _exchanges(day: Day) -> Iterator[tuple[int, Seat, Seat]]:
    """Every two places in different heats of one round."""
    for number, heats in enumerate(day.rounds):
        seats = [(heat, place) for heat, pilots in enumerate(heats) for place in range(len(pilots))]
        for one, other in combinations(seats, 2):
            if one[0] != other[0]:
                yield number, one, other
