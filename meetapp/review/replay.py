"""A meet flown again with other tokens: who asked when and flew how long stays, what they waited for changes.

A pilot asks again as long after bringing the token back as they did on the day. Tokens go to the first in line who can
use one that keeps the meet's floors. Who can use which token is by their transmitter kinds and the pull. Pauses are
taken out of the day: its clock stands still in them.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from heapq import heapify, heappop, heappush

from meetapp.review.evidence import MeetRecord
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors, keeps_floors

_BELONGS_S = 120.0
"""A stay that ended within so long of a loan was served by it: the two taps follow each other."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One flight of a pilot: asked so long after the last one came back (the first: after the start), flown so."""

    after_s: float
    flight_s: float


@dataclass(frozen=True, slots=True)
class Replayed:
    """How a day went: flights, the mean and the longest wait in seconds, and those for whom no token was usable."""

    flights: int
    mean_wait_s: float
    longest_wait_s: float
    cant_fly: int


class FlownDay:
    """A meet's day, read once, to be flown again with as many sets as one likes. Times in seconds."""

    def __init__(self, record: MeetRecord) -> None:
        self.record = record
        self._known: dict[tuple[tuple[int, ...], Floors | None], Replayed] = {}

    @property
    def own_mhz(self) -> tuple[int, ...]:
        """The frequencies of the meet's own tokens."""
        return tuple(token.mhz for token in self.record.tokens)

    @cached_property
    def wishes(self) -> dict[int, tuple[Wish, ...]]:
        """What each pilot wanted that day, in order."""
        start = min((asked for each in self._asked.values() for asked, _since, _until in each), default=0.0)
        found: dict[int, tuple[Wish, ...]] = {}
        for pilot, spans in self._asked.items():
            last, own = start, []
            for asked, since, until in spans:
                own.append(Wish(max(asked - last, 0.0), until - since))
                last = until
            found[pilot] = tuple(own)
        return found

    @cached_property
    def seen(self) -> Replayed:
        """The waits as they really were, pauses taken out."""
        return _replayed([since - asked for each in self._asked.values() for asked, since, _until in each])

    def again(self, tokens_mhz: Sequence[int], floors: Floors | None) -> Replayed:
        """The day with these tokens, each with whoever can use it, and floors (None: without any). Cost: flights times
        those in line, once a set.

        >>> from meetapp.review.evidence import Airing
        >>> day = FlownDay(MeetRecord((Airing(1, 1, 1, 5740, 0, 300), Airing(2, 2, 2, 5800, 0, 300))))
        >>> day.again((5740, 5800), None).mean_wait_s, day.again((5740,), None).mean_wait_s
        (0.0, 150.0)
        """
        key = tuple(tokens_mhz), floors
        if key not in self._known:
            can = {pilot: self.usable(pilot, tokens_mhz) for pilot in self.wishes}
            wanted = {pilot: own for pilot, own in self.wishes.items() if can[pilot]}
            waits = _waits(wanted, can, _Air(tokens_mhz, floors))
            self._known[key] = _replayed(waits, len(can) - len(wanted))
        return self._known[key]

    def usable(self, pilot: int, tokens_mhz: Sequence[int]) -> frozenset[int]:
        """The places of the tokens that a pilot can use; all of them where nothing is known of their transmitter."""
        if not (known := self._reach.get(pilot)):
            return frozenset(range(len(tokens_mhz)))
        return frozenset(place for place, mhz in enumerate(tokens_mhz) if known.makes(mhz))

    @cached_property
    def _reach(self) -> dict[int, "_Reach"]:
        """What the transmitters that a pilot flew with can make; nothing for those of whose kind nothing is known."""
        made: dict[int, set[int]] = defaultdict(set)
        flown: dict[int, set[int]] = defaultdict(set)
        for airing in self.record.airings:
            if airing.pilot is not None:
                flown[airing.pilot].add(airing.mhz)
                made[airing.pilot].update(airing.kind.channels_mhz if airing.kind is not None else ())
        pull = self.record.pull_mhz
        return {pilot: _Reach(tuple(sorted(own | flown[pilot])), pull) for pilot, own in made.items() if own}

    @cached_property
    def _asked(self) -> dict[int, list[tuple[float, float, float]]]:
        """(asked, out, in) of each loan by pilot, in order; a change of setting is no new loan."""
        spans: dict[int, tuple[int, float, float]] = {}
        for airing in self.record.airings:
            if airing.pilot is not None:
                _who, since, until = spans.get(airing.loan, (airing.pilot, airing.since_s, airing.until_s))
                spans[airing.loan] = airing.pilot, min(since, airing.since_s), max(until, airing.until_s)
        joined: dict[int, list[tuple[float, float]]] = defaultdict(list)
        for stay in self.record.stays:
            if stay.was_served:
                joined[stay.pilot].append((stay.left_s, stay.joined_s))
        clock = _clock(self.record)
        found: dict[int, list[tuple[float, float, float]]] = defaultdict(list)
        for who, since, until in spans.values():
            found[who].append((clock(_joined(joined[who], since)), clock(since), clock(until)))
        return {who: sorted(found[who]) for who in sorted(found)}


