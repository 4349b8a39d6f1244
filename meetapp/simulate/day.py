"""A day of flying by the tool's own rules: who arrives, who waits, who gets which token and what they set."""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from random import Random

from meetapp.data.catalog import published_plans
from meetapp.rules import waiting_line
from meetapp.rules.waiting_line import Stand
from meetapp.simulate.plan import MeetPlan
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.handout import Offer, TokenIn, Waiting, held_back, offers
from meetapp.spectrum.picking import pick
from meetapp.spectrum.pull import pulled
from meetapp.spectrum.result import BestFound, Optimal
from meetapp.spectrum.tuning import Setting, Tuning, parse_tuning, setting_for

OPENED = datetime(2026, 6, 6, 9, tzinfo=UTC)
BAND = (Segment(5640, 5950),)
NEIGHBOUR = Neighbour("Barn Wi-Fi", 5785, 20)
PULL_MHZ = 2
HEAD_LIMIT = timedelta(minutes=20)
_SPACINGS = (37, 34, 30, 25, 20, 15, 10)
_ARRIVE_WITHIN_MIN = 40
_NODE_BUDGET = 400
_KNOWN_WAKE = 0.7


@lru_cache(maxsize=100_000)
def minutes(at: datetime) -> float:
    """Minutes since the meet opened."""
    return (at - OPENED).total_seconds() / 60


@dataclass(frozen=True, slots=True)
class Pilot:
    """A pilot with one transmitter. `kit`: which words of the plan's kit it is; `wake_mhz`: what is known at first."""

    pilot_id: int
    kit: int
    tuning: Tuning
    settings: dict[int, Setting]
    came_at: datetime
    wake_mhz: int | None
    power_mw: float


