"""Which tokens of a set leave a band profile, and who can't use them because of it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.flows.kits import Kit
from meetapp.flows.snapshot import Person, Snapshot
from meetapp.spectrum.bands import lies_within
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.tuning import setting_for


@dataclass(frozen=True, slots=True)
class Barred:
    """Expected pilots whose transmitters make these tokens, but whose band profile bars them all the same."""

    names: tuple[str, ...]
    band_name: str
    mhz: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BandExits:
    """`outside_mhz`: tokens that leave the site's band profile `band_name` with the width each is counted with.

    `widths_mhz`: those widths, each once, the widest first.
    """

    band_name: str
    widths_mhz: tuple[float, ...]
    outside_mhz: tuple[int, ...]
    barred: tuple[Barred, ...]


def band_exits(
    snapshot: Snapshot, people: Sequence[Person], band_name: str, tokens: Sequence[Carrier]
) -> BandExits:
    """What a set leaves of the band profiles, the site's and each pilot's own."""
    segments = snapshot.site_segments
    outside = [each for each in tokens if segments and not lies_within(each.mhz, each.width_mhz, segments)]
    return BandExits(
        band_name,
        tuple(sorted({each.width_mhz for each in outside}, reverse=True)),
        tuple(each.mhz for each in outside),
        tuple(_barred(snapshot, people, [each.mhz for each in tokens])),
    )


def _barred(snapshot: Snapshot, people: Sequence[Person], mhz: Sequence[int]) -> Iterator[Barred]:
    names: dict[tuple[str, tuple[int, ...]], list[str]] = {}
    for person in people:
        kit = person.kit
        if kit is not None and (without := tuple(at for at in mhz if _is_barred(snapshot, person, kit, at))):
            names.setdefault((person.band_name, without), []).append(person.board_name)
    for (band_name, without), who in names.items():
        yield Barred(tuple(who), band_name, without)


def _is_barred(snapshot: Snapshot, person: Person, kit: Kit, nominal_mhz: int) -> bool:
    everything_in_reach_mhz = kit.width_mhz + 2 * snapshot.pull_mhz
    if not person.segments or lies_within(nominal_mhz, everything_in_reach_mhz, person.segments):
        return False  # nothing in reach can leave the profile: the quick way for most tokens
    if snapshot.setting(person, nominal_mhz) is not None:
        return False
    unbarred = setting_for(nominal_mhz, snapshot.pull_mhz, kit.tuning, kit.goggles, snapshot.plans)
    return unbarred is not None
