"""Which token to hand to whom, and why.

Among the tokens that are in and that the pilot can make, those that keep the floors come first: the one that leaves
the largest group of the other waiting pilots servable together with it, then the pilot's wake channel, then the best
clearance (counted up to the useful 35 MHz), then spacing, then the lower frequency. Then those that are held back for
a pilot who has waited too long at the head of the line, then those that would break a floor, with what they break.
What counts is always the frequency really set and the width of the pilot's own transmitter.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import inf

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, USEFUL_CLEARANCE_MHZ
from meetapp.spectrum.floors import Floors, Shortfall, keeps_floors, shortfalls
from meetapp.spectrum.groups import GroupSearch, Place
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.tuning import Setting

DEFAULT_NODE_BUDGET = 20_000


@dataclass(frozen=True, slots=True)
class Waiting:
    """A pilot who wants a token: what their transmitter would be set to for each token that it can serve.

    `settings` holds only tokens within the pull, the goggles and the pilot's band profile (`setting_for`), and may
    hold tokens that are out. `wake_mhz` None: nobody knows what the transmitter comes up on.
    """

    pilot_id: int
    settings: Mapping[int, Setting] = field(hash=False)
    width_mhz: float = REFERENCE_WIDTH_MHZ
    wake_mhz: int | None = None

    def carrier_for(self, token_id: int) -> Carrier:
        """What this pilot would put on air with that token."""
        return Carrier(self.settings[token_id].mhz, self.width_mhz)


@dataclass(frozen=True, slots=True)
class TokenIn:
    """A token that hangs on the board, with its nominal frequency."""

    token_id: int
    nominal_mhz: int


@dataclass(frozen=True, slots=True)
class Offer:
    """One token for one pilot: what to set, what it would break, what it would leave for the others, and why.

    `served_after` counts the other waiting pilots who can still be served together with it (at least that many where
    `served_exact` is False); `measures_after` are those of the set then on air.
    """

    token_id: int
    setting: Setting
    shortfalls: tuple[Shortfall, ...]
    measures_after: Measures
    served_after: int
    served_exact: bool
    is_wake: bool
    is_held_back: bool
    reason: str


def offers(
    pilot: Waiting,
    others: Sequence[Waiting],
    tokens_in: Sequence[TokenIn],
    on_air: Sequence[Carrier],
    floors: Floors,
    neighbours: Sequence[Neighbour] = (),
    held_back: Collection[int] = (),
    node_budget: int = DEFAULT_NODE_BUDGET,
    not_ready: Sequence[Waiting] = (),
) -> tuple[Offer, ...]:
    """The tokens for this pilot in the order to offer them; empty where the pilot's transmitter can make none.

    others: the rest of the line in line order. `held_back`: tokens that wait for the head of the line. `not_ready`:
    those of the line who are passed once; nothing is kept for them, but no reason says that they can't.
    Units: MHz. Ties end with the lower nominal frequency, then the token's id. Cost: one exact search for each token
    offered; they share `node_budget` evenly, and an answer cut short says so (`served_exact`).

    >>> r1, r8 = TokenIn(1, 5658), TokenIn(8, 5917)
    >>> both = {1: Setting("R1", 5658), 8: Setting("R8", 5917)}
    >>> line = [Waiting(2, {1: Setting("R1", 5658)})]
    >>> found = offers(Waiting(1, both), line, [r1, r8], [], Floors(37, 10))
    >>> [(offer.setting.label, offer.served_after, offer.reason) for offer in found]
    [('R8', 1, 'nobody else in the line can make R8'), ('R1', 0, 'leaves nothing for anybody else in the line')]
    """
    rest = [other for other in others if other.pilot_id != pilot.pilot_id]
    own = [token for token in tokens_in if token.token_id in pilot.settings]
    places = _places(rest, tokens_in, pilot)
    search = GroupSearch(places, on_air, floors, neighbours)
    place_of = {(place.token_id, place.carrier): number for number, place in enumerate(places)}
    found = []
    for token in own:
        carrier = pilot.carrier_for(token.token_id)
        group = search.largest(node_budget // len(own), given=place_of[token.token_id, carrier])
        broken = shortfalls(on_air, carrier, floors, neighbours)
        offer = Offer(
            token_id=token.token_id,
            setting=pilot.settings[token.token_id],
            shortfalls=broken,
            measures_after=measure([*on_air, carrier]),
            served_after=len(group.seats),
            served_exact=group.is_exact,
            is_wake=pilot.wake_mhz == carrier.mhz,
            is_held_back=token.token_id in held_back,
            reason="",
        )
        found.append((_offer_order(offer, token), offer))
    found.sort(key=lambda each: each[0])
    return tuple(_with_reason(offer, rest, not_ready, bool(on_air)) for _, offer in found)


def largest_group(
    waiting: Sequence[Waiting],
    tokens_in: Sequence[TokenIn],
    on_air: Sequence[Carrier],
    floors: Floors,
    neighbours: Sequence[Neighbour] = (),
    node_budget: int = DEFAULT_NODE_BUDGET,
) -> tuple[tuple[tuple[int, int], ...], bool]:
    """The largest group of waiting pilots who can be served at once, and whether it is exactly that.

    The group is pairs of (pilot, token) in line order. Everybody in it keeps the floors with everybody else in it, with
    what is on air and with the neighbours. Ties: the first group found, with its earlier pilots served first.
    Cost: exponential in the tokens, stopped by the node budget; then the second answer is False and the group the
    largest found so far.

    >>> line = [Waiting(1, {1: Setting("F4", 5800), 2: Setting("F5", 5820)}), Waiting(2, {1: Setting("F4", 5800)})]
    >>> tokens = [TokenIn(1, 5800), TokenIn(2, 5820)]
    >>> largest_group(line, tokens, [], Floors(20, 10)), largest_group(line, tokens, [], Floors(37, 10))
    ((((1, 2), (2, 1)), True), (((1, 1),), True))
    """
    places = _places(waiting, tokens_in)
    group = GroupSearch(places, on_air, floors, neighbours).largest(node_budget)
    seats = tuple((waiting[number].pilot_id, places[place].token_id) for number, place in group.seats)
    return seats, group.is_exact


def held_back(
    head: Waiting,
    tokens_in: Sequence[TokenIn],
    on_air: Sequence[Carrier],
    floors: Floors,
    neighbours: Sequence[Neighbour] = (),
    asking: Waiting | None = None,
) -> frozenset[int]:
    """The tokens that must wait for a pilot who has stood too long at the head of the line.

    That is the token the head would get soonest (if it is in), and each token that keeps the floors now but would
    break one together with it. Soonest: the fewest carriers on air have to come down first; ties go to the carriers
    named first in `on_air` (so give them by the time they went out), then to the head's wake channel, then to the
    lower frequency. `head.settings` may name tokens that are out. `asking`: the pilot who would take another token
    instead; without one, the others count at their nominal frequency and the reference width.
    Cost: exponential in the carriers that have to come down, at most 2^n for n on air.

    >>> head = Waiting(1, {4: Setting("R4", 5769)})
    >>> tokens = [TokenIn(4, 5769), TokenIn(5, 5790), TokenIn(8, 5917)]
    >>> sorted(held_back(head, tokens, [Carrier(5740)], Floors(37, None)))
    [4, 5]
    """
    soonest = _soonest(head, on_air, floors, neighbours)
    if soonest is None:
        return frozenset()
    token_id, still_on_air = soonest
    with_head = [*still_on_air, head.carrier_for(token_id)]
    return frozenset(
        token.token_id
        for token in tokens_in
        if token.token_id == token_id or _is_in_the_way(_taken_by(asking, token), on_air, with_head, floors)
    )


def _places(line: Sequence[Waiting], tokens_in: Sequence[TokenIn], pilot: Waiting | None = None) -> list[Place]:
    """Each token with each carrier that somebody makes of it, by ascending frequency (good for the search's bound)."""
    takers: dict[tuple[int, Carrier], int] = {}
    for token in tokens_in:
        if pilot is not None and token.token_id in pilot.settings:
            takers.setdefault((token.token_id, pilot.carrier_for(token.token_id)), 0)
        for number, waiting in enumerate(line):
            if token.token_id in waiting.settings:
                key = token.token_id, waiting.carrier_for(token.token_id)
                takers[key] = takers.get(key, 0) | 1 << number
    in_order = sorted(takers.items(), key=lambda item: (item[0][1], item[0][0]))
    return [Place(token_id, carrier, mask) for (token_id, carrier), mask in in_order]


def _offer_order(offer: Offer, token: TokenIn) -> tuple[float, ...]:
    clearance, spacing = offer.measures_after.clearance_mhz, offer.measures_after.spacing_mhz
    return (
        bool(offer.shortfalls),
        offer.is_held_back,
        -offer.served_after,
        not offer.is_wake,
        -inf if clearance is None else -min(clearance, USEFUL_CLEARANCE_MHZ),
        -inf if spacing is None else -spacing,
        token.nominal_mhz,
        token.token_id,
    )


def _with_reason(
    offer: Offer, rest: Sequence[Waiting], not_ready: Sequence[Waiting], is_anybody_on_air: bool
) -> Offer:
    if offer.shortfalls:
        more = len(offer.shortfalls) - 1
        reason = offer.shortfalls[0].sentence + (f"; and {more} more" if more else "")
    elif offer.is_held_back:
        reason = "held back for the head of the line"
    else:
        reason = _reason_to_take(offer, rest, not_ready, is_anybody_on_air)
    return replace(offer, reason=reason)


def _reason_to_take(
    offer: Offer, rest: Sequence[Waiting], not_ready: Sequence[Waiting], is_anybody_on_air: bool
) -> str:
    is_only_one = bool(rest) and all(offer.token_id not in other.settings for other in rest)
    whom = "who is ready" if any(offer.token_id in other.settings for other in not_ready) else "in the line"
    only_one = [f"nobody else {whom} can make {offer.setting.label}"] if is_only_one else []
    if offer.is_wake:
        return "; ".join(["already set to it", *only_one])
    if only_one:
        return only_one[0]
    return _served_text(offer, len(rest)) if rest else _distance_text(offer.measures_after, is_anybody_on_air)


def _served_text(offer: Offer, others: int) -> str:
    at_least = "" if offer.served_exact else "at least "
    if offer.served_after == 0:
        return (
            "leaves nothing for anybody else in the line" if offer.served_exact else "too many cases to count the line"
        )
    whom = "the other one" if others == 1 else f"{at_least}{offer.served_after} of the {others} others"
    return f"leaves tokens for {whom} in the line"


def _distance_text(after: Measures, is_anybody_on_air: bool) -> str:
    if not is_anybody_on_air:
        return "nobody is on air"
    if after.clearance_mhz is None:
        return f"{after.spacing_mhz:g} MHz from the one on air"
    return f"keeps {after.clearance_mhz:g} MHz of clearance with those on air"


def _soonest(
    head: Waiting, on_air: Sequence[Carrier], floors: Floors, neighbours: Sequence[Neighbour]
) -> tuple[int, list[Carrier]] | None:
    """The head's token that needs the fewest carriers to come down, and the carriers that are then still on air."""
    by_liking = sorted(head.settings.items(), key=lambda item: (item[1].mhz != head.wake_mhz, item[1].mhz, item[0]))
    possible = [
        token_id for token_id, _ in by_liking if keeps_floors([], head.carrier_for(token_id), floors, neighbours)
    ]
    for coming_down in range(len(on_air) + 1) if possible else ():
        for down in combinations(range(len(on_air)), coming_down):
            still_on_air = [carrier for place, carrier in enumerate(on_air) if place not in down]
            for token_id in possible:
                if keeps_floors(still_on_air, head.carrier_for(token_id), floors):
                    return token_id, still_on_air
    return None


def _taken_by(asking: Waiting | None, token: TokenIn) -> Carrier:
    if asking is not None and token.token_id in asking.settings:
        return asking.carrier_for(token.token_id)
    return Carrier(token.nominal_mhz)


def _is_in_the_way(carrier: Carrier, on_air: Sequence[Carrier], with_head: Sequence[Carrier], floors: Floors) -> bool:
    return keeps_floors(on_air, carrier, floors) and not keeps_floors(with_head, carrier, floors)
