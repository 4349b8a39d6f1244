"""Who flies when on what in the world by rule: each token goes from hand to hand by itself."""

from collections.abc import Sequence
from datetime import timedelta
from random import Random

from meetapp.data.catalog import published_plans
from meetapp.simulate.by_rule.tables import (
    GAPS_MHZ,
    KITS,
    NEIGHBOURS,
    ORDERLY_KITS,
    ORDERLY_TOKENS_MHZ,
    OVERRIDE_SHARE,
    RulePlan,
)
from meetapp.simulate.day import BAND, OPENED, PULL_MHZ, Loan, Pilot
from meetapp.simulate.kits import Kit
from meetapp.simulate.record import Record
from meetapp.spectrum.channels import name_of
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.handout import TokenIn
from meetapp.spectrum.tuning import Setting, Tuning, parse_tuning, setting_for

_REST = timedelta(minutes=3)
_SPARE_FROM = 1001


def fly(plan: RulePlan, rng: Random) -> Record:
    """A day without reports."""
    kits = ORDERLY_KITS if plan.is_orderly else KITS
    tokens = _tokens(plan, kits, rng)
    pilots = {number: _pilot(number, kits, rng) for number in range(1, plan.pilots + 1)}
    closed_at = OPENED + timedelta(minutes=plan.minutes)
    spares: dict[int, int] = {}
    loans = _loans(plan, tokens, pilots, spares, kits, rng)
    return Record(
        number=plan.seed,
        kits=kits,
        neighbours=NEIGHBOURS,
        tokens=tokens,
        spares=spares,
        floors=Floors(0.0, None),
        pilots=pilots,
        loans=loans,
        stays=(),
        told=(),
        closed_at=closed_at,
    )


def _tokens(plan: RulePlan, kits: Sequence[Kit], rng: Random) -> tuple[TokenIn, ...]:
    """Tags as a club may own them: from the channels of its kits, with no care for products and widths."""
    if plan.is_orderly:
        return tuple(TokenIn(number, mhz) for number, mhz in enumerate(ORDERLY_TOKENS_MHZ, start=1))
    can = sorted({mhz for kit in (*kits[:2], *kits[4:]) for mhz in _tuning(kit).all_mhz() if 5655 <= mhz <= 5925})
    found: list[int] = [rng.choice(can[:8])]
    while len(found) < plan.tokens:
        beyond = [mhz for mhz in can if mhz >= found[-1] + rng.choice(GAPS_MHZ)]
        if not beyond:
            found = [rng.choice(can[:8])]
            continue
        found.append(beyond[0])
    return tuple(TokenIn(number, mhz) for number, mhz in enumerate(found, start=1))


def _tuning(kit: Kit) -> Tuning:
    return parse_tuning(kit.tuning, published_plans())


def _pilot(number: int, kits: Sequence[Kit], rng: Random) -> Pilot:
    kit = rng.randrange(len(kits))
    tuning = _tuning(kits[kit])
    wake = rng.choice(sorted(tuning.all_mhz())) if rng.random() < 0.5 else None
    return Pilot(number, kit, tuning, {}, OPENED, wake, rng.choice((25.0, 100.0, 400.0)))


def _loans(
    plan: RulePlan,
    tokens: Sequence[TokenIn],
    pilots: dict[int, Pilot],
    spares: dict[int, int],
    kits: Sequence[Kit],
    rng: Random,
) -> dict[int, Loan]:
    free_at = dict.fromkeys(pilots, OPENED)
    wake = {number: pilot.wake_mhz for number, pilot in pilots.items()}
    next_at = {token.token_id: OPENED + timedelta(seconds=rng.randint(60, 600)) for token in tokens}
    closed_at = OPENED + timedelta(minutes=plan.minutes)
    found: dict[int, Loan] = {}
    while True:
        token = min(tokens, key=lambda each: (next_at[each.token_id], each.token_id))
        now = next_at[token.token_id]
        if now >= closed_at - timedelta(minutes=2):
            return found
        settings = {n: _setting(pilot, token, kits) for n, pilot in pilots.items() if free_at[n] <= now}
        ready = sorted(number for number, setting in settings.items() if setting)
        if not ready:
            next_at[token.token_id] = now + timedelta(seconds=90)
            continue
        number = rng.choice(ready)
        setting = settings[number]
        assert setting is not None
        in_at = min(closed_at, now + timedelta(seconds=rng.randint(150, 540)))
        token_id, reason = token.token_id, ""
        if not plan.is_orderly and rng.random() < OVERRIDE_SHARE:
            mhz = rng.choice([mhz for mhz in sorted(pilots[number].tuning.all_mhz()) if 5650 <= mhz <= 5930])
            setting, reason = Setting(name_of(mhz, published_plans()), mhz), "Asked for by the pilot"
            token_id = _SPARE_FROM + len(spares)
            spares[token_id] = mhz
        loan = Loan(len(found) + 1, number, token_id, setting, now, in_at, wake[number], reason)
        found[loan.loan_id] = loan
        wake[number] = None if kits[pilots[number].kit].moves_by_itself else setting.mhz
        free_at[number] = in_at + _REST
        next_at[token.token_id] = in_at + timedelta(seconds=rng.randint(30, 240))


def _setting(pilot: Pilot, token: TokenIn, kits: Sequence[Kit]) -> Setting | None:
    width = kits[pilot.kit].width_mhz
    return setting_for(
        token.nominal_mhz, PULL_MHZ, pilot.tuning, None, published_plans(), segments=BAND, width_mhz=width
    )
