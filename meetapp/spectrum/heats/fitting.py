"""Which pilots of a heat can go on air beside what is up already: as many as keep the floors."""

from collections.abc import Sequence

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors, keeps_floors


def most_that_fit(
    on_air: Sequence[Carrier], wanted: Sequence[Carrier], floors: Floors, neighbours: Sequence[Neighbour] = ()
) -> tuple[int, ...]:
    """The places (from 0, ascending) of the most carriers that can be added to those on air without a shortfall.

    Exact: each carrier is tried in and out, and a branch is left only where all that is left to try couldn't beat the
    best found. A set that breaks a floor still does with more in it, so nothing is lost by stopping there. Units: MHz,
    widths taken off. Ties: the places that come first. Cost: 2^n at worst for n wanted; n steps where all fit.

    >>> up, heat = [Carrier(5700)], [Carrier(5658), Carrier(5695), Carrier(5769)]
    >>> most_that_fit(up, heat, Floors(37, None))
    (0, 2)
    """
    best: tuple[int, ...] = ()

    def extend(place: int, added: tuple[int, ...], up: tuple[Carrier, ...]) -> None:
        nonlocal best
        if len(added) > len(best):
            best = added
        if place == len(wanted) or len(added) + len(wanted) - place <= len(best):
            return
        if keeps_floors(up, wanted[place], floors, neighbours):
            extend(place + 1, (*added, place), (*up, wanted[place]))
        extend(place + 1, added, up)

    extend(0, (), tuple(on_air))
    return best
