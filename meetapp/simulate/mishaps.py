"""Planting causes in a day: each is drawn again until somebody's picture breaks of it and is reported."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import combinations, permutations
from random import Random

from meetapp.data.catalog import published_plans
from meetapp.simulate.day import BAND, NEIGHBOUR, Day, Loan, Pilot
from meetapp.simulate.physics import Physics
from meetapp.simulate.plan import Kind, MeetPlan
from meetapp.spectrum.bands import lies_within
from meetapp.spectrum.channels import BadProblem, name_of
from meetapp.spectrum.tuning import Setting

_TRIES = 600
_SPARE_FROM = 1001
PICTURE_GUARD_MHZ = 22
PRODUCT_REACH_MHZ = 8
WIFI_MW = 200.0
WIFI_M = 25
PITS_WINDOW_MIN = 15
OWN_LOOKS = ("gone", "gone", "lines", "other_picture", "unsure")
UNKNOWN_LOOKS = ("gone", "lines", "colour", "unsure")
OWN_PICTURE_SHARE = 0.3
OWN_PICTURE_WITHIN = timedelta(minutes=2)
_OVERRIDE_REASON = "The pilot wanted this one"


@dataclass(frozen=True, slots=True)
class Broken:
    """One picture that broke: whose loan, when, what it looked like, where the quad was."""

    loan_id: int
    at: datetime
    look: str
    place: str


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch with a transmitter on air."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause with what it broke. `mhz`: the disturber, the product or the edge; `spells`: a silent transmitter's."""

    kind: Kind
    mhz: float | None
    sources: tuple[int, ...]
    broken: tuple[Broken, ...]
    spells: tuple[Spell, ...] = ()


