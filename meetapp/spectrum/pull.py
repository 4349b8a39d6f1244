"""The worst case of a chosen set: what transmitters really make instead of the nominal frequencies.

Each measure is a smallest distance over pairs, triples or fours of tokens, and each token's carrier is chosen by
itself; so the worst over all choices is the smallest over the choices within each pair, triple and four. Nothing is
sampled and nothing is left out. The worst spacing and the worst clearance may come from different choices.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations

from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem, exact_mhz
from meetapp.spectrum.products import Measures

_Sums = dict[int, float]
"""Sums of two frequencies, each with the largest sum of the two widths that it occurs with."""


def worst_case(options: Sequence[Sequence[Carrier]]) -> Measures:
    """The measures that are reached whatever the expected transmitters make of each token.

    options: one entry per token, the carriers that the expected transmitters really make there (what `setting_for`
    says for each of them). A token that nobody can make is never on air and counts for nothing.
    Units: MHz, widths taken off. Exact. Cost: O(n^4 s^2) for n tokens and s different sums of two options.

    >>> worst_case([[Carrier(5658)], [Carrier(5732), Carrier(5733)], [Carrier(5806), Carrier(5805)]])
    Measures(spacing_mhz=72, two_signal_clearance_mhz=0, three_signal_clearance_mhz=None)
    """
    tokens = [tuple(dict.fromkeys(made)) for made in options if made]
    places = range(len(tokens))
    doubled = [_sums((carrier, carrier) for carrier in made) for made in tokens]
    added = {(i, j): _sums((a, b) for a in tokens[i] for b in tokens[j]) for i, j in combinations(places, 2)}
    two_signal = [_nearest(doubled[twice], added[pair]) for pair in added for twice in places if twice not in pair]
    three_signal = [
        _nearest(added[pair], added[other]) for pair, other in combinations(added, 2) if not set(pair) & set(other)
    ]
    spacing = [spacing_between(a, b) for one, other in combinations(tokens, 2) for a in one for b in other]
    return Measures(min(spacing, default=None), min(two_signal, default=None), min(three_signal, default=None))


def pulled(mhz_list: Sequence[int], pull_mhz: int, width_mhz: float = REFERENCE_WIDTH_MHZ) -> Measures:
    """The worst case where nothing is known of the transmitters: each carrier anywhere within the pull.

    Units: MHz. A pull of q takes up to 2q from the spacing and up to 4q from a clearance (a product of three
    carriers moves by 3q, its victim by q). Raises: BadProblem for a pull below 0.

    >>> pulled([5658, 5695, 5760, 5800], 2)
    Measures(spacing_mhz=33, two_signal_clearance_mhz=17, three_signal_clearance_mhz=0)
    """
    if pull_mhz < 0:
        raise BadProblem("pull_mhz", "The pull is a distance: give 0 MHz or more.")
    reach = range(-pull_mhz, pull_mhz + 1)
    return worst_case([[Carrier(mhz + by, width_mhz) for by in reach] for mhz in mhz_list])


def _sums(pairs: Iterable[tuple[Carrier, Carrier]]) -> _Sums:
    widest: _Sums = {}
    for a, b in pairs:
        total = a.mhz + b.mhz
        widest[total] = max(widest.get(total, 0), a.width_mhz + b.width_mhz)
    return widest


def _nearest(sums: _Sums, others: _Sums) -> float:
    # The distance of `products`: |a + b - c - d| less half of what the four widths are above four reference widths.
    return exact_mhz(
        min(
            abs(total - other) - (width + other_width) / 2
            for total, width in sums.items()
            for other, other_width in others.items()
        )
        + 2 * REFERENCE_WIDTH_MHZ
    )
