"""How often the simulated physics breaks a picture, and how it then looks: by drawing, kept for the next question."""

from functools import lru_cache
from random import Random

from meetapp.simulate.day import NEIGHBOUR
from meetapp.simulate.mishaps import WIFI_M, WIFI_MW
from meetapp.simulate.observer.gathering import Looks
from meetapp.simulate.physics import Physics

Breaks = tuple[float, Looks]
"""How often it breaks, and the shares of looks and places where it does."""
_DRAWS = 300
_SAME_FROM_MHZ = 60
_MHZ = 5800


def by_carrier(physics: Physics, source_mw: float, victim_mw: float, offset_mhz: int, *, is_up: bool) -> Breaks:
    """By a transmitter this far beside the channel, in the air or in the pits."""
    return _by_carrier(physics, source_mw, victim_mw, min(_SAME_FROM_MHZ, abs(offset_mhz)), is_up)


@lru_cache(maxsize=20_000)
def _by_carrier(physics: Physics, source_mw: float, victim_mw: float, offset: int, is_up: bool) -> Breaks:
    rng = Random(1)
    typical = (physics.far_m, physics.near_m * 3) if is_up else (physics.pits_m,)
    looks = []
    for draw in range(_DRAWS):
        own = physics.own_dbm(victim_mw, _MHZ, rng)
        foreign = physics.received_dbm(source_mw, typical[draw % len(typical)], _MHZ, rng)
        foreign -= physics.rejection_db(offset)
        if physics.is_disturbed(own, foreign, rng):
            looks.append(physics.look(own, foreign, offset, is_picture=True, rng=rng))
    return _counted(looks)


@lru_cache(maxsize=20_000)
def by_product(physics: Physics, sources_mw: tuple[float, ...], victim_mw: float, offset_mhz: int) -> Breaks:
    """By a product of two or three sources this far beside the channel."""
    rng = Random(2)
    looks = []
    for _ in range(_DRAWS):
        own = physics.own_dbm(victim_mw, _MHZ, rng)
        levels = tuple(physics.received_dbm(power, physics.near_m, _MHZ, rng) for power in sources_mw)
        product = physics.product_dbm(levels) - physics.rejection_db(offset_mhz)
        if physics.is_disturbed(own, product, rng):
            looks.append(physics.look(own, product, offset_mhz, is_picture=False, rng=rng))
    return _counted(looks)


@lru_cache(maxsize=5_000)
def by_neighbour(physics: Physics, victim_mw: float, mhz: int) -> Breaks:
    """By the foreign signal beside the field."""
    low, high = NEIGHBOUR.edges_mhz
    edge = low if abs(mhz - low) <= abs(mhz - high) else high
    beyond = max(0.0, low - mhz, mhz - high)
    rng = Random(3)
    looks = []
    for _ in range(_DRAWS):
        own = physics.own_dbm(victim_mw, mhz, rng)
        foreign = physics.received_dbm(WIFI_MW, WIFI_M, edge, rng) - physics.edge_db_per_mhz * beyond
        if physics.is_disturbed(own, foreign, rng):
            looks.append(physics.look(own, foreign, mhz - edge, is_picture=False, rng=rng))
    return _counted(looks)


def _counted(looks: list[str]) -> Breaks:
    shares = {(look, "flight"): looks.count(look) / len(looks) for look in sorted(set(looks))}
    return len(looks) / _DRAWS, shares
