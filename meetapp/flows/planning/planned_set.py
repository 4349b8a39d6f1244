"""What a set of frequencies would be worth to a meet: its measures, its worst case, and whom it can't serve.

The worst case goes by what the expected pilots would really set, each of them on one token at a time. Where they are
too few for the tokens that count together, somebody may come who wasn't expected: that one counts with any of the
carriers that the expected ones make there, and on a token that none of them can make anywhere within the pull, at the
reference width.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from sqlmodel import Session

from meetapp.flows.errors import Refused
from meetapp.flows.kits import Kit, kits_of
from meetapp.flows.planning.band_exits import BandExits, band_exits
from meetapp.flows.readings import one_line
from meetapp.flows.snapshot import Person, Snapshot, take_snapshot
from meetapp.spectrum.bands import segment_around
from meetapp.spectrum.carriers import Carrier, neighbour_gap
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.pull import worst_case
from meetapp.spectrum.tuning import Setting, setting_for
from meetapp.store import field_queries as queries
from meetapp.store import tables as t

REASON_MIN = 3
SMALL_CLEARANCE_MHZ = 10
"""Less clearance than this can be eaten by what transmitters drift. Common practice, no published source."""

Barrier = Literal["tuning", "goggles", "band", "neighbour"]
_BARRIERS: tuple[Barrier, ...] = ("tuning", "goggles", "band", "neighbour")
_NOBODY_MAKES: dict[Barrier, str] = {
    "tuning": "Nobody expected can make {mhz} MHz",
    "goggles": "Nobody expected who can make {mhz} MHz has goggles that receive it",
    "band": "The band profile bars {mhz} MHz for everybody expected who could make it",
    "neighbour": "{mhz} MHz overlaps a neighbour with every transmitter expected that could make it",
}


@dataclass(frozen=True, slots=True)
class Unserved:
    """An expected pilot whom no token of the set can serve, and why not, in words."""

    name: str
    transmitter: str
    why: str


@dataclass(frozen=True, slots=True)
class TooStrong:
    """An expected pilot whose lowest power lies above a ceiling; powers in mW."""

    name: str
    lowest_mw: float
    ceiling_mw: float


@dataclass(frozen=True, slots=True)
class Plan:
    """A meet as it is planned: the snapshot, with only the pilots who are expected or there, each with a transmitter.

    `band_name` is the site's band profile, `useful_clearance_mhz` the club's.
    """

    snapshot: Snapshot
    people: tuple[Person, ...]
    band_name: str
    useful_clearance_mhz: int

    @property
    def widest(self) -> Kit | None:
        """The widest transmitter expected (of equal ones the first), None where nobody is expected with one."""
        kits = [person.kit for person in self.people if person.kit is not None]
        return max(kits, key=lambda kit: kit.width_mhz, default=None)

    @property
    def width_mhz(self) -> float:
        """The width that is counted for the band's edges and the neighbours: the widest one's, else the reference."""
        return self.widest.width_mhz if self.widest else REFERENCE_WIDTH_MHZ

    @property
    def narrowest_mhz(self) -> float:
        """The width of the narrowest transmitter expected, but no less than the reference width."""
        widths = [person.kit.width_mhz for person in self.people if person.kit is not None]
        return max(min(widths, default=REFERENCE_WIDTH_MHZ), REFERENCE_WIDTH_MHZ)

    def has_room(self, mhz: int, kit: Kit) -> bool:
        """Whether the neighbours leave room there for the width of a transmitter."""
        carrier = Carrier(mhz, kit.width_mhz)
        return all(neighbour_gap(carrier, neighbour) >= 0 for neighbour in self.snapshot.neighbours)


@dataclass(frozen=True, slots=True)
class SetFigures:
    """What a set reaches. `measures`: at the nominal frequencies, each token as wide as it is counted;
    `worst`: with what is really set, widths counted.

    `worst_with_expected` says whether the worst case goes by expected transmitters, or by the pull alone.
    `unmade_mhz`: tokens that nobody expected can use, `unmade_why` says why not in words, without the full stop.
    `band`: what leaves a band profile. `is_clearance_small`: nominal or in the worst case it is below
    SMALL_CLEARANCE_MHZ.
    """

    mhz: tuple[int, ...]
    measures: Measures
    worst: Measures
    worst_with_expected: bool
    unserved: tuple[Unserved, ...]
    too_strong: tuple[TooStrong, ...]
    unmade_mhz: tuple[int, ...]
    unmade_why: tuple[str, ...]
    band: BandExits

    @property
    def is_clearance_small(self) -> bool:
        """Whether little is left between a product and a carrier."""
        clearances = (self.measures.clearance_mhz, self.worst.clearance_mhz)
        return any(each is not None and each < SMALL_CLEARANCE_MHZ for each in clearances)


def read_plan(session: Session, meet: t.Meet, now: datetime) -> Plan:
    """Read a meet for planning. A pilot whose transmitter wasn't told counts with their first one."""
    snapshot = take_snapshot(session, meet, now)
    rows = queries.attendances(session, meet.id)
    coming = [
        snapshot.people[pilot.id]
        for attendance, pilot in rows
        if attendance.left_at is None and (attendance.is_expected or attendance.checked_in_at is not None)
    ]
    kits = kits_of(session, [person.pilot_id for person in coming if person.kit is None], snapshot.plans)
    people = tuple(
        person if person.kit else replace(person, kit=next(iter(kits.get(person.pilot_id, ())), None))
        for person in coming
    )
    club = session.get_one(t.Club, 1)
    site = session.get_one(t.Site, meet.site_id)
    band_name = session.get_one(t.BandProfile, site.band_profile_id).name
    return Plan(snapshot, people, band_name, club.useful_clearance_mhz)


