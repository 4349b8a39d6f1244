"""Kinds of transmitters of simulated meets."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kit:
    """A kind of transmitter. `tuning`: words for `parse_tuning`; the width is in MHz."""

    tuning: str
    width_mhz: float = 20.0
    is_digital: bool = False
    moves_by_itself: bool = False
    sets_silently: bool = False
