"""A meet flown again with other tokens: who asked when and flew how long stays, what they waited for changes.

A pilot asks again as long after bringing the token back as they did on the day. Tokens go to the first in line who can
use one that keeps the meet's floors. Who can use which token is by their transmitter kinds and the pull. Pauses are
taken out of the day: its clock stands still in them.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush

from meetapp.review.evidence import MeetRecord
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors, shortfalls

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


def wishes(record: MeetRecord) -> dict[int, tuple[Wish, ...]]:
    """What each pilot wanted that day, in order; and `waits_seen` says what they waited."""
    start = min((asked for asked, _since, _until in _asked(record, None)), default=0.0)
    found: dict[int, tuple[Wish, ...]] = {}
    for pilot in sorted({each.pilot for each in record.airings if each.pilot is not None}):
        last, own = start, []
        for asked, since, until in _asked(record, pilot):
            own.append(Wish(max(asked - last, 0.0), until - since))
            last = until
        found[pilot] = tuple(own)
    return found


def seen(record: MeetRecord) -> Replayed:
    """The waits as they really were, pauses taken out."""
    waits = [since - asked for asked, since, _until in _asked(record, None)]
    return Replayed(len(waits), sum(waits) / len(waits) if waits else 0.0, max(waits, default=0.0), 0)


def replay(record: MeetRecord, tokens_mhz: Sequence[int], *, keeps_floors: bool = True) -> Replayed:
    """The same day with tokens on these frequencies, each with whoever can use it. Seconds.

    `keeps_floors` False: for a mere number of tokens, whose frequencies would still have to be found.

    Cost: flights times pilots.

    >>> from meetapp.review.evidence import Airing
    >>> record = MeetRecord((Airing(1, 1, 1, 5740, 0, 300), Airing(2, 2, 2, 5800, 0, 300)))
    >>> replay(record, (5740, 5800)).mean_wait_s, replay(record, (5740,)).mean_wait_s
    (0.0, 150.0)
    """
    can = {pilot: usable(record, pilot, tokens_mhz) for pilot in wishes(record)}
    wanted = {pilot: list(own) for pilot, own in wishes(record).items() if can[pilot]}
    air = _Air(tokens_mhz, record.floors if keeps_floors else None)
    waits = _waits(wanted, can, air)
    left_out = len(can) - len(wanted)
    return Replayed(len(waits), sum(waits) / len(waits) if waits else 0.0, max(waits, default=0.0), left_out)


def _asked(record: MeetRecord, pilot: int | None) -> list[tuple[float, float, float]]:
    """(asked, out, in) of each loan of this pilot (None: of all), in order; a change of setting is no new loan."""
    spans: dict[int, tuple[int, float, float]] = {}
    for airing in record.airings:
        if airing.pilot is not None and pilot in (None, airing.pilot):
            _who, since, until = spans.get(airing.loan, (airing.pilot, airing.since_s, airing.until_s))
            spans[airing.loan] = airing.pilot, min(since, airing.since_s), max(until, airing.until_s)
    joined: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for stay in record.stays:
        if stay.was_served:
            joined[stay.pilot].append((stay.left_s, stay.joined_s))
    clock = _clock(record)
    return sorted(
        (clock(_joined(joined[who], since)), clock(since), clock(until)) for who, since, until in spans.values()
    )


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
    out: set[int] = field(default_factory=set)
    known: dict[tuple[frozenset[int], int], bool] = field(default_factory=dict)

    def takes(self, token: int) -> bool:
        if self.floors is None or not self.out:
            return True
        key = frozenset(self.out), token
        if key not in self.known:
            on_air = [Carrier(self.tokens_mhz[place]) for place in sorted(self.out)]
            self.known[key] = not shortfalls(on_air, Carrier(self.tokens_mhz[token]), self.floors)
        return self.known[key]


def _joined(stays: Sequence[tuple[float, float]], out_s: float) -> float:
    fitting = [asked for left, asked in stays if abs(left - out_s) <= _BELONGS_S and asked <= out_s]
    return max(fitting, default=out_s)


def usable(record: MeetRecord, pilot: int, tokens_mhz: Sequence[int]) -> frozenset[int]:
    """The places of the tokens that a pilot can use; all of them where nothing is known of their transmitter."""
    kinds = {airing.kind for airing in record.airings if airing.pilot == pilot and airing.kind is not None}
    channels = {mhz for kind in kinds for mhz in kind.channels_mhz}
    flown = {airing.mhz for airing in record.airings if airing.pilot == pilot}
    if not channels:
        return frozenset(range(len(tokens_mhz)))
    return frozenset(
        place
        for place, token in enumerate(tokens_mhz)
        if any(abs(mhz - token) <= record.pull_mhz for mhz in channels | flown)
    )


def _waits(wanted: Mapping[int, Sequence[Wish]], can: Mapping[int, frozenset[int]], air: _Air) -> list[float]:
    """The wait of each flight, in the order of hand-outs. Ties: by pilot."""
    events = [(own[0].after_s, 1, pilot, -1) for pilot, own in wanted.items() if own]
    heapify(events)
    flown = dict.fromkeys(wanted, 0)
    free = set(range(len(air.tokens_mhz)))
    line: list[tuple[float, int]] = []
    waits = []
    while events:
        now, _order, pilot, returned = heappop(events)
        if returned >= 0:
            free.add(returned)
            air.out.remove(returned)
            flown[pilot] += 1
            if flown[pilot] < len(wanted[pilot]):
                heappush(events, (now + wanted[pilot][flown[pilot]].after_s, 1, pilot, -1))
        else:
            line.append((now, pilot))
        for asked, who in tuple(line):
            if fits := {place for place in free & can[who] if air.takes(place)}:
                token = min(fits, key=lambda place: (sum(place in can[other] for other in can), place))
                free.remove(token)
                air.out.add(token)
                line.remove((asked, who))
                waits.append(now - asked)
                heappush(events, (now + wanted[who][flown[who]].flight_s, 0, who, token))
    return waits