def figures(plan: Plan, mhz: Sequence[int], widths_mhz: Sequence[float] = ()) -> SetFigures:
    """What the set reaches and whom it can't serve. `widths_mhz`: of each token, none given: the reference width.

    Cost: see `pull.worst_case`.
    """
    made = [any(_setting(plan, person, nominal) is not None for person in plan.people) for nominal in mhz]
    is_anybody = any(made)
    unmade = tuple(at for at, is_made in zip(mhz, made, strict=True) if is_anybody and not is_made)
    return SetFigures(
        mhz=tuple(mhz),
        measures=measure(tuple(map(Carrier, mhz, widths_mhz or (REFERENCE_WIDTH_MHZ,) * len(mhz)))),
        worst=worst_with_expected(plan, mhz),
        worst_with_expected=is_anybody,
        unserved=tuple(_unserved(plan, mhz)),
        too_strong=tuple(_too_strong(plan, mhz)),
        unmade_mhz=unmade,
        unmade_why=tuple(_unmade_why(plan, unmade)),
        band=bands_left(plan, mhz, widths_mhz),
    )


def worst_with_expected(plan: Plan, mhz: Sequence[int]) -> Measures:
    """What the set reaches whatever the expected pilots set on their transmitters, each on one token at a time.

    Where too few are expected for the tokens, the missing ones count as this module's first lines say.
    Cost: see `pull.worst_case`.
    """
    pilots = [[_carrier(plan, person, nominal) for nominal in mhz] for person in plan.people]
    others = [[made for pilot in pilots if (made := pilot[place]) is not None] for place in range(len(mhz))]
    return worst_case([made or _pulled(plan, nominal) for made, nominal in zip(others, mhz, strict=True)], pilots)


def bands_left(plan: Plan, mhz: Sequence[int], widths_mhz: Sequence[float] = ()) -> BandExits:
    """What the set leaves of the band profiles, and whom that keeps from a token.

    `widths_mhz`: of each token; none given, all count as wide as the narrowest transmitter expected.
    """
    widths = widths_mhz or (plan.narrowest_mhz,) * len(mhz)
    return band_exits(plan.snapshot, plan.people, plan.band_name, tuple(map(Carrier, mhz, widths)))


def usual_floors(plan: Plan, found: SetFigures, spacing_asked_mhz: float = 0) -> Floors:
    """The floors that a set starts with: what it reaches in its worst case.

    The clearance counts up to the useful one. Neither floor starts below 0, where carriers and products overlap.
    With one token there is no spacing to reach: the spacing asked for stands.
    """
    spacing, clearance = found.worst.spacing_mhz, found.worst.clearance_mhz
    return Floors(
        max(0, spacing) if spacing is not None else spacing_asked_mhz,
        max(0, min(clearance, plan.useful_clearance_mhz)) if clearance is not None else None,
    )


def checked_reason(floors: Floors, usual: Floors, reason: str) -> str:
    """The reason for floors below what the set reaches; empty where they don't lie below it.

    Raises:
        Refused: they do, and no reason is given.
    """
    if not _is_lower(floors, usual):
        return ""
    if len(one_line(reason)) < REASON_MIN:
        clearance = "" if usual.clearance_mhz is None else f" and {usual.clearance_mhz:g} MHz of clearance"
        raise Refused(
            f"These floors lie below what the set reaches in its worst case ({usual.spacing_mhz:g} MHz of spacing"
            f"{clearance}).",
            "Write down why: the reason stays in sight on the desk, the board and the review.",
            field="lower_floors_reason",
        )
    return one_line(reason)