@dataclass(frozen=True, slots=True)
class Loan:
    """A loan as the record has it; `wake_mhz` is what the record says that the transmitter came up on."""

    loan_id: int
    pilot_id: int
    token_id: int
    setting: Setting
    out_at: datetime
    in_at: datetime
    wake_mhz: int | None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay in the line; `left_at` with `was_served` False: still waiting at the close."""

    pilot_id: int
    joined_at: datetime
    head_since: datetime | None
    left_at: datetime
    was_served: bool


@dataclass(frozen=True, slots=True)
class Day:
    """Everything that happened before any cause is planted."""

    tokens: tuple[TokenIn, ...]
    floors: Floors
    pilots: tuple[Pilot, ...]
    loans: tuple[Loan, ...]
    stays: tuple[Stay, ...]
    closed_at: datetime


def make_day(plan: MeetPlan, rng: Random) -> Day:
    """One day of flying.

    Raises: BadProblem where so many tokens don't fit, or the kit can make none of them.
    """
    tokens, floors = _chosen(plan.tokens)
    closed_at = OPENED + timedelta(hours=plan.hours)
    pilots = tuple(_pilot(number, plan, tokens, closed_at, rng) for number in range(1, plan.pilots + 1))
    return _Running(plan, tokens, floors, pilots, closed_at, rng).day()


def _chosen(count: int) -> tuple[tuple[TokenIn, ...], Floors]:
    for spacing in _SPACINGS:
        best = pick(
            count, spacing, plans=published_plans(), letters="RF", within=BAND, avoid=[NEIGHBOUR], node_budget=20_000
        )
        if isinstance(best, Optimal | BestFound):
            worst = pulled(best.mhz, PULL_MHZ)
            floors = Floors(float(worst.spacing_mhz or 0), worst.clearance_mhz)
            return tuple(TokenIn(n, mhz) for n, mhz in enumerate(best.mhz, start=1)), floors
    raise BadProblem("tokens", f"{count} tokens don't fit the simulated band: give fewer.")


def _pilot(number: int, plan: MeetPlan, tokens: Sequence[TokenIn], closed_at: datetime, rng: Random) -> Pilot:
    order = sorted(range(len(plan.kit)), key=lambda _: rng.random())
    for kit in order:
        tuning = parse_tuning(plan.kit[kit], published_plans())
        found = {
            token.token_id: setting
            for token in tokens
            if (setting := setting_for(token.nominal_mhz, PULL_MHZ, tuning, None, published_plans(), segments=BAND))
        }
        if found:
            span_s = min(_ARRIVE_WITHIN_MIN * 60, (closed_at - OPENED).total_seconds() / 3)
            came_at = OPENED + timedelta(seconds=int(rng.uniform(0, span_s)))
            wake = rng.choice(sorted(tuning.all_mhz())) if rng.random() < _KNOWN_WAKE else None
            return Pilot(number, kit, tuning, found, came_at, wake, rng.choice(plan.powers_mw))
    raise BadProblem("kit", "No transmitter of this kit can make any of the tokens.")


class _Running:
    """The events of one day, in order of time."""

    def __init__(
        self,
        plan: MeetPlan,
        tokens: tuple[TokenIn, ...],
        floors: Floors,
        pilots: tuple[Pilot, ...],
        closed_at: datetime,
        rng: Random,
    ) -> None:
        self._plan, self._tokens, self._floors, self._rng = plan, tokens, floors, rng
        self._pilots = {pilot.pilot_id: pilot for pilot in pilots}
        self._closed_at = closed_at
        self._wake = {pilot.pilot_id: pilot.wake_mhz for pilot in pilots}
        self._line: tuple[Stand, ...] = ()
        self._out: list[Loan] = []
        self._loans: list[Loan] = []
        self._stays: list[Stay] = []
        self._entries = 0
        self._events: list[tuple[datetime, int, str]] = []
        for pilot in pilots:
            heapq.heappush(self._events, (self._after(pilot.came_at, plan.ground_min / 3), pilot.pilot_id, "joins"))

    def day(self) -> Day:
        """Run until the close; what is out then is taken back."""
        while self._events and self._events[0][0] < self._closed_at:
            now, pilot_id, what = heapq.heappop(self._events)
            if what == "joins":
                self._entries += 1
                self._line = waiting_line.with_head((*self._line, Stand(self._entries, pilot_id, now)), now)
            else:
                self._out = [loan for loan in self._out if loan.pilot_id != pilot_id]
                heapq.heappush(self._events, (self._after(now, self._plan.ground_min), pilot_id, "joins"))
            self._serve(now)
        self._stays += [
            Stay(each.pilot_id, each.joined_at, each.head_since, self._closed_at, was_served=False)
            for each in self._line
        ]
        loans = tuple(replace(loan, in_at=min(loan.in_at, self._closed_at)) for loan in self._loans)
        stays = tuple(sorted(self._stays, key=lambda stay: (stay.joined_at, stay.pilot_id)))
        return Day(self._tokens, self._floors, tuple(self._pilots.values()), loans, stays, self._closed_at)

    def _after(self, now: datetime, mean_min: float) -> datetime:
        return now + timedelta(seconds=max(20, round(self._rng.expovariate(1 / mean_min) * 60)))

    def _serve(self, now: datetime) -> None:
        while found := self._next(now):
            stand, offer = found
            loan = Loan(
                len(self._loans) + 1,
                stand.pilot_id,
                offer.token_id,
                offer.setting,
                now,
                self._after(now, self._plan.flight_min),
                self._wake[stand.pilot_id],
            )
            self._wake[stand.pilot_id] = offer.setting.mhz
            self._out.append(loan)
            self._loans.append(loan)
            self._stays.append(Stay(stand.pilot_id, stand.joined_at, stand.head_since, now, was_served=True))
            self._line = waiting_line.with_head(waiting_line.after_service(self._line, stand.pilot_id), now)
            heapq.heappush(self._events, (loan.in_at, loan.pilot_id, "lands"))

    def _next(self, now: datetime) -> tuple[Stand, Offer] | None:
        """The first in the line who can have a token now, and which; None: nobody."""
        out = {loan.token_id for loan in self._out}
        tokens_in = [token for token in self._tokens if token.token_id not in out]
        if not tokens_in:
            return None
        on_air = [Carrier(loan.setting.mhz) for loan in self._out]
        line = [self._waiting(stand.pilot_id) for stand in self._line]
        head = waiting_line.overdue_head(self._line, now, (), HEAD_LIMIT)
        kept = held_back(self._waiting(head.pilot_id), tokens_in, on_air, self._floors) if head else frozenset()
        for stand in waiting_line.ready(self._line):
            is_head = head is not None and stand.pilot_id == head.pilot_id
            for offer in offers(
                self._waiting(stand.pilot_id),
                line,
                tokens_in,
                on_air,
                self._floors,
                held_back=() if is_head else kept,
                node_budget=_NODE_BUDGET,
            ):
                if not offer.shortfalls and not offer.is_held_back:
                    return stand, offer
        return None

    def _waiting(self, pilot_id: int) -> Waiting:
        return Waiting(pilot_id, self._pilots[pilot_id].settings, wake_mhz=self._wake[pilot_id])
