"""The largest group of pilots that can be on air together: the exact search behind the hand-out.

Floors couple carriers by two (spacing), by three (two-signal products) and by four (three-signal products), so this
is no plain matching. What is on air is fixed; a place is a token with one carrier that a waiting pilot would make of
it. For each place, each two and each three of them a bit mask says which further places break nothing with them
(`_FloorMasks`, worked out only where the search gets to). The search then grows a set of places, keeps a matching of
pilots to it, and leaves a branch only where one of these proves that nothing larger is in it:

- places that exclude each other in pairs can give one between them, so a cover by such groups bounds what can come;
- a pilot takes one place, so no group is larger than the number of pilots who could take any place left;
- a set that can't be matched to pilots has no larger set that can.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.floors import Floors, keeps_floors


@dataclass(frozen=True, slots=True)
class Place:
    """A token with the carrier that some pilots make of it; `takers` has bit i set where pilot i of the line does."""

    token_id: int
    carrier: Carrier
    takers: int


@dataclass(frozen=True, slots=True)
class Group:
    """The largest group found: which place each pilot takes (pilot, place), in line order; exact unless cut short."""

    seats: tuple[tuple[int, int], ...]
    is_exact: bool


class GroupSearch:
    """Answers several questions about the same places and the same carriers on air, sharing the work on the floors."""

    def __init__(
        self,
        places: Sequence[Place],
        on_air: Sequence[Carrier],
        floors: Floors,
        neighbours: Sequence[Neighbour] = (),
    ) -> None:
        self._takers = [place.takers for place in places]
        self._masks = _FloorMasks(places, on_air, floors)
        self._usable = _mask(
            i
            for i, place in enumerate(places)
            if place.takers and keeps_floors(on_air, place.carrier, floors, neighbours)
        )
        self._best: tuple[int, ...] = ()
        self._nodes_left = 0
        self._is_exact = True

    def largest(self, node_budget: int, given: int | None = None) -> Group:
        """The largest group of waiting pilots that can be added, on top of the place `given` if there is one.

        The given place counts as on air and takes nobody from the line. Ties: the first found, in the order of the
        places; within it the pilots who stand earlier. Cost: exponential in the tokens, stopped by the budget.
        """
        self._best, self._nodes_left, self._is_exact = (), node_budget, True
        start: tuple[int, ...] = () if given is None else (given,)
        allowed = self._usable if given is None else self._usable & self._masks.with_added((), given)
        self._extend(start, len(start), allowed, {})
        return Group(self._seated(self._best), self._is_exact)

    def _extend(self, chosen: tuple[int, ...], given: int, allowed: int, seats: dict[int, int]) -> None:
        if len(chosen) - given > len(self._best):
            self._best = chosen[given:]
        while allowed and len(chosen) - given + self._bound(allowed, seats) > len(self._best):
            if self._nodes_left == 0:
                self._is_exact = False
                return
            self._nodes_left -= 1
            place = (allowed & -allowed).bit_length() - 1
            allowed &= allowed - 1
            reseated = self._seat(place, seats)
            if reseated is not None:
                further = allowed & self._masks.with_added(chosen, place)
                self._extend((*chosen, place), given, further, reseated)

    def _bound(self, allowed: int, seats: dict[int, int]) -> int:
        """No more than this many of the allowed places can be added to those already seated."""
        could_take = 0
        for place in _bits(allowed):
            could_take |= self._takers[place]
        seated = _mask(seats)
        # A seated pilot may move over, but each move leaves one more seat for the others to fill, so count all.
        pilots_left = (could_take | self._reach(seats)).bit_count() - seated.bit_count()
        return min(pilots_left, self._masks.exclusive_groups(allowed))

    def _reach(self, seats: dict[int, int]) -> int:
        reach = 0
        for place in seats.values():
            reach |= self._takers[place]
        return reach

    def _seat(self, place: int, seats: dict[int, int]) -> dict[int, int] | None:
        """The seats with one more place taken, others moving over where they must; None where no pilot is left."""
        moved = dict(seats)
        return moved if _augment(place, self._takers, moved, set()) else None

    def _seated(self, places: Sequence[int]) -> tuple[tuple[int, int], ...]:
        """Who of the line takes which of these places: earlier pilots first, as many as there are places."""
        takers = 0
        for place in places:
            takers |= self._takers[place]
        can_take = {
            pilot: _mask(place for place in places if self._takers[place] >> pilot & 1) for pilot in _bits(takers)
        }
        pilot_at: dict[int, int] = {}
        for pilot in can_take:
            if len(pilot_at) < len(places):
                _augment(pilot, can_take, pilot_at, set())
        return tuple(sorted((pilot, place) for place, pilot in pilot_at.items()))


class _FloorMasks:
    """Which places break no floor together, given what is on air, as bit masks that are worked out when asked for.

    The mask of some places leaves out what they exclude together (by the floors that couple exactly them with one
    more, and with carriers on air) and what a smaller part of them excludes. A set whose every place, pair, three and
    four is clear breaks nothing.
    """

    def __init__(self, places: Sequence[Place], on_air: Sequence[Carrier], floors: Floors) -> None:
        self._tokens = [place.token_id for place in places]
        self._signals = [_signal(place.carrier) for place in places]
        self._air = [_signal(carrier) for carrier in on_air]
        self._air_pairs = list(combinations(self._air, 2))
        self._spacing = 2 * floors.spacing_mhz
        self._clearance = None if floors.clearance_mhz is None else 2 * floors.clearance_mhz
        self._everything = (1 << len(places)) - 1
        self._known: dict[tuple[int, ...], int] = {}

    def with_added(self, chosen: Sequence[int], place: int) -> int:
        """The places that break nothing in which `place` takes part with some of the chosen and what is on air."""
        clear = self._clear_with((place,))
        if self._clearance is not None:
            for i, one in enumerate(chosen):
                clear &= self._clear_with((one, place))
                for other in chosen[:i]:
                    clear &= self._clear_with((other, one, place))
        return clear

    def exclusive_groups(self, allowed: int) -> int:
        """Into how many groups of places that exclude each other in pairs the allowed places fall (first fit)."""
        groups = 0
        while allowed:
            open_to, groups = allowed, groups + 1
            while open_to:
                bit = open_to & -open_to
                allowed ^= bit
                open_to &= ~(bit | self._clear_with((bit.bit_length() - 1,)))
        return groups

    def _clear_with(self, places: tuple[int, ...]) -> int:
        key = tuple(sorted(places))
        if key not in self._known:
            # What a smaller part of these places excludes is excluded with all of them, and need not be looked at.
            possible = self._everything & ~_mask(key)
            for smaller in combinations(key, len(key) - 1) if len(key) > 1 else ():
                possible &= self._clear_with(smaller)
            self._known[key] = _mask(other for other in _bits(possible) if self._is_clear(key, other))
        return self._known[key]

    def _is_clear(self, places: tuple[int, ...], other: int) -> bool:
        signals = [self._signals[place] for place in (*places, other)]
        if len(signals) == 2:
            return self._tokens[places[0]] != self._tokens[other] and self._is_clear_pair(*signals)
        if len(signals) == 3:
            three = [(*signals, air) for air in self._air]
            return self._two_signal_clear(*signals) and all(self._three_signal_clear(*four) for four in three)
        return self._three_signal_clear(*signals)

    def _is_clear_pair(self, a: "_Signal", b: "_Signal") -> bool:
        if 2 * abs(a[0] - b[0]) - a[1] - b[1] < self._spacing:
            return False
        if self._clearance is None:
            return True
        return all(self._two_signal_clear(a, b, air) for air in self._air) and all(
            self._three_signal_clear(a, b, x, y) for x, y in self._air_pairs
        )

    def _two_signal_clear(self, a: "_Signal", b: "_Signal", c: "_Signal") -> bool:
        floor = self._clearance or 0
        total, excess = a[0] + b[0] + c[0], a[1] + b[1] + c[1]
        return (
            2 * abs(3 * a[0] - total) - excess - a[1] >= floor
            and 2 * abs(3 * b[0] - total) - excess - b[1] >= floor
            and 2 * abs(3 * c[0] - total) - excess - c[1] >= floor
        )

    def _three_signal_clear(self, a: "_Signal", b: "_Signal", c: "_Signal", d: "_Signal") -> bool:
        floor = (self._clearance or 0) + a[1] + b[1] + c[1] + d[1]
        return (
            2 * abs(a[0] + b[0] - c[0] - d[0]) >= floor
            and 2 * abs(a[0] + c[0] - b[0] - d[0]) >= floor
            and 2 * abs(a[0] + d[0] - b[0] - c[0]) >= floor
        )


_Signal = tuple[int, float]
"""A carrier for the inner loops: its MHz, and how much wider than the reference it is."""


def _signal(carrier: Carrier) -> _Signal:
    return carrier.mhz, carrier.width_mhz - REFERENCE_WIDTH_MHZ


def _augment(seeker: int, options: Sequence[int] | dict[int, int], holder_of: dict[int, int], tried: set[int]) -> bool:
    """Give the seeker one of its options, moving earlier holders over where needed (Kuhn's augmenting path)."""
    for option in _bits(options[seeker]):
        if option not in tried:
            tried.add(option)
            if option not in holder_of or _augment(holder_of[option], options, holder_of, tried):
                holder_of[option] = seeker
                return True
    return False


def _bits(mask: int) -> Iterator[int]:
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1


def _mask(places: Iterable[int]) -> int:
    mask = 0
    for place in places:
        mask |= 1 << place
    return mask