def _is_lower(floors: Floors, than: Floors) -> bool:
    """Whether one of these floors lies below the other ones (no floor for the clearance lies below any)."""
    if floors.spacing_mhz < than.spacing_mhz:
        return True
    if than.clearance_mhz is None:
        return False
    return floors.clearance_mhz is None or floors.clearance_mhz < than.clearance_mhz


def _carrier(plan: Plan, person: Person, nominal_mhz: int) -> Carrier | None:
    """What the person would put on air with a token."""
    setting = _setting(plan, person, nominal_mhz)
    return Carrier(setting.mhz, person.kit.width_mhz) if setting is not None and person.kit is not None else None


def _pulled(plan: Plan, nominal_mhz: int) -> list[Carrier]:
    reach = range(-plan.snapshot.pull_mhz, plan.snapshot.pull_mhz + 1)
    return [Carrier(nominal_mhz + by) for by in reach]


def _setting(plan: Plan, person: Person, nominal_mhz: int) -> Setting | None:
    """What the person would set there, if the neighbours leave room for the width of their transmitter."""
    setting = plan.snapshot.setting(person, nominal_mhz)
    if setting is None or person.kit is None:
        return None
    return setting if plan.has_room(setting.mhz, person.kit) else None


def _unserved(plan: Plan, mhz: Sequence[int]) -> Iterator[Unserved]:
    for person in plan.people:
        if person.kit is None:
            yield Unserved(person.board_name, "–", "no transmitter is known for them")
        elif all(_setting(plan, person, nominal) is None for nominal in mhz):
            yield Unserved(person.board_name, person.kit.name, _why_unserved(plan, person, person.kit, mhz))


def _unmade_why(plan: Plan, unmade_mhz: Sequence[int]) -> Iterator[str]:
    """One sentence for each reason: what keeps away the one who comes nearest to using the token."""
    kits = [(person, person.kit) for person in plan.people if person.kit is not None]
    by_barrier: dict[Barrier, list[int]] = {}
    for nominal in unmade_mhz:
        barriers = (_barrier(plan, person, kit, (nominal,)) for person, kit in kits)
        by_barrier.setdefault(max(barriers, key=_BARRIERS.index), []).append(nominal)
    for barrier, nominals in by_barrier.items():
        yield _NOBODY_MAKES[barrier].format(mhz=", ".join(map(str, nominals)))


def _why_unserved(plan: Plan, person: Person, kit: Kit, mhz: Sequence[int]) -> str:
    match _barrier(plan, person, kit, mhz):
        case "tuning":
            return f"it makes none of these within {plan.snapshot.pull_mhz} MHz"
        case "goggles":
            return "the goggles receive none of those that it makes"
        case "band":
            return f"with its {kit.width_mhz:g} MHz it leaves the band profile everywhere"
        case "neighbour":
            return f"with its {kit.width_mhz:g} MHz it overlaps a neighbour everywhere"


def _barrier(plan: Plan, person: Person, kit: Kit, mhz: Sequence[int]) -> Barrier:
    """What keeps a person from all of these tokens: the first thing in the way of those that come furthest."""
    snapshot = plan.snapshot

    def none_with(*, goggles: bool, segments: bool) -> bool:
        return all(
            setting_for(
                nominal,
                snapshot.pull_mhz,
                kit.tuning,
                kit.goggles if goggles else None,
                snapshot.plans,
                segments=(person.segments or None) if segments else None,
                width_mhz=kit.width_mhz,
            )
            is None
            for nominal in mhz
        )

    if none_with(goggles=False, segments=False):
        return "tuning"
    if none_with(goggles=True, segments=False):
        return "goggles"
    if none_with(goggles=True, segments=True):
        return "band"
    return "neighbour"


def _too_strong(plan: Plan, mhz: Sequence[int]) -> Iterator[TooStrong]:
    for person in plan.people:
        if person.kit is None or not person.kit.power_steps_mw:
            continue
        ceilings = [_ceiling_mw(plan, person, person.kit, setting) for setting in _settings(plan, person, mhz)]
        lowest = min(person.kit.power_steps_mw)
        if ceilings and all(ceiling is not None and lowest > ceiling for ceiling in ceilings):
            yield TooStrong(person.board_name, lowest, max(ceiling for ceiling in ceilings if ceiling is not None))


def _settings(plan: Plan, person: Person, mhz: Sequence[int]) -> list[Setting]:
    return [setting for nominal in mhz if (setting := _setting(plan, person, nominal)) is not None]


def _ceiling_mw(plan: Plan, person: Person, kit: Kit, setting: Setting) -> float | None:
    around = segment_around(setting.mhz, kit.width_mhz, person.segments)
    ceilings = [plan.snapshot.power_ceiling_mw, around.power_mw if around else None]
    return min((ceiling for ceiling in ceilings if ceiling is not None), default=None)
