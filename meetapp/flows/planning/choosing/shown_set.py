"""One set in full: its tokens with their edges, its figures, whom it serves, the floors that it would start with."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import ceil

from meetapp.flows.planning.choosing.question import (
    USUAL_SPACING_MHZ,
    Asked,
    Question,
    Seating,
    asked,
    read_ground,
    seating_on,
)
from meetapp.flows.planning.choosing.served import Served, served_by
from meetapp.flows.planning.planned_set import SetFigures, figures, usual_floors
from meetapp.flows.readings import refusing
from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.channels import check_mhz, labels_at
from meetapp.spectrum.floors import Floors
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class TokenEdges:
    """A token of a set with the width that it is counted with and its edges, all in MHz.

    `label` is empty where no plan has the frequency.
    """

    label: str
    mhz: int
    width_mhz: float

    @property
    def low_mhz(self) -> float:
        """The lower edge."""
        return self.mhz - self.width_mhz / 2

    @property
    def high_mhz(self) -> float:
        """The upper edge."""
        return self.mhz + self.width_mhz / 2


@dataclass(frozen=True, slots=True)
class ShownSet:
    """One set in full. `channels`: (label, MHz) pairs, the label empty where no plan has the frequency.

    `made_mhz`: those for which the club owns no usable token yet. `usual`: the floors it would start with.
    `pull_mhz`: the pull that it counts with, `meet_pull_mhz` the meet's now. `air`: the set to be drawn.
    """

    channels: tuple[tuple[str, int], ...]
    tokens: tuple[TokenEdges, ...]
    found: SetFigures
    served: Served
    made_mhz: tuple[int, ...]
    usual: Floors
    pull_mhz: int
    meet_pull_mhz: int
    air: AirFacts | None

    @property
    def has_wide(self) -> bool:
        """Whether its tokens are counted with different widths."""
        return len({token.width_mhz for token in self.tokens}) > 1


def shown_set(asked: Asked, seating: Seating) -> ShownSet:
    """A set of a question in full. Cost: see `pull.worst_case`."""
    ground, plan = asked.ground, asked.plan
    mhz = tuple(token.mhz for token in seating.tokens)
    found = figures(plan, mhz, seating.widths_mhz)
    plans = plan.snapshot.plans
    labels = [next(iter(labels_at(each, plans)), "") for each in mhz]
    heats = max(1, ceil(len(asked.pilots) / min(ground.meet.fly_at_once, len(mhz))))
    return ShownSet(
        channels=tuple(zip(labels, mhz, strict=True)),
        tokens=tuple(map(TokenEdges, labels, mhz, seating.widths_mhz)),
        found=found,
        served=served_by(asked, seating, found, heats),
        made_mhz=tuple(each for each in mhz if each not in ground.owned_mhz),
        usual=usual_floors(plan, found, asked.question.spacing_mhz),
        pull_mhz=plan.snapshot.pull_mhz,
        meet_pull_mhz=ground.meet.pull_mhz,
        air=air_facts(
            [Named(token, label) for token, label in zip(seating.tokens, labels, strict=True)],
            plan.snapshot.neighbours,
            plan.snapshot.site_segments,
        ),
    )


def look_at(
    store: Store, meet_id: int, mhz: Sequence[int], now: datetime, pull_mhz: int | None = None
) -> ShownSet:
    """One set in full, by itself. `pull_mhz` None: with the meet's pull.

    Raises:
        Refused: a frequency that can't be meant (field 'mhz').
    """
    with refusing("mhz"):
        for each in mhz:
            check_mhz("mhz", each)
    ground = read_ground(store, meet_id, now)
    question = Question(len(mhz), USUAL_SPACING_MHZ, "both", (), tuple(mhz), within_band=False, pull_mhz=pull_mhz)
    about = asked(ground, question)
    return shown_set(about, seating_on(about, mhz))
