"""Estimated levels for a set of channels and a layout of the field: shown beside a set, never a reason to reorder any.

The sums run on values read beforehand: no transaction is open meanwhile.
"""

from dataclasses import dataclass

from sqlmodel import Session

from meetapp.flows.errors import Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.planning.level_words import (
    GROUND_RULES,
    PITS_CHANNELS,
    Figure,
    figures_assumed,
    made_by,
    metres,
    nearest_sentences,
    pits_sentence,
    power_sentences,
)
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.readings import refusing
from meetapp.spectrum.channels import ChannelPlan, check_mhz, labels_at
from meetapp.spectrum.levels.assumptions import Assumptions
from meetapp.spectrum.levels.layout import (
    MOST_CHANNELS,
    Layout,
    PilotLevels,
    PitsCase,
    PowersCompared,
    checked_set,
    compare_powers,
    nearest_others,
    pits_cases,
)
from meetapp.spectrum.levels.receiver import Disturbance
from meetapp.store import field_queries as queries
from meetapp.store.engine import Store

LOW_MW, HIGH_MW = 25, 200
"""The powers that the form starts with: the two that clubs argue about."""


@dataclass(frozen=True, slots=True)
class LevelQuestion:
    """The set (MHz), the layout, the usual power and the louder one (mW), and what is assumed."""

    mhz: tuple[int, ...]
    layout: Layout
    low_mw: float
    high_mw: float
    assumed: Assumptions


@dataclass(frozen=True, slots=True)
class LevelsPage:
    """What the form starts with. `mhz`: the meet's set, empty where it has none (or too many for this estimate)."""

    meet_id: int
    meet_name: str
    mhz: tuple[int, ...]
    most_channels: int
    layout: Layout
    low_mw: float
    high_mw: float
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Margin:
    """A margin in dB, and whether it is below the protection ratio."""

    db: float
    is_below: bool


@dataclass(frozen=True, slots=True)
class LevelsRow:
    """One pilot, by channel (`label` empty where no plan has it). Levels in dBm with the usual power.

    The words say what the strongest carrier, receiver product and transmitter product are, with their level in the
    channel; '' where there is none. `beside_loud` None: there is nobody else.
    """

    label: str
    mhz: int
    wanted_dbm: float
    carrier: str
    receiver_product: str
    transmitter_product: str
    low: Margin
    high: Margin
    beside_loud: Margin | None


@dataclass(frozen=True, slots=True)
class PitsRow:
    """A quad powered in the pits: on which channel, how far it must be and its margin where the pits are, per power."""

    channel: str
    low_needed: str
    low: Margin
    high_needed: str
    high: Margin


@dataclass(frozen=True, slots=True)
class LevelsAnswer:
    """The estimate. `noise_dbm`: the receiver's own. `ground_rules`: (what, how, source)."""

    question: LevelQuestion
    rows: tuple[LevelsRow, ...]
    noise_dbm: float
    power: tuple[str, ...]
    nearest: tuple[str, ...]
    pits: str
    pits_rows: tuple[PitsRow, ...]
    figures: tuple[Figure, ...]
    ground_rules: tuple[tuple[str, str, str], ...]


def levels_page(store: Store, meet_id: int) -> LevelsPage:
    """Read what the form starts with."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        mhz = _set_of(session, meet_id)
    return LevelsPage(
        meet.id,
        meet.name,
        mhz if len(mhz) <= MOST_CHANNELS else (),
        MOST_CHANNELS,
        Layout(),
        LOW_MW,
        HIGH_MW,
        figures_assumed(Assumptions()),
    )


def _set_of(session: Session, meet_id: int) -> tuple[int, ...]:
    return tuple(sorted({token.nominal_mhz for token in queries.meet_tokens(session, meet_id)}))


def estimate(store: Store, meet_id: int, question: LevelQuestion) -> LevelsAnswer:
    """Every pilot's levels and margins, and the answers in sentences.

    Raises:
        Refused: a set or powers that no estimate can be made for, naming the field.
    """
    with store.read() as session:
        find_meet(session, meet_id)
        plans = plans_of(session)
    with refusing("mhz"):
        for each in question.mhz:
            check_mhz("mhz", each)
        every = checked_set(question.mhz)
    if question.high_mw <= question.low_mw:
        raise Refused("The louder power must be more than the usual one.", field="high_mw")
    return _answer(question, every, plans)


def _answer(question: LevelQuestion, every: tuple[int, ...], plans: tuple[ChannelPlan, ...]) -> LevelsAnswer:
    layout, assumed, low_mw, high_mw = question.layout, question.assumed, question.low_mw, question.high_mw
    compared = compare_powers(every, low_mw, high_mw, layout, assumed)
    pits_low = pits_cases(every, low_mw, low_mw, layout, assumed)
    pits_high = pits_cases(every, low_mw, high_mw, layout, assumed)
    nearest = [(mw, nearest_others(every, mw, layout, assumed)) for mw in (low_mw, high_mw)]
    return LevelsAnswer(
        question=question,
        rows=tuple(_row(each, plans, assumed) for each in compared),
        noise_dbm=compared[0].low.noise.level_dbm,
        power=tuple(power_sentences(compared, low_mw, high_mw, assumed.protection_db)),
        nearest=tuple(nearest_sentences(nearest)),
        pits=pits_sentence(pits_low, pits_high, low_mw, high_mw),
        pits_rows=tuple(_pits_row(low, high, assumed) for low, high in zip(pits_low, pits_high, strict=True)),
        figures=figures_assumed(assumed),
        ground_rules=GROUND_RULES,
    )


def _row(compared: PowersCompared, plans: tuple[ChannelPlan, ...], assumed: Assumptions) -> LevelsRow:
    low, beside = compared.low, compared.beside_loud
    return LevelsRow(
        label=next(iter(labels_at(low.mhz, plans)), ""),
        mhz=low.mhz,
        wanted_dbm=low.wanted_dbm,
        carrier=_heard(low.carrier),
        receiver_product=_heard(low.receiver_product),
        transmitter_product=_heard(low.transmitter_product),
        low=_margin_of(low, assumed),
        high=_margin_of(compared.high, assumed),
        beside_loud=None if beside is None else _margin_of(beside, assumed),
    )


def _heard(disturbance: Disturbance | None) -> str:
    if disturbance is None:
        return ""
    return f"{disturbance.level_dbm:.0f} dBm: {made_by(disturbance.kind, disturbance.sources)}"


def _margin_of(levels: PilotLevels, assumed: Assumptions) -> Margin:
    return _margin(levels.margin_db, assumed)


def _margin(db: float, assumed: Assumptions) -> Margin:
    return Margin(db, db < assumed.protection_db)


def _pits_row(low: PitsCase, high: PitsCase, assumed: Assumptions) -> PitsRow:
    return PitsRow(
        PITS_CHANNELS[low.channel],
        metres(low.needed.distance_m),
        _margin(low.margin_db, assumed),
        metres(high.needed.distance_m),
        _margin(high.margin_db, assumed),
    )