def _replayed(waits: Sequence[float], cant_fly: int = 0) -> Replayed:
    return Replayed(len(waits), sum(waits) / len(waits) if waits else 0.0, max(waits, default=0.0), cant_fly)


@dataclass(frozen=True, slots=True)
class _Reach:
    """The channels of somebody's transmitters, ascending."""

    channels_mhz: tuple[int, ...]
    pull_mhz: int

    def makes(self, token_mhz: int) -> bool:
        place = bisect_left(self.channels_mhz, token_mhz - self.pull_mhz)
        return place < len(self.channels_mhz) and self.channels_mhz[place] <= token_mhz + self.pull_mhz


def _clock(record: MeetRecord) -> Callable[[float], float]:
    """A clock that stands still in pauses."""

    def at(when_s: float) -> float:
        return when_s - sum(max(min(when_s, end) - start, 0.0) for start, end in record.pauses)

    return at


@dataclass
class _Air:
    """The tokens of a replay, which of them are out, and whether another one would break a floor beside them."""

    tokens_mhz: Sequence[int]
    floors: Floors | None
    out: frozenset[int] = frozenset()
    known: dict[tuple[frozenset[int], int], bool] = field(default_factory=dict)

    def takes(self, token: int) -> bool:
        if self.floors is None or not self.out:
            return True
        key = self.out, token
        if key not in self.known:
            on_air = [Carrier(self.tokens_mhz[place]) for place in sorted(self.out)]
            self.known[key] = keeps_floors(on_air, Carrier(self.tokens_mhz[token]), self.floors)
        return self.known[key]


def _joined(stays: Sequence[tuple[float, float]], out_s: float) -> float:
    fitting = [asked for left, asked in stays if abs(left - out_s) <= _BELONGS_S and asked <= out_s]
    return max(fitting, default=out_s)


def _waits(wanted: Mapping[int, Sequence[Wish]], can: Mapping[int, frozenset[int]], air: _Air) -> list[float]:
    """The wait of each flight, in the order of hand-outs. Ties: by pilot. The token that the fewest can use goes."""
    events = [(own[0].after_s, 1, pilot, -1) for pilot, own in wanted.items() if own]
    heapify(events)
    flown = dict.fromkeys(wanted, 0)
    free = set(range(len(air.tokens_mhz)))
    users = [sum(place in own for own in can.values()) for place in range(len(air.tokens_mhz))]
    line: list[tuple[float, int]] = []
    waits = []
    while events:
        now, _order, pilot, returned = heappop(events)
        if returned >= 0:
            free.add(returned)
            air.out -= {returned}
            flown[pilot] += 1
            if flown[pilot] < len(wanted[pilot]):
                heappush(events, (now + wanted[pilot][flown[pilot]].after_s, 1, pilot, -1))
        else:
            line.append((now, pilot))
        for asked, who in tuple(line):
            if not free:
                break
            if fits := [place for place in free & can[who] if air.takes(place)]:
                token = min(fits, key=lambda place: (users[place], place))
                free.remove(token)
                air.out |= {token}
                line.remove((asked, who))
                waits.append(now - asked)
                heappush(events, (now + wanted[who][flown[who]].flight_s, 0, who, token))
    return waits
