"""Heats as pages and paper show them: round by round, with what each is worth and how its start line looks."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

from meetapp.flows.heats.ground import Ground
from meetapp.flows.heats.heat_rows import SeatKit
from meetapp.flows.heats.heat_words import heat_name
from meetapp.rules.heat_rounds import BEGUN, pilots_to_come
from meetapp.rules.heats import Heat, HeatList, Seat, WhyMissing
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.heats import LinePlace, StartLine, start_line
from meetapp.spectrum.products import Measures, measure

_LONGEST_LABEL = 3
"""A label such as 'R1' stands on the drawing of the line; of a longer one ('5658 MHz') only the figure."""


@dataclass(frozen=True, slots=True)
class SeatView:
    """A seat. `before`: the channel flown before, where this is another one; `token_label`: '' where it is not known.

    `width_mhz`: the occupied width. `flew_just_before`: the pilot has a seat in the heat before this one too.
    """

    pilot_id: int
    name: str
    label: str
    mhz: int
    pad: int
    token_label: str
    width_mhz: float
    before: str = ""
    flew_just_before: bool = False

    @property
    def channel(self) -> str:
        """What to set; the token where it is called otherwise, and the width where it is not the usual one."""
        width = "" if self.width_mhz == REFERENCE_WIDTH_MHZ else f", {self.width_mhz:g} MHz wide"
        channel = f"{channel_words(self.label, self.mhz)}{width}"
        if self.token_label in ("", self.label, str(self.mhz)):
            return channel
        return f"token {self.token_label}, sets {channel}"


@dataclass(frozen=True, slots=True)
class MissingView:
    """A pilot who had a seat in a heat that flies without them; `why` in words."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class HeatView:
    """One heat along its start line. `measures`: of what is on air then; loans beside it count while it is to come."""

    heat_id: int
    title: str
    round: int
    state: str
    seats: tuple[SeatView, ...]
    gaps: tuple[MissingView, ...]
    measures: Measures
    line: StartLine
    repeats: str


@dataclass(frozen=True, slots=True)
class RoundView:
    """The heats of one round in order of flying."""

    number: int
    heats: tuple[HeatView, ...]


@dataclass(frozen=True, slots=True)
class HeatPeople:
    """Who sits in heats: names by pilot id, what each seat stands for by heat id and pilot id, tokens' labels by id."""

    names: Mapping[int, str]
    kits: Mapping[tuple[int, int], SeatKit]
    token_labels: Mapping[int, str]
    beside: tuple[Carrier, ...]
    pads: int | None


def people_of(ground: Ground, heats: HeatList, pads: int | None) -> HeatPeople:
    """Who sits in these heats, planned only or there already; `pads`: places on the start line (None: as needed)."""
    return HeatPeople(
        ground.names,
        {
            (heat.heat_id, seat.pilot_id): ground.kit_at(heat, seat)
            for heat in heats
            for seat in heat.seats
        },
        {token.token_id: token.label for token in ground.snapshot.tokens},
        ground.beside(pilots_to_come(heats)),
        pads,
    )


MISSING_WORDS: dict[WhyMissing, str] = {
    "no_show": "did not come",
    "broken": "quad broken",
    "left": "flies in no more heats",
    "no_token": "got no token",
}


def channel_words(label: str, mhz: int) -> str:
    """A channel to set, said once where the transmitter has no name for it.

    >>> channel_words("R3", 5732), channel_words("5735 MHz", 5735)
    ('R3, 5732 MHz', '5735 MHz')
    """
    return label if "MHz" in label else f"{label}, {mhz} MHz"


def round_views(heats: HeatList, people: HeatPeople) -> tuple[RoundView, ...]:
    """The heats by round; within a round in the order given (that of flying)."""
    views = sorted(heat_views(heats, people), key=lambda view: view.round)
    return tuple(RoundView(number, tuple(of_round)) for number, of_round in groupby(views, key=lambda view: view.round))


def heat_views(heats: HeatList, people: HeatPeople) -> tuple[HeatView, ...]:
    """Every heat, in the order given."""
    by_id = {heat.heat_id: heat for heat in heats}
    flown_on: dict[int, Seat] = {}
    views = []
    for place, heat in enumerate(heats):
        just_flew = heats[place - 1].pilots if place else frozenset()
        repeated = by_id.get(heat.again_for or 0)
        views.append(_heat_view(heat, people, flown_on, just_flew, repeated))
        flown_on |= {seat.pilot_id: seat for seat in heat.seats}
    return tuple(views)


def _heat_view(
    heat: Heat, people: HeatPeople, flown_on: Mapping[int, Seat], just_flew: frozenset[int], repeated: Heat | None
) -> HeatView:
    seats = sorted(heat.seats, key=lambda seat: seat.pad)
    carriers = [Carrier(seat.mhz, people.kits[heat.heat_id, seat.pilot_id].width_mhz) for seat in seats]
    beside = () if heat.state in BEGUN else people.beside
    return HeatView(
        heat_id=heat.heat_id,
        title=heat_name(heat),
        round=heat.round,
        state=heat.state,
        seats=tuple(_seat_view(heat, seat, people, flown_on.get(seat.pilot_id), just_flew) for seat in seats),
        gaps=tuple(MissingView(people.names[gap.seat.pilot_id], MISSING_WORDS[gap.why]) for gap in heat.gaps),
        measures=measure([*beside, *carriers]),
        line=start_line(
            [
                (LinePlace(seat.pad, seat.label if len(seat.label) <= _LONGEST_LABEL else str(seat.mhz)), carrier)
                for seat, carrier in zip(seats, carriers, strict=True)
            ],
            people.pads,
        ),
        repeats=heat_name(repeated) if repeated else "",
    )


def _seat_view(
    heat: Heat, seat: Seat, people: HeatPeople, before: Seat | None, just_flew: frozenset[int]
) -> SeatView:
    kit = people.kits[heat.heat_id, seat.pilot_id]
    changed = before is not None and before.mhz != seat.mhz
    return SeatView(
        seat.pilot_id,
        people.names[seat.pilot_id],
        seat.label,
        seat.mhz,
        seat.pad,
        people.token_labels.get(kit.token_id, ""),
        kit.width_mhz,
        before=before.label if before is not None and changed else "",
        flew_just_before=seat.pilot_id in just_flew,
    )
