"""The pool: the frequencies that a set may be chosen from."""

from collections.abc import Iterable, Sequence

from meetapp.spectrum.bands import Segment, lies_within
from meetapp.spectrum.carriers import Carrier, Neighbour, check_width, neighbour_gap
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem, ChannelPlan


def plans_of(letters: Iterable[str], plans: Sequence[ChannelPlan]) -> tuple[ChannelPlan, ...]:
    """The channel plans with these letters, in the order of `plans`, each once.

    Raises: BadProblem (field "plans") that names the letters there are.

    >>> from meetapp.data.catalog import published_plans
    >>> [plan.letter for plan in plans_of("RA", published_plans())]
    ['A', 'R']
    """
    wanted = set(letters)
    known = {plan.letter for plan in plans}
    for letter in sorted(wanted - known):
        there_are = ", ".join(plan.letter for plan in plans)
        raise BadProblem("plans", f"There is no channel plan '{letter}'; there are {there_are}.")
    return tuple(plan for plan in plans if plan.letter in wanted)


def pool_mhz(
    plans: Sequence[ChannelPlan],
    letters: Iterable[str],
    extra_mhz: Iterable[int] = (),
    segments: Sequence[Segment] = (),
    width_mhz: float = REFERENCE_WIDTH_MHZ,
    neighbours: Sequence[Neighbour] = (),
) -> tuple[int, ...]:
    """Every frequency of the plans with these letters, and every extra one, that has room: ascending, each once.

    Units: MHz. The whole occupied width must lie in one of the segments (no segments: no band rule is applied) and
    must not overlap a neighbour: at least half of both widths lies between the centres.
    Raises: BadProblem (field "plans") for a letter that no plan has, (field "width_mhz") for a width that can't be.

    >>> from meetapp.data.catalog import published_plans
    >>> from meetapp.spectrum.bands import parse_segments
    >>> pool_mhz(published_plans(), "R", [5740, 5843], parse_segments("5725-5875"))
    (5740, 5769, 5806, 5843)
    >>> pool_mhz(published_plans(), "R", neighbours=[Neighbour("Wi-Fi 155", 5775, 80)])
    (5658, 5695, 5843, 5880, 5917)
    """
    check_width(width_mhz)
    every = {channel.mhz for plan in plans_of(letters, plans) for channel in plan.channels}.union(extra_mhz)
    return tuple(
        mhz
        for mhz in sorted(every)
        if (not segments or lies_within(mhz, width_mhz, segments))
        and all(neighbour_gap(Carrier(mhz, width_mhz), neighbour) >= 0 for neighbour in neighbours)
    )
