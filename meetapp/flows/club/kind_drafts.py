"""What is typed about a kind of transmitter, and what its words mean: channels in MHz, the width by Carson's rule."""

from dataclasses import dataclass

from meetapp.data.catalog import KindTemplate
from meetapp.flows.errors import Refused
from meetapp.flows.readings import power_steps_text, refusing
from meetapp.spectrum.bandwidth import carson_mhz, rounded_up_width_mhz
from meetapp.spectrum.carriers import check_width
from meetapp.spectrum.channels import ChannelPlan
from meetapp.spectrum.tuning import Tuning
from meetapp.store import tables as t

CARSON, OWN_WIDTH = "carson", "own"


@dataclass(frozen=True, slots=True)
class KindDraft:
    """What the organiser typed about a kind. `width_from`: 'carson' (M and D count) or 'own' (width and source do).

    `setting_card`: the card that a new kind begins with, as text; a saved kind has a page of its own for it.
    """

    name: str = ""
    is_digital: bool = False
    width_from: str = CARSON
    carson_modulating_mhz: float | None = None
    carson_deviation_mhz: float | None = None
    width_mhz: float | None = None
    width_source: str = ""
    tuning: str = ""
    goggles: str = ""
    power_steps: str = ""
    antenna_gain_dbi: float | None = None
    goggles_transmit: bool = False
    moves_by_itself: bool = False
    sets_silently: bool = False
    setting_hint: str = ""
    setting_card: str = ""


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a text of channels means: lines of (what, its MHz), how many frequencies, the lowest and the highest."""

    lines: tuple[tuple[str, str], ...]
    count: int
    low_mhz: int
    high_mhz: int

    @property
    def reach(self) -> str:
        """In one line: how many, from where to where."""
        if self.count == 1:
            return f"{self.low_mhz} MHz only"
        return f"{self.count} frequencies, {self.low_mhz} to {self.high_mhz} MHz"


def draft_of(kind: t.TransmitterKind) -> KindDraft:
    """A kind as its form shows it."""
    by_carson = kind.carson_modulating_mhz is not None
    return KindDraft(
        kind.name,
        kind.is_digital,
        CARSON if by_carson else OWN_WIDTH,
        kind.carson_modulating_mhz,
        kind.carson_deviation_mhz,
        None if by_carson else kind.width_mhz,
        "" if by_carson else kind.width_source,
        kind.tuning,
        kind.goggles,
        kind.power_steps_mw,
        kind.antenna_gain_dbi,
        kind.goggles_transmit,
        kind.moves_by_itself,
        kind.sets_silently,
        kind.setting_hint,
        kind.setting_card or "",
    )


def draft_from(template: KindTemplate) -> KindDraft:
    """A template as a form shows it; the name is left to fill in."""
    return KindDraft(
        "",
        template.is_digital,
        OWN_WIDTH if template.is_digital else CARSON,
        template.carson_modulating_mhz,
        template.carson_deviation_mhz,
        template.width_mhz if template.is_digital else None,
        template.width_source if template.is_digital else "",
        template.tuning,
        template.goggles or "",
        power_steps_text(template.power_steps_mw),
        template.antenna_gain_dbi,
        template.goggles_transmit,
        template.moves_by_itself,
        template.sets_silently,
        template.setting_hint,
        template.setting_card,
    )


def carson_width(modulating_mhz: float | None, deviation_mhz: float | None) -> tuple[float, str]:
    """The width by Carson's rule in MHz, rounded up to half a MHz, and its numbers in words."""
    for field, value in (("carson_modulating_mhz", modulating_mhz), ("carson_deviation_mhz", deviation_mhz)):
        if value is None:
            raise Refused("Carson's rule needs both of its numbers.", field=field)
        with refusing(field):
            carson_mhz(value, value)
    assert modulating_mhz is not None
    assert deviation_mhz is not None
    exact = carson_mhz(modulating_mhz, deviation_mhz)
    width = rounded_up_width_mhz(exact)
    with refusing("carson_deviation_mhz"):
        check_width(width)
    rounded = "" if width == exact else f", rounded up to {width:g}"
    return width, f"Carson's rule: 2 x {modulating_mhz:g} + 2 x {deviation_mhz:g} = {exact:g} MHz{rounded}."


def meaning_of(tuning: Tuning, plans: tuple[ChannelPlan, ...]) -> Meaning:
    """What a text of channels means, plan by plan, then single frequencies, then ranges."""
    lines: list[tuple[str, str]] = []
    for plan in plans:
        own = [channel for channel in tuning.channels if channel.plan == plan.letter]
        if own:
            lines.append((f"Plan {plan.letter}", ", ".join(f"{each.label} {each.mhz}" for each in own)))
    if tuning.frequencies_mhz:
        lines.append(("Frequencies", ", ".join(str(mhz) for mhz in tuning.frequencies_mhz)))
    lines += [
        (f"{each.low_mhz} to {each.high_mhz}", f"in steps of {each.step_mhz} MHz, {len(each.all_mhz())} frequencies")
        for each in tuning.ranges
    ]
    every = tuning.all_mhz()
    return Meaning(tuple(lines), len(every), min(every), max(every))
