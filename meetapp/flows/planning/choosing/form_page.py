"""What the form starts with: the meet's figures, its plans, band and neighbours, and who is expected how wide."""

from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.planning.choosing.question import read_ground
from meetapp.spectrum.channels import ChannelPlan
from meetapp.store.engine import Store

_LETTERS_THAT_DIFFER = ("L",)
"""What L stands for differs between transmitters (seen in open firmware), so it isn't ticked from the start."""


@dataclass(frozen=True, slots=True)
class ChoosingPage:
    """What the form needs. `plans`: (letter, text) pairs, `ticked` those ticked at first.

    `width_mhz` is the widest transmitter expected, `widest` its name (empty: nobody is expected with one). `widths`:
    (width in MHz, how many expected have it) pairs, the widest first. `has_set`: a set is the meet's already.
    """

    meet_id: int
    meet_name: str
    state: str
    fly_at_once: int
    signals: str
    pull_mhz: int
    coming: int
    plans: tuple[tuple[str, str], ...]
    ticked: tuple[str, ...]
    owned: int
    band_name: str
    neighbours: tuple[str, ...]
    width_mhz: float
    widest: str
    widths: tuple[tuple[float, int], ...]
    has_set: bool


def choosing_page(store: Store, meet_id: int, now: datetime) -> ChoosingPage:
    """Read what the form needs.

    Raises:
        NotFound: there is no such meet.
    """
    ground = read_ground(store, meet_id, now)
    plan, meet = ground.plan, ground.meet
    widths = [person.kit.width_mhz for person in plan.people if person.kit is not None]
    return ChoosingPage(
        meet_id=meet.id,
        meet_name=meet.name,
        state=meet.state,
        fly_at_once=meet.fly_at_once,
        signals=meet.signals,
        pull_mhz=meet.pull_mhz,
        coming=len(plan.people),
        plans=tuple((each.letter, _plan_text(each)) for each in plan.snapshot.plans),
        ticked=tuple(letter for letter in ground.published if letter not in _LETTERS_THAT_DIFFER),
        owned=len(ground.owned_mhz),
        band_name=plan.band_name,
        neighbours=tuple(
            f"{each.label} ({each.centre_mhz} MHz, {each.width_mhz:g} MHz wide)" for each in plan.snapshot.neighbours
        ),
        width_mhz=plan.width_mhz,
        widest=plan.widest.name if plan.widest else "",
        widths=tuple((width, widths.count(width)) for width in sorted(set(widths), reverse=True)),
        has_set=bool(ground.chosen_mhz),
    )


def _plan_text(plan: ChannelPlan) -> str:
    return f"{plan.letter} ({len(plan.channels)} channels)"
