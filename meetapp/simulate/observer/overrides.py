"""What a channel handed out by override may have done in a simulated meet, against its having done nothing."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import prod
from random import Random

from meetapp.data.catalog import published_plans
from meetapp.simulate.day import BAND, NEIGHBOUR, Loan, minutes
from meetapp.simulate.mishaps import PICTURE_GUARD_MHZ, PRODUCT_REACH_MHZ, products_of
from meetapp.simulate.observer.breaking import Breaks, by_carrier, by_neighbour, by_product
from meetapp.simulate.observer.told_odds import ToldOdds
from meetapp.simulate.plan import Kind, MeetPlan
from meetapp.simulate.record import Record
from meetapp.spectrum.bands import lies_within
from meetapp.spectrum.channels import name_of
from meetapp.spectrum.tuning import Setting

_DRAWS = 250


@dataclass(frozen=True, slots=True)
class _Way:
    """One way of a loan on its channel to break a picture. `chance`: that it is moved there, and that it breaks."""

    victim: Loan
    start: float
    end: float
    chance: float
    looks: Breaks


@dataclass(frozen=True)
class OverrideOdds:
    """The odds of all loans by override in a record, as `Mishaps` draws them."""

    plan: MeetPlan
    record: Record
    odds: ToldOdds

    def all(self, rng: Random) -> list[dict[tuple[Kind, int], float]]:
        """For each loan by override: the odds against harmless, by kind and report."""
        ways: dict[Kind, Callable[[Loan], Iterator[_Way]]] = {
            "too_close": self._too_close,
            "product": self._product,
            "neighbour": self._neighbour,
        }
        ways = {kind: each for kind, each in ways.items() if self.plan.causes.get(kind)}
        rates = {
            kind: self.plan.causes.get(kind, 0) / max(1e-9, self._mean(rng, each, kind)) for kind, each in ways.items()
        }
        harmless_rate = self.plan.harmless_overrides / max(1e-9, self._mean_harmless(rng))
        found = []
        for loan in self.record.loans.values():
            if not loan.override_reason:
                continue
            harmless = max(1e-9, harmless_rate * self._harmless(loan))
            slot: dict[tuple[Kind, int], float] = {}
            for kind, each in ways.items():
                for way in each(loan):
                    for report, entered in self.odds.of_loan[way.victim.loan_id]:
                        told = entered * self.odds.time(report, way.start, way.end)
                        told *= self.odds.look(report, way.looks[1])
                        weight = rates[kind] * way.chance * told / harmless
                        slot[kind, report] = slot.get((kind, report), 0.0) + weight
            found.append(slot)
        return found

    @cached_property
    def _ordinary(self) -> list[Loan]:
        return [loan for loan in self.record.loans.values() if not loan.override_reason]

    def _mean(self, rng: Random, ways: Callable[[Loan], Iterator[_Way]], kind: Kind) -> float:
        """How often a draw of this kind comes to a broken picture, over the loans and the channels they may get."""
        total = 0.0
        for _ in range(_DRAWS):
            loan = rng.choice(self._ordinary)
            reach = self._reach_for(kind, loan)
            if reach:
                moved = replace(loan, setting=_setting(rng.choice(reach)))
                total += len(reach) * sum(way.chance for way in ways(moved))
        return total / _DRAWS

    def _mean_harmless(self, rng: Random) -> float:
        total = 0.0
        for _ in range(_DRAWS):
            loan = rng.choice(self._ordinary)
            reach = self._free_reach(loan)
            if reach:
                total += len(reach) * self._harmless(replace(loan, setting=_setting(rng.choice(reach))))
        return total / _DRAWS

    def _reach_for(self, kind: Kind, loan: Loan) -> list[int]:
        """Channels among which all lie that this kind may move a loan to."""
        can = self._makes(loan, range(BAND[0].low_mhz, BAND[0].high_mhz))
        if kind == "neighbour":
            return [mhz for mhz in can if mhz in _edges()]
        if kind == "too_close":
            others = self._others(loan)
            return [mhz for mhz in can if any(4 <= abs(each.setting.mhz - mhz) <= 18 for each in others)]
        return can

    def _others(self, loan: Loan) -> list[Loan]:
        return [each for each in self.record.at_once(loan.out_at, loan.in_at) if each.pilot_id != loan.pilot_id]

    def _makes(self, loan: Loan, reach: Sequence[int]) -> list[int]:
        makes = self.record.pilots[loan.pilot_id].tuning.all_mhz()
        return [mhz for mhz in reach if mhz in makes and lies_within(mhz, 20, BAND)]

    def _power(self, loan: Loan) -> float:
        return self.record.pilots[loan.pilot_id].power_mw

    def _broken(self, loan: Loan, victim: Loan) -> Breaks:
        offset = loan.setting.mhz - victim.setting.mhz
        return by_carrier(self.plan.physics, self._power(loan), self._power(victim), offset, is_up=True)

    def _free_reach(self, loan: Loan) -> list[int]:
        near = [each.setting.mhz for each in self._others(loan)]
        wide = range(BAND[0].low_mhz, BAND[0].high_mhz)
        return self._makes(loan, [mhz for mhz in wide if all(abs(mhz - each) >= 4 for each in near)])

    def _harmless(self, loan: Loan) -> float:
        reach = self._free_reach(loan)
        if loan.setting.mhz not in reach:
            return 0.0
        quiet = (1 - self._broken(loan, each)[0] * self.plan.tells_share for each in self._others(loan))
        return prod(quiet) / len(reach)

    def _too_close(self, loan: Loan) -> Iterator[_Way]:
        others = self._others(loan)
        for victim in others:
            by = loan.setting.mhz - victim.setting.mhz
            is_guarded = all(
                abs(each.setting.mhz - loan.setting.mhz) >= PICTURE_GUARD_MHZ for each in others if each is not victim
            )
            if not (is_guarded and 4 <= abs(by) <= 18) or victim.override_reason:
                continue
            reach = self._makes(loan, [victim.setting.mhz + each for each in range(-18, 19) if abs(each) >= 4])
            breaks = self._broken(loan, victim)
            chance = breaks[0] * self.plan.tells_share / (len(others) * len(reach))
            start, end = max(loan.out_at, victim.out_at), min(loan.in_at, victim.in_at)
            yield _Way(victim, minutes(start), minutes(end), chance, breaks)

    def _neighbour(self, loan: Loan) -> Iterator[_Way]:
        near = [each.setting.mhz for each in self._others(loan)]
        if loan.setting.mhz in _edges() and all(abs(mhz - loan.setting.mhz) >= PICTURE_GUARD_MHZ for mhz in near):
            breaks = by_neighbour(self.plan.physics, self._power(loan), loan.setting.mhz)
            chance = breaks[0] / len(self._makes(loan, _edges()))
            yield _Way(loan, minutes(loan.out_at), minutes(loan.in_at), chance, breaks)

    def _product(self, loan: Loan) -> Iterator[_Way]:
        others = self._others(loan)
        ends = {each for other in others for each in (other.out_at, other.in_at) if loan.out_at < each < loan.in_at}
        cuts = sorted({loan.out_at, loan.in_at, *ends})
        for start, end in pairwise(cuts):
            now = [each for each in others if each.out_at <= start < each.in_at]
            far = [each for each in now if abs(each.setting.mhz - loan.setting.mhz) >= PICTURE_GUARD_MHZ + 8]
            if len(now) < 2 or len(far) < len(now):
                continue
            wide = range(BAND[0].low_mhz, BAND[0].high_mhz)
            guard = PICTURE_GUARD_MHZ + 8
            reach = [mhz for mhz in self._makes(loan, wide) if all(abs(mhz - e.setting.mhz) >= guard for e in now)]
            share = (end - start) / (loan.in_at - loan.out_at) / max(1, len(reach))
            for victim, breaks in self._hit([loan, *now], loan):
                yield _Way(victim, minutes(start), minutes(end), share * breaks[0], breaks)

    def _hit(self, on_air: Sequence[Loan], moved: Loan) -> Iterator[tuple[Loan, Breaks]]:
        for sources, mhz in products_of(on_air):
            for victim in on_air:
                offset = mhz - victim.setting.mhz
                if victim in sources or abs(offset) > PRODUCT_REACH_MHZ or moved not in (*sources, victim):
                    continue
                powers = tuple(self._power(each) for each in sources)
                yield victim, by_product(self.plan.physics, powers, self._power(victim), offset)


def _edges() -> list[int]:
    low, high = (round(edge) for edge in NEIGHBOUR.edges_mhz)
    return [*range(low - 6, low + 6), *range(high - 5, high + 7)]


def _setting(mhz: int) -> Setting:
    return Setting(name_of(mhz, published_plans()), mhz)