class Mishaps:
    """A day with the causes planted so far: `loans` by id as the record will say, `spares` are tags beside the set."""

    def __init__(self, plan: MeetPlan, day: Day, rng: Random) -> None:
        self.loans = {loan.loan_id: loan for loan in day.loans}
        self.spares: dict[int, int] = {}
        self._plan, self._day, self._rng = plan, day, rng
        self._pilots = {pilot.pilot_id: pilot for pilot in day.pilots}
        self._touched: set[int] = set()

    @property
    def _physics(self) -> Physics:
        return self._plan.physics

    def plant(self, kind: Kind) -> Cause:
        """One cause of a kind. Raises: BadProblem where the day has no place for it."""
        draw = {
            "own_receiver": self._own_receiver,
            "wrong_channel": self._wrong_channel,
            "too_close": self._too_close,
            "product": self._product,
            "neighbour": self._neighbour,
            "no_token": self._no_token,
            "unknown": self._unknown,
        }[kind]
        for _ in range(_TRIES):
            if self.loans and (cause := draw()) is not None and cause.broken:
                return cause
        raise BadProblem("causes", f"There is no room for another {kind} in this day: plant fewer, or fly longer.")

    def override_harmlessly(self) -> None:
        """The marshal hands out a spare tag by override and nobody's picture breaks of it; none where none fits."""
        for _ in range(_TRIES if self.loans else 0):
            loan = self._any_loan()
            near = [each.setting.mhz for each in self._at_once(loan.out_at, loan.in_at) if each is not loan]
            reach = [
                mhz for mhz in range(BAND[0].low_mhz, BAND[0].high_mhz) if all(abs(mhz - each) >= 4 for each in near)
            ]
            setting = self._moved(reach, loan)
            if setting is None:
                continue
            spell = [Spell(loan.out_at, loan.in_at)]
            if not any(self._broken_by(setting.mhz, self._power(loan), spell, but=loan.loan_id, is_up=True)):
                self._lend_spare(loan, setting, ())
                return

    def _any_loan(self) -> Loan:
        return self.loans[self._rng.choice(sorted(self.loans))]

    def _power(self, loan: Loan) -> float:
        return self._pilots[loan.pilot_id].power_mw

    def _at_once(self, start: datetime, end: datetime) -> Iterator[Loan]:
        return (loan for _, loan in sorted(self.loans.items()) if loan.out_at < end and loan.in_at > start)

    def _moment(self, start: datetime, end: datetime) -> datetime:
        return start + timedelta(seconds=int(self._rng.uniform(0, max(0.0, (end - start).total_seconds()))))

    def _is_told(self) -> bool:
        return self._rng.random() < self._plan.tells_share

    def _own_receiver(self) -> Cause:
        loan = self._any_loan()
        look = self._rng.choice(OWN_LOOKS)
        at = self._moment(loan.out_at, loan.in_at)
        place = "line" if look == "other_picture" else "flight"
        return Cause("own_receiver", None, (), (Broken(loan.loan_id, at, look, place),))

    def _unknown(self) -> Cause:
        loan = self._any_loan()
        look = self._rng.choice(UNKNOWN_LOOKS)
        return Cause(
            "unknown", None, (), (Broken(loan.loan_id, self._moment(loan.out_at, loan.in_at), look, "flight"),)
        )

    def _wrong_channel(self) -> Cause | None:
        loan = self._any_loan()
        if loan.loan_id in self._touched:
            return None
        way = self._rng.random()
        makes = sorted(self._pilots[loan.pilot_id].tuning.all_mhz())
        if way < 0.6:
            mhz = loan.wake_mhz if loan.wake_mhz is not None else self._rng.choice(makes)
        elif way < 0.85:
            mhz = self._rng.choice(makes)
        else:
            mhz = loan.setting.mhz + self._rng.choice((-1, 1)) * self._rng.randint(10, 20)
        if abs(mhz - loan.setting.mhz) < 10:
            return None
        broken = list(
            self._broken_by(mhz, self._power(loan), [Spell(loan.out_at, loan.in_at)], but=loan.loan_id, is_up=True)
        )
        if broken and self._rng.random() < OWN_PICTURE_SHARE:
            at = self._moment(loan.out_at, min(loan.in_at, loan.out_at + OWN_PICTURE_WITHIN))
            broken.append(Broken(loan.loan_id, at, "gone", "line"))
        if broken:
            self._touched.add(loan.loan_id)
        return Cause("wrong_channel", mhz, (loan.loan_id,), tuple(broken))

    def _no_token(self) -> Cause | None:
        loan = self._any_loan()
        pilot = self._pilots[loan.pilot_id]
        gap = timedelta(minutes=self._rng.uniform(1, PITS_WINDOW_MIN))
        is_after = self._rng.random() < 0.5
        start = loan.in_at + gap if is_after else loan.out_at - gap
        if is_after or loan.wake_mhz is None:
            mhz = loan.setting.mhz if is_after else self._rng.choice(sorted(pilot.tuning.all_mhz()))
        else:
            mhz = loan.wake_mhz
        spells = []
        for _ in range(self._rng.choice((1, 1, 2, 3, 4))):
            end = start + timedelta(minutes=self._rng.uniform(1, 6))
            spells.append(Spell(start.replace(microsecond=0), end.replace(microsecond=0)))
            start = end + timedelta(minutes=self._rng.uniform(1, 8))
        free = [spell for spell in spells if self._is_free(pilot, spell)]
        return Cause(
            "no_token", mhz, (), tuple(self._broken_by(mhz, pilot.power_mw, free, but=0, is_up=False)), tuple(free)
        )

    def _is_free(self, pilot: Pilot, spell: Spell) -> bool:
        own = [loan for loan in self._at_once(spell.start, spell.end) if loan.pilot_id == pilot.pilot_id]
        return not own and pilot.came_at < spell.start and spell.end < self._day.closed_at

    def _broken_by(
        self, mhz: float, power_mw: float, spells: Sequence[Spell], *, but: int, is_up: bool
    ) -> Iterator[Broken]:
        """The pictures that one transmitter breaks and that are told: each loan at most once a spell."""
        physics, rng = self._physics, self._rng
        for spell in spells:
            for victim in self._at_once(spell.start, spell.end):
                if victim.loan_id == but or victim.loan_id in self._touched:
                    continue
                at = self._moment(max(spell.start, victim.out_at), min(spell.end, victim.in_at))
                offset = mhz - victim.setting.mhz
                own = physics.own_dbm(self._power(victim), victim.setting.mhz, rng)
                typical = rng.choice((physics.far_m, physics.near_m * 3)) if is_up else physics.pits_m
                foreign = physics.received_dbm(power_mw, typical, mhz, rng) - physics.rejection_db(offset)
                if physics.is_disturbed(own, foreign, rng) and self._is_told():
                    look = physics.look(own, foreign, offset, is_picture=True, rng=rng)
                    yield Broken(victim.loan_id, at, look, "flight")

    def _moved(self, reach: Sequence[int], loan: Loan) -> Setting | None:
        """Another channel that the pilot's transmitter makes, one of those in reach and inside the band."""
        makes = self._pilots[loan.pilot_id].tuning.all_mhz()
        can = [mhz for mhz in reach if mhz in makes and lies_within(mhz, 20, BAND)]
        if not can or loan.loan_id in self._touched:
            return None
        mhz = self._rng.choice(can)
        return Setting(name_of(mhz, published_plans()), mhz)

    def _lend_spare(self, loan: Loan, setting: Setting, others: Sequence[int]) -> None:
        """The marshal hands out a spare tag by override; the next loan of that pilot wakes on it."""
        spare = _SPARE_FROM + len(self.spares)
        self.spares[spare] = setting.mhz
        self.loans[loan.loan_id] = replace(loan, token_id=spare, setting=setting, override_reason=_OVERRIDE_REASON)
        self._touched |= {loan.loan_id, *others}
        after = [each for each in self.loans.values() if each.pilot_id == loan.pilot_id and each.out_at > loan.out_at]
        if after:
            following = min(after, key=lambda each: each.out_at)
            self.loans[following.loan_id] = replace(following, wake_mhz=setting.mhz)

    def _too_close(self) -> Cause | None:
        loan = self._any_loan()
        others = [each for each in self._at_once(loan.out_at, loan.in_at) if each.pilot_id != loan.pilot_id]
        if not others:
            return None
        victim = self._rng.choice(others)
        reach = [victim.setting.mhz + by for by in range(-18, 19) if abs(by) >= 4]
        setting = self._moved(reach, loan)
        if setting is None or victim.loan_id in self._touched:
            return None
        if any(abs(each.setting.mhz - setting.mhz) < PICTURE_GUARD_MHZ for each in others if each is not victim):
            return None
        spell = Spell(max(loan.out_at, victim.out_at), min(loan.in_at, victim.in_at))
        found = self._broken_by(setting.mhz, self._power(loan), [spell], but=loan.loan_id, is_up=True)
        broken = tuple(each for each in found if each.loan_id == victim.loan_id)
        if broken:
            self._lend_spare(loan, setting, (victim.loan_id,))
        return Cause("too_close", setting.mhz, (loan.loan_id,), broken)

    def _product(self) -> Cause | None:
        loan = self._any_loan()
        others = [each for each in self._at_once(loan.out_at, loan.in_at) if each.pilot_id != loan.pilot_id]
        now = self._moment(loan.out_at, loan.in_at)
        others = [each for each in others if each.out_at <= now < each.in_at]
        if len(others) < 2:
            return None
        reach = range(BAND[0].low_mhz, BAND[0].high_mhz)
        taken = [each.setting.mhz for each in others]
        setting = self._moved(
            [mhz for mhz in reach if all(abs(mhz - each) >= PICTURE_GUARD_MHZ + 8 for each in taken)], loan
        )
        if setting is None:
            return None
        moved = replace(loan, setting=setting)
        for sources, mhz in products_of([moved, *others]):
            victims = [each for each in (moved, *others) if each not in sources]
            for victim in victims:
                offset = mhz - victim.setting.mhz
                if (
                    moved not in (*sources, victim)
                    or abs(offset) > PRODUCT_REACH_MHZ
                    or victim.loan_id in self._touched
                ):
                    continue
                if look := self._product_look(victim, sources, offset):
                    self._lend_spare(loan, setting, [each.loan_id for each in (*sources, victim)])
                    ids = tuple(sorted({each.loan_id for each in sources}))
                    return Cause("product", mhz, ids, (Broken(victim.loan_id, now, look, "flight"),))
        return None

    def _product_look(self, victim: Loan, sources: Sequence[Loan], offset: float) -> str | None:
        physics, rng = self._physics, self._rng
        own = physics.own_dbm(self._power(victim), victim.setting.mhz, rng)
        levels = tuple(
            physics.received_dbm(self._power(each), physics.near_m, each.setting.mhz, rng) for each in sources
        )
        product = physics.product_dbm(levels) - physics.rejection_db(offset)
        if not physics.is_disturbed(own, product, rng):
            return None
        return physics.look(own, product, offset, is_picture=False, rng=rng)

    def _neighbour(self) -> Cause | None:
        loan = self._any_loan()
        low, high = (round(edge) for edge in NEIGHBOUR.edges_mhz)
        setting = self._moved([*range(low - 6, low + 6), *range(high - 5, high + 7)], loan)
        if setting is None:
            return None
        near = [each.setting.mhz for each in self._at_once(loan.out_at, loan.in_at) if each.loan_id != loan.loan_id]
        if any(abs(mhz - setting.mhz) < PICTURE_GUARD_MHZ for mhz in near):
            return None
        physics, rng = self._physics, self._rng
        edge = low if abs(setting.mhz - low) <= abs(setting.mhz - high) else high
        beyond = max(0.0, low - setting.mhz, setting.mhz - high)
        own = physics.own_dbm(self._power(loan), setting.mhz, rng)
        foreign = physics.received_dbm(WIFI_MW, WIFI_M, edge, rng) - physics.edge_db_per_mhz * beyond
        if not physics.is_disturbed(own, foreign, rng):
            return None
        look = physics.look(own, foreign, setting.mhz - edge, is_picture=False, rng=rng)
        self._lend_spare(loan, setting, ())
        return Cause(
            "neighbour", edge, (), (Broken(loan.loan_id, self._moment(loan.out_at, loan.in_at), look, "flight"),)
        )


def products_of(loans: Sequence[Loan]) -> Iterator[tuple[tuple[Loan, ...], int]]:
    """The third-order products: 2a - b, and a + b - c."""
    for a, b in permutations(loans, 2):
        yield (a, b), 2 * a.setting.mhz - b.setting.mhz
    for a, b in combinations(loans, 2):
        for c in loans:
            if c not in (a, b):
                yield (a, b, c), a.setting.mhz + b.setting.mhz - c.setting.mhz
