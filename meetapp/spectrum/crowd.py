"""The pilots who are expected, as a search sees them: how many of them some tokens can serve.

Pilots who can make the same frequencies of the pool are one group. A token serves up to one pilot in each heat, so as
many as there are heats. What tokens can serve then depends only on which groups can use each of them (`users`), so the
answers are kept by that.

Heats come out even whenever every token has at most as many pilots as there are heats: line the pilots up token by
token and deal them out to the heats in turn. Nobody meets another pilot of the same token, since at most as many
stand in a row as there are heats, and the sizes of the heats differ by at most one.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from meetapp.spectrum.masks import bits, turned


@dataclass(frozen=True, slots=True)
class Group:
    """Pilots who can make the same frequencies: `reach` is a mask of them, `size` how many pilots."""

    reach: int
    size: int


class Crowd:
    """Groups of pilots, and how many of them a set of tokens serves, each token one pilot in each of the heats.

    >>> crowd = Crowd([Group(0b0011, 2), Group(0b0110, 2)], heats=1)
    >>> crowd.most_served(0b0011), crowd.most_served(0b0001, further=0b1100, left=2), crowd.most_served(0b1000)
    (2, 3, 0)
    """

    def __init__(self, groups: Sequence[Group], heats: int) -> None:
        self._groups = tuple(groups)
        self._heats = heats
        self._known: dict[tuple[tuple[int, ...], int, int], int] = {}

    @property
    def pilots(self) -> int:
        """How many pilots there are."""
        return sum(group.size for group in self._groups)

    def turned(self, top: int) -> "Crowd":
        """The same crowd for a pool that is turned end for end, `top` being its highest offset."""
        return Crowd([Group(turned(group.reach, top), group.size) for group in self._groups], self._heats)

    def most_served(self, tokens: int, further: int = 0, left: int = 0) -> int:
        """How many pilots the tokens serve at most, and `left` more tokens from `further`.

        Exact for the tokens alone. With more to come it is an upper bound: each of those counts as if it could be used
        by every group that can use some of them.
        """
        users = tuple(sorted(self.users(1 << offset) for offset in bits(tokens)))
        return self.served_by(users, self.users(further), left)

    def served_by(self, users: tuple[int, ...], users_to_come: int = 0, left: int = 0) -> int:
        """The same for tokens by their users (a mask of groups for each token, ascending)."""
        key = users, users_to_come, left
        if key not in self._known:
            self._known[key] = self._flow(*key)
        return self._known[key]

    def users(self, tokens: int) -> int:
        """Which groups can use one of these tokens, as a mask of groups."""
        return sum(1 << number for number, group in enumerate(self._groups) if group.reach & tokens)

    def _flow(self, users: tuple[int, ...], users_to_come: int, left: int) -> int:
        """The largest number of pilots with a place, group by group, each along augmenting paths."""
        places = [(each, self._heats) for each in users] + [(users_to_come, left * self._heats)]
        seated = [[0] * len(self._groups) for _ in places]
        served = 0
        for number, group in enumerate(self._groups):
            waiting = group.size
            while waiting and (path := _path(number, places, seated)):
                moved = min(waiting, _room(path, places, seated))
                for place, newcomer, leaver in path:
                    seated[place][newcomer] += moved
                    if leaver is not None:
                        seated[place][leaver] -= moved
                waiting -= moved
                served += moved
        return served


def crowd_of(reaches: Iterable[int], heats: int) -> Crowd:
    """The crowd of pilots with these masks of frequencies, one mask for each pilot.

    >>> crowd_of([0b01, 0b10, 0b01], heats=2).most_served(0b01)
    2
    """
    sizes = Counter(reaches)
    return Crowd([Group(reach, size) for reach, size in sizes.items()], heats)


_Step = tuple[int, int, int | None]
"""A place, the group that comes to it, and the group that makes room there (None: there is room)."""


def _path(start: int, places: Sequence[tuple[int, int]], seated: Sequence[Sequence[int]]) -> list[_Step]:
    """How one more pilot of a group gets a place, others moving over; empty where there is no way."""
    came_by: dict[int, list[_Step]] = {start: []}
    waiting = [start]
    for newcomer in waiting:
        for place, (users, capacity) in enumerate(places):
            if users >> newcomer & 1:
                if sum(seated[place]) < capacity:
                    return [*came_by[newcomer], (place, newcomer, None)]
                for leaver, how_many in enumerate(seated[place]):
                    if how_many and leaver not in came_by:
                        came_by[leaver] = [*came_by[newcomer], (place, newcomer, leaver)]
                        waiting.append(leaver)
    return []


def _room(path: Iterable[_Step], places: Sequence[tuple[int, int]], seated: Sequence[Sequence[int]]) -> int:
    """How many pilots can move along a path at once."""
    return min(
        places[place][1] - sum(seated[place]) if leaver is None else seated[place][leaver]
        for place, _, leaver in path
    )
