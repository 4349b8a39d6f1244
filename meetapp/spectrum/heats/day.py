"""A day of heats as a value that exchanges of two pilots change, with the counts by which it is judged."""

from collections.abc import Collection, Sequence

from meetapp.spectrum.heats.air import Air

_TWICE_RUNNING_WEIGHT = 1_000_000
"""One pilot fewer in two heats running is worth more than any number of pairs that meet."""

Round = list[list[int]]
"""The heats of a round in order of flying: pilots by place in the roster."""

Seat = tuple[int, int]
"""A heat of a round and a place in it."""


class Mixer:
    """Which pilots can share a heat, each on their own carrier (bit, width)."""

    def __init__(self, air: Air, carriers: Sequence[tuple[int, int]]) -> None:
        self._air = air
        self.carriers = carriers
        self._known: dict[frozenset[tuple[int, int]], bool] = {}

    def keep_floors(self, pilots: Collection[int]) -> bool:
        """Whether these pilots can be up together."""
        together = frozenset(self.carriers[pilot] for pilot in pilots)
        if len(together) < len(pilots):
            return False
        if together not in self._known:
            self._known[together] = self._check(together)
        return self._known[together]

    def may_meet(self) -> tuple[int, ...]:
        """For each pilot, with how many others they can be up together, the two alone."""
        everybody = range(len(self.carriers))
        return tuple(sum(one != other and self.keep_floors((one, other)) for other in everybody) for one in everybody)

    def _check(self, together: Collection[tuple[int, int]]) -> bool:
        room = self._air.empty
        for bit, width in together:
            if not room.free[width] >> bit & 1:
                return False
            room = self._air.added(room, bit, width)
        return True


class Day:
    """Rounds of heats; how often each pair meets and who flies twice running are kept up with every exchange."""

    def __init__(
        self,
        rounds: list[Round],
        mixer: Mixer,
        have_met: Collection[tuple[int, int]] = (),
        just_flew: Collection[int] = (),
    ) -> None:
        self.rounds = rounds
        self._mixer = mixer
        self._have_met = have_met
        self._just_flew = set(just_flew)
        self._meets = [[0] * len(mixer.carriers) for _ in mixer.carriers]
        self._pairs = 0
        for one, other in have_met:
            self._meet(one, other, 1)
        for heats in rounds:
            for heat in heats:
                for place, one in enumerate(heat):
                    for other in heat[:place]:
                        self._meet(one, other, 1)
        self._twice = sum(len(self._before(number).intersection(heats[0])) for number, heats in enumerate(rounds))

    @property
    def worth(self) -> tuple[int, int]:
        """Larger is better: the fewer fly twice running, then the more pairs meet (with those who had met)."""
        return -self._twice, self._pairs

    def copy(self) -> "Day":
        """The same day, to be changed apart."""
        rounds = [[list(heat) for heat in heats] for heats in self.rounds]
        return Day(rounds, self._mixer, self._have_met, self._just_flew)

    def put_first_in_order(self, number: int) -> None:
        """Let the heat begin a round that has the fewest pilots out of the heat before; the others keep their order."""
        heats = self.rounds[number]
        before = self._before(number)
        old = self._twice_around(number)
        first = min(range(len(heats)), key=lambda heat: len(before.intersection(heats[heat])))
        heats.insert(0, heats.pop(first))
        self._twice += self._twice_around(number) - old

    def may_help(self, number: int, one: Seat, other: Seat) -> bool:
        """Whether an exchange can help at all: it can't where both pilots meet everybody around them only here."""
        heats = self.rounds[number]
        if self._twice and (one[0] in (0, len(heats) - 1) or other[0] in (0, len(heats) - 1)):
            return True
        for heat, place in (one, other):
            meets = self._meets[heats[heat][place]]
            if any(meets[pilot] > 1 for pilot in heats[heat]):
                return True
        return False

    def gain(self, number: int, one: Seat, other: Seat) -> int | None:
        """What an exchange is worth; None where it breaks a floor or lets more pilots fly twice running."""
        heats = self.rounds[number]
        a, b = heats[one[0]][one[1]], heats[other[0]][other[1]]
        with_a = [pilot for pilot in heats[one[0]] if pilot != a]
        with_b = [pilot for pilot in heats[other[0]] if pilot != b]
        fewer = self._fewer_twice(number, one, other)
        if fewer < 0 or not self._can_exchange(a, b, with_a, with_b):
            return None
        of_a, of_b = self._meets[a], self._meets[b]
        pairs = 0
        for pilot in with_a:
            pairs += (of_b[pilot] == 0) - (of_a[pilot] == 1)
        for pilot in with_b:
            pairs += (of_a[pilot] == 0) - (of_b[pilot] == 1)
        return fewer * _TWICE_RUNNING_WEIGHT + pairs

    def exchange(self, number: int, one: Seat, other: Seat) -> None:
        """Exchange two pilots of a round."""
        heats = self.rounds[number]
        a, b = heats[one[0]][one[1]], heats[other[0]][other[1]]
        self._twice -= self._fewer_twice(number, one, other)
        for mine, theirs, heat in ((a, b, heats[one[0]]), (b, a, heats[other[0]])):
            for pilot in heat:
                if pilot != mine:
                    self._meet(mine, pilot, -1)
                    self._meet(theirs, pilot, 1)
        heats[one[0]][one[1]], heats[other[0]][other[1]] = b, a

    def _can_exchange(self, a: int, b: int, with_a: list[int], with_b: list[int]) -> bool:
        if self._mixer.carriers[a] == self._mixer.carriers[b]:
            return True
        return self._mixer.keep_floors([*with_a, b]) and self._mixer.keep_floors([*with_b, a])

    def _before(self, number: int) -> set[int]:
        """Who flies in the heat before the first one of a round."""
        return set(self.rounds[number - 1][-1]) if number else self._just_flew

    def _after(self, number: int) -> set[int]:
        return set(self.rounds[number + 1][0]) if number + 1 < len(self.rounds) else set()

    def _twice_around(self, number: int) -> int:
        heats = self.rounds[number]
        return len(self._before(number).intersection(heats[0])) + len(self._after(number).intersection(heats[-1]))

    def _fewer_twice(self, number: int, one: Seat, other: Seat) -> int:
        """How many fewer fly twice running after an exchange; below 0 where it is more."""
        heats = self.rounds[number]
        last = len(heats) - 1
        if one[0] not in (0, last) and other[0] not in (0, last):
            return 0
        a, b = heats[one[0]][one[1]], heats[other[0]][other[1]]
        before, after = self._before(number), self._after(number)
        fewer = 0
        for heat, leaving, joining in ((one[0], a, b), (other[0], b, a)):
            if heat == 0:
                fewer += (leaving in before) - (joining in before)
            if heat == last:
                fewer += (leaving in after) - (joining in after)
        return fewer

    def _meet(self, one: int, other: int, times: int) -> None:
        before = self._meets[one][other]
        self._meets[one][other] = self._meets[other][one] = before + times
        self._pairs += (before + times > 0) - (before > 0)
