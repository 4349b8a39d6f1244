"""What the record of a day by rule shows as possible: pictures beside overlapping edges, products and neighbours."""

from collections.abc import Iterator
from dataclasses import dataclass

from meetapp.simulate.by_rule.tables import (
    DIGITAL_LOOKS,
    HIT_SHARE,
    HIT_WITHIN_MHZ,
    HURT_LOOKS,
    HURT_SHARE,
    HURT_WITHIN_MHZ,
    LOOKS,
    NEIGHBOUR_SHARE,
    NOTICED_WITHIN,
    OVERLAP_DEEP_MHZ,
    OVERLAP_SHARES,
    PRODUCT_SHARE,
    PRODUCT_WITHIN_MHZ,
)
from meetapp.simulate.day import Loan, minutes
from meetapp.simulate.mishaps import products_of
from meetapp.simulate.observer.gathering import LoansByMinute, Looks, Strike
from meetapp.simulate.plan import Kind
from meetapp.simulate.record import Record
from meetapp.spectrum.carriers import Carrier, neighbour_gap


@dataclass(frozen=True, slots=True)
class Clash:
    """A picture that may break of what the record shows. `mhz`: the disturber, the product or the edge."""

    kind: Kind
    mhz: float
    sources: tuple[int, ...]
    strike: Strike


def looks_of(record: Record, victim: Loan, kind: Kind) -> Looks:
    """How a victim that is hit sees it."""
    return DIGITAL_LOOKS if record.kits[record.pilots[victim.pilot_id].kit].is_digital else LOOKS[kind]


def clashes(record: Record) -> Iterator[Clash]:
    """Each with how often it breaks and is told."""
    for victim in record.loans.values():
        yield from _by_neighbours(record, victim)
        others = [each for each in record.at_once(victim.out_at, victim.in_at) if each is not victim]
        for other in others:
            overlap = (record.width_of(victim) + record.width_of(other)) / 2
            overlap -= abs(victim.setting.mhz - other.setting.mhz)
            if overlap > 0:
                share = OVERLAP_SHARES[overlap > OVERLAP_DEEP_MHZ]
                yield _clash(record, victim, "too_close", other.setting.mhz, (other,), share)
        for sources, mhz in products_of(others):
            # the middle of three loans may be gone before the last begins: those never made a product
            if abs(mhz - victim.setting.mhz) <= PRODUCT_WITHIN_MHZ and _overlap((victim, *sources)):
                yield _clash(record, victim, "product", mhz, sources, PRODUCT_SHARE)


def _overlap(loans: tuple[Loan, ...]) -> bool:
    return max(loan.out_at for loan in loans) < min(loan.in_at for loan in loans)


def _by_neighbours(record: Record, victim: Loan) -> Iterator[Clash]:
    own = Carrier(victim.setting.mhz, record.width_of(victim))
    for neighbour in record.neighbours:
        if neighbour_gap(own, neighbour) < 0:
            edge = min(neighbour.edges_mhz, key=lambda edge: abs(edge - victim.setting.mhz))
            yield _clash(record, victim, "neighbour", edge, (), NEIGHBOUR_SHARE)


def _clash(record: Record, victim: Loan, kind: Kind, mhz: float, sources: tuple[Loan, ...], share: float) -> Clash:
    start = max(minutes(loan.out_at) for loan in (victim, *sources))
    end = min(minutes(loan.in_at) for loan in (victim, *sources))
    ids = tuple(sorted({loan.loan_id for loan in sources}))
    return Clash(kind, mhz, ids, Strike(victim.loan_id, share, start, end, looks_of(record, victim, kind)))


@dataclass(frozen=True, slots=True)
class Transmitter:
    """A transmitter where the record doesn't have it, from minute to minute. `loan_id`: the loan whose it is, or 0."""

    kind: Kind
    mhz: int
    start: float
    end: float
    loan_id: int = 0


def struck(record: Record, index: LoansByMinute, by: Transmitter) -> Iterator[Strike]:
    """The pictures that it breaks."""
    for out, back, victim in index.at_once(by.start, by.end):
        offset = abs(victim.setting.mhz - by.mhz)
        if victim.loan_id == by.loan_id or offset > HURT_WITHIN_MHZ:
            continue
        is_hit = offset <= HIT_WITHIN_MHZ
        looks = looks_of(record, victim, by.kind) if is_hit else HURT_LOOKS
        begins = max(by.start, out)
        until = min(by.end, back, begins + NOTICED_WITHIN)
        yield Strike(victim.loan_id, HIT_SHARE if is_hit else HURT_SHARE, begins, until, looks)
