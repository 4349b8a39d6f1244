"""Which token to hand to whom: against going through every way to serve a small line."""

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.data.catalog import kind_templates, published_plans
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.handout import Offer, TokenIn, Waiting, held_back, largest_group, offers
from meetapp.spectrum.products import Measures
from meetapp.spectrum.tuning import Setting, parse_tuning, setting_for

PLANS = published_plans()
FLOORS = Floors(37, 10)


def _is_clear(fixed: Sequence[Carrier], added: Sequence[Carrier], floors: Floors, network: Sequence[Neighbour]) -> bool:
    """No pair and no product in which an added carrier takes part is below a floor, straight from the definition."""
    everything = [*fixed, *added]
    new = range(len(fixed), len(everything))

    def excess(place: int) -> float:
        return everything[place].width_mhz - 20

    def distances() -> Iterator[tuple[tuple[int, ...], float, float]]:
        for a, b in combinations(range(len(everything)), 2):
            apart = abs(everything[a].mhz - everything[b].mhz)
            yield (a, b), apart - (excess(a) + excess(b)) / 2, floors.spacing_mhz
        if floors.clearance_mhz is not None:
            for a, b, v in permutations(range(len(everything)), 3):
                apart = abs(2 * everything[a].mhz - everything[b].mhz - everything[v].mhz)
                yield (a, b, v), apart - (2 * excess(a) + excess(b) + excess(v)) / 2, floors.clearance_mhz
            for four in permutations(range(len(everything)), 4):
                a, b, c, v = (everything[place].mhz for place in four)
                yield four, abs(a + b - c - v) - sum(map(excess, four)) / 2, floors.clearance_mhz

    edges = all(
        abs(each.mhz - other.centre_mhz) >= (each.width_mhz + other.width_mhz) / 2
        for each in added
        for other in network
    )
    return edges and all(have >= floor for places, have, floor in distances() if set(places) & set(new))


def _every_way(line: Sequence[Waiting], tokens: Sequence[int]) -> Iterator[dict[int, int]]:
    choices = [[None, *(token for token in tokens if token in pilot.settings)] for pilot in line]
    for chosen in product(*choices):
        taken = [token for token in chosen if token is not None]
        if len(taken) == len(set(taken)):
            yield {number: token for number, token in enumerate(chosen) if token is not None}


def _most_served(
    line: Sequence[Waiting],
    tokens: Sequence[int],
    fixed: Sequence[Carrier],
    floors: Floors,
    network: Sequence[Neighbour],
) -> int:
    return max(
        len(way)
        for way in _every_way(line, tokens)
        if _is_clear(fixed, [line[number].carrier_for(token) for number, token in way.items()], floors, network)
    )


class Field:
    """A small field: tokens in, a line, carriers on air, floors and perhaps a neighbour."""

    def __init__(self, draw: st.DrawFn) -> None:
        # Half of the fields stand on a grid, where products fall on carriers far more often than elsewhere.
        step = draw(st.sampled_from([1, 20]))
        somewhere = st.integers(0, 250 // step).map(lambda steps: 5650 + step * steps)
        nominal = draw(st.lists(somewhere, min_size=1, max_size=5, unique=True))
        self.tokens = [TokenIn(number, mhz) for number, mhz in enumerate(nominal)]
        self.on_air = draw(st.lists(st.builds(Carrier, somewhere), max_size=3))
        self.floors = Floors(draw(st.integers(0, 60)), draw(st.one_of(st.none(), st.integers(0, 20))))
        self.neighbours = draw(
            st.lists(st.builds(Neighbour, st.just("camera"), st.integers(5650, 5900), st.just(20)), max_size=1)
        )
        self.line = [self._pilot(draw, number) for number in range(draw(st.integers(1, 5)))]

    def _pilot(self, draw: st.DrawFn, number: int) -> Waiting:
        pulls = draw(
            st.lists(st.sampled_from([None, -2, 0, 0, 1]), min_size=len(self.tokens), max_size=len(self.tokens))
        )
        settings = {
            token.token_id: Setting(f"{token.nominal_mhz + pull} MHz", token.nominal_mhz + pull)
            for token, pull in zip(self.tokens, pulls, strict=True)
            if pull is not None
        }
        wake = draw(st.one_of(st.none(), st.sampled_from([token.nominal_mhz for token in self.tokens])))
        return Waiting(number, settings, draw(st.sampled_from([20, 20, 40])), wake)

    @property
    def token_ids(self) -> list[int]:
        return [token.token_id for token in self.tokens]


fields = st.composite(Field)()


@given(fields)
def test_the_largest_group_is_the_largest_of_all_ways(field: Field) -> None:
    group, exact = largest_group(field.line, field.tokens, field.on_air, field.floors, field.neighbours)
    assert exact
    added = [field.line[pilot].carrier_for(token) for pilot, token in group]
    assert _is_clear(field.on_air, added, field.floors, field.neighbours)
    assert len({token for _, token in group}) == len({pilot for pilot, _ in group}) == len(group)
    assert [pilot for pilot, _ in group] == sorted(pilot for pilot, _ in group)
    assert len(group) == _most_served(field.line, field.token_ids, field.on_air, field.floors, field.neighbours)


crowded = st.builds(Carrier, st.integers(0, 20).map(lambda steps: 5700 + 10 * steps), st.sampled_from([20, 20, 10, 40]))


@given(st.lists(crowded, min_size=2, max_size=6), st.lists(crowded, max_size=3), st.integers(-20, 30))
def test_products_of_every_width_are_seen_where_spacing_is_no_matter(
    made: list[Carrier], on_air: list[Carrier], clearance: int
) -> None:
    # A pilot for each token, and floors that leave everything to the products.
    floors = Floors(-100, clearance)
    tokens = [TokenIn(number, carrier.mhz) for number, carrier in enumerate(made)]
    line = [
        Waiting(number, {number: Setting(f"{carrier.mhz} MHz", carrier.mhz)}, carrier.width_mhz)
        for number, carrier in enumerate(made)
    ]
    group, exact = largest_group(line, tokens, on_air, floors)
    assert exact
    assert _is_clear(on_air, [made[token] for _, token in group], floors, ())
    assert len(group) == max(
        size
        for size in range(len(made) + 1)
        for some in combinations(made, size)
        if _is_clear(on_air, some, floors, ())
    )


@given(fields)
def test_each_offer_counts_what_it_leaves_for_the_others(field: Field) -> None:
    pilot, others = field.line[0], field.line[1:]
    found = offers(pilot, others, field.tokens, field.on_air, field.floors, field.neighbours)
    assert {offer.token_id for offer in found} == set(pilot.settings)
    for offer in found:
        carrier = pilot.carrier_for(offer.token_id)
        assert (offer.shortfalls == ()) == _is_clear(field.on_air, [carrier], field.floors, field.neighbours)
        left = [token for token in field.token_ids if token != offer.token_id]
        most = _most_served(others, left, [*field.on_air, carrier], field.floors, field.neighbours)
        assert (offer.served_after, offer.served_exact) == (most, True)
        assert offer.is_wake == (pilot.wake_mhz == offer.setting.mhz)
        assert offer.reason


def _in_words_of_the_rule(offer: Offer) -> tuple[object, ...]:
    clearance = offer.measures_after.clearance_mhz
    spacing = offer.measures_after.spacing_mhz
    return (
        bool(offer.shortfalls),
        -offer.served_after,
        not offer.is_wake,
        0 if clearance is None else -min(clearance, 35),
        0 if spacing is None else -spacing,
    )


@given(fields)
def test_offers_stand_in_the_order_of_the_rule(field: Field) -> None:
    found = offers(field.line[0], field.line[1:], field.tokens, field.on_air, field.floors, field.neighbours)
    keys = [_in_words_of_the_rule(offer) for offer in found]
    assert keys == sorted(keys)  # type: ignore[type-var]


@given(fields)
def test_a_budget_only_ever_hides_something(field: Field) -> None:
    sizes = []
    for budget in (0, 1, 2, 5, 20_000):
        group, exact = largest_group(field.line, field.tokens, field.on_air, field.floors, (), budget)
        sizes.append(len(group))
        if exact:
            assert len(group) == _most_served(field.line, field.token_ids, field.on_air, field.floors, ())
    assert sizes == sorted(sizes)


def _fewest_down(head: Waiting, may_go: list[Carrier], stays: list[Carrier], floors: Floors) -> float:
    for count in range(len(may_go) + 1):
        for down in combinations(range(len(may_go)), count):
            left = [carrier for place, carrier in enumerate(may_go) if place not in down]
            if any(_is_clear(left + stays, [head.carrier_for(token)], floors, ()) for token in head.settings):
                return count
    return float("inf")


@given(fields)
def test_a_token_that_is_not_held_back_never_makes_the_head_wait_for_more(field: Field) -> None:
    head, asking = field.line[0], field.line[-1]
    held = held_back(head, field.tokens, field.on_air, field.floors, (), asking)
    waits_for = _fewest_down(head, field.on_air, [], field.floors)
    for token in field.tokens:
        if asking is not head and token.token_id in asking.settings and token.token_id not in held:
            carrier = asking.carrier_for(token.token_id)
            others_head = Waiting(
                head.pilot_id, {t: s for t, s in head.settings.items() if t != token.token_id}, head.width_mhz
            )
            if _is_clear(field.on_air, [carrier], field.floors, ()):
                assert _fewest_down(others_head, field.on_air, [carrier], field.floors) == waits_for


def _waiting(
    pilot_id: int, text: str, tokens: Sequence[TokenIn], wake: int | None = None, width: float = 20
) -> Waiting:
    transmitter = parse_tuning(text, PLANS)
    settings = {
        token.token_id: setting
        for token in tokens
        if (setting := setting_for(token.nominal_mhz, 2, transmitter, None, PLANS)) is not None
    }
    return Waiting(pilot_id, settings, width, wake)


# The best six of A B E F R at 37 MHz, computed by exact search: spacing 40, clearance 10.
SIX = [TokenIn(mhz, mhz) for mhz in (5645, 5695, 5765, 5805, 5865, 5945)]


def test_a_token_that_nobody_else_can_make_goes_first_and_says_so() -> None:
    tokens = [token for token in SIX if token.nominal_mhz in (5695, 5805, 5865)]
    line = [_waiting(2, "A", tokens), _waiting(3, "A", tokens)]
    first = offers(_waiting(1, "A R", tokens, wake=5865), line, tokens, [], FLOORS)[0]
    assert (first.setting.label, first.reason) == ("R2", "nobody else in the line can make R2")
    assert first.served_after == 2


def test_the_others_come_before_the_wake_channel() -> None:
    tokens = [TokenIn(1, 5805), TokenIn(2, 5865)]
    flexible = _waiting(1, "A", tokens, wake=5805)
    line = [_waiting(2, "5805", tokens)]
    first, second = offers(flexible, line, tokens, [], FLOORS)
    assert (first.setting.label, first.served_after, first.is_wake) == ("A1", 1, False)
    assert (second.setting.label, second.served_after, second.is_wake) == ("A4", 0, True)


def test_the_wake_channel_comes_first_where_the_others_lose_nothing() -> None:
    first = offers(_waiting(1, "A E F R", SIX, wake=5805), [], SIX, [], FLOORS)[0]
    assert (first.setting.label, first.reason) == ("A4", "already set to it")


def test_clearance_beyond_the_useful_lets_the_spacing_decide() -> None:
    tokens = [TokenIn(1, 5765), TokenIn(2, 5843)]
    found = offers(_waiting(1, "A R", tokens), [], tokens, [Carrier(5645), Carrier(5725)], FLOORS)
    measures = [(offer.token_id, offer.measures_after) for offer in found]
    assert measures == [(2, Measures(80, 38, None)), (1, Measures(40, 40, None))]


def test_a_wake_channel_that_nobody_else_can_make_says_both() -> None:
    first = offers(_waiting(1, "R", SIX, wake=5695), [_waiting(2, "A", SIX)], SIX, [], FLOORS)[0]
    assert first.reason == "already set to it; nobody else in the line can make R2"


def test_a_wake_channel_off_the_token_is_no_wake_channel() -> None:
    # R5 is 5806 MHz, within the pull of A4's token, but another frequency.
    offer = offers(_waiting(1, "A4", SIX, wake=5806), [], SIX, [], FLOORS)[0]
    assert not offer.is_wake


@pytest.mark.parametrize(
    ("others", "on_air", "reason"),
    [
        ([], [], "nobody is on air"),
        ([], [5865], "60 MHz from the one on air"),
        ([], [5865, 5945], "keeps 20 MHz of clearance with those on air"),
        (["A"], [], "leaves tokens for the other one in the line"),
        (["A4"], [], "leaves nothing for anybody else in the line"),
        (["A4", "A", "A"], [], "leaves tokens for 1 of the 3 others in the line"),
    ],
    ids=["alone", "one on air", "two on air", "one other served", "one other left out", "some served"],
)
def test_the_reason_says_what_speaks_for_the_token(others: list[str], on_air: list[int], reason: str) -> None:
    tokens = [token for token in SIX if token.nominal_mhz in (5765, 5805)]
    line = [_waiting(number, text, tokens) for number, text in enumerate(others, start=2)]
    (offer,) = offers(_waiting(1, "A4", tokens), line, tokens, [Carrier(mhz) for mhz in on_air], FLOORS)
    assert offer.reason == reason


def test_a_token_below_a_floor_comes_last_with_what_it_breaks() -> None:
    tokens = [TokenIn(1, 5780), TokenIn(2, 5860)]
    found = offers(_waiting(1, "F", tokens, wake=5780), [], tokens, [Carrier(5760)], FLOORS)
    assert [offer.token_id for offer in found] == [2, 1]
    assert found[1].reason == "20 MHz from 5760 on air, the floor is 37"
    assert [each.kind for each in found[1].shortfalls] == ["spacing"]


def test_several_broken_floors_are_counted_in_the_reason() -> None:
    tokens = [TokenIn(1, 5780)]
    (offer,) = offers(_waiting(1, "F", tokens), [], tokens, [Carrier(5760), Carrier(5800)], FLOORS)
    assert offer.reason == f"20 MHz from 5760 on air, the floor is 37; and {len(offer.shortfalls) - 1} more"


def test_tokens_held_back_stand_behind_those_that_are_free_but_before_those_below_a_floor() -> None:
    tokens = [TokenIn(1, 5780), TokenIn(2, 5820), TokenIn(3, 5860)]
    found = offers(_waiting(1, "F", tokens), [], tokens, [Carrier(5760)], FLOORS, held_back={2})
    assert [offer.token_id for offer in found] == [3, 2, 1]
    assert [offer.is_held_back for offer in found] == [False, True, False]
    assert found[1].reason == "held back for the head of the line"


def test_a_neighbour_keeps_a_token_below_the_floor() -> None:
    tokens = [TokenIn(1, 5780), TokenIn(2, 5860)]
    network = [Neighbour("Wi-Fi 155", 5775, 80)]
    found = offers(_waiting(1, "F", tokens), [], tokens, [], FLOORS, network)
    assert [(offer.token_id, bool(offer.shortfalls)) for offer in found] == [(2, False), (1, True)]


def test_what_a_transmitter_really_makes_decides_not_the_nominal_frequency() -> None:
    tokens = [TokenIn(1, 5732)]
    floors = Floors(37, None)
    made_exactly = offers(_waiting(1, "R", tokens), [], tokens, [Carrier(5769)], floors)
    made_1_mhz_up = offers(_waiting(1, "B", tokens), [], tokens, [Carrier(5769)], floors)
    assert (made_exactly[0].setting, made_exactly[0].shortfalls) == (Setting("R3", 5732), ())
    assert made_1_mhz_up[0].setting == Setting("B1", 5733)
    assert made_1_mhz_up[0].shortfalls[0].have_mhz == 36


def test_a_pilot_whose_transmitter_can_make_nothing_is_offered_nothing() -> None:
    assert offers(_waiting(1, "L", SIX), [_waiting(2, "A", SIX)], SIX, [], FLOORS) == ()


def test_a_pilot_is_not_counted_among_the_others() -> None:
    pilot = _waiting(1, "A", SIX)
    assert offers(pilot, [pilot], SIX, [], FLOORS) == offers(pilot, [], SIX, [], FLOORS)


def test_the_whole_six_can_be_handed_out_together() -> None:
    line = [_waiting(number, "A B E F R", SIX) for number in range(8)]
    group, exact = largest_group(line, SIX, [], FLOORS)
    assert exact
    assert [pilot for pilot, _ in group] == list(range(6))


def test_a_group_prefers_those_who_stand_earlier_in_the_line() -> None:
    tokens = [TokenIn(1, 5805)]
    line = [_waiting(7, "R1", tokens), _waiting(9, "A", tokens), _waiting(4, "A", tokens)]
    assert largest_group(line, tokens, [], FLOORS) == (((9, 1),), True)


def test_floors_that_couple_three_tokens_are_more_than_a_matching() -> None:
    # 2 x 5800 - 5740 = 5860: any two of these three live together, all three don't.
    tokens = [TokenIn(mhz, mhz) for mhz in (5740, 5800, 5860)]
    line = [_waiting(number, "F", tokens) for number in range(3)]
    assert len(largest_group(line, tokens, [], Floors(37, 10))[0]) == 2
    assert len(largest_group(line, tokens, [], Floors(37, None))[0]) == 3


def test_floors_that_couple_four_tokens_are_seen_too() -> None:
    # 5658 + 5917 = 5695 + 5880: any three of these four live together, all four don't.
    tokens = [TokenIn(mhz, mhz) for mhz in (5658, 5695, 5880, 5917)]
    line = [_waiting(number, "R", tokens) for number in range(4)]
    assert len(largest_group(line, tokens, [], Floors(37, 10))[0]) == 3
    assert len(largest_group(line, tokens, [], Floors(37, None))[0]) == 4


def test_a_wide_transmitter_takes_the_room_of_two() -> None:
    tokens = [TokenIn(mhz, mhz) for mhz in (5740, 5780, 5820)]
    analogue = [_waiting(number, "F", tokens) for number in range(3)]
    assert len(largest_group(analogue, tokens, [], Floors(37, None))[0]) == 3
    with_wide = [_waiting(0, "5780", tokens, width=40), *analogue[1:]]
    assert len(largest_group(with_wide, tokens, [], Floors(37, None))[0]) == 2


def test_the_head_keeps_a_token_that_is_in_and_what_it_could_not_stand_beside() -> None:
    tokens = [TokenIn(4, 5769), TokenIn(5, 5790), TokenIn(8, 5917)]
    head = _waiting(1, "R4", tokens)
    assert held_back(head, tokens, [], Floors(37, None)) == {4, 5}
    assert held_back(head, tokens, [], Floors(20, None)) == {4}


def test_the_head_keeps_what_would_block_a_token_that_is_still_out() -> None:
    tokens_in = [TokenIn(5, 5790), TokenIn(8, 5917)]
    head = Waiting(1, {4: Setting("R4", 5769)})
    assert held_back(head, tokens_in, [Carrier(5769)], Floors(37, None)) == frozenset()  # 5790 is blocked anyway
    assert held_back(head, tokens_in, [Carrier(5750)], Floors(37, None)) == {5}


def test_the_head_waits_for_the_token_that_the_fewest_have_to_make_way_for() -> None:
    tokens_in = [TokenIn(1, 5732), TokenIn(2, 5860)]
    head = Waiting(1, {1: Setting("R3", 5732), 3: Setting("F7", 5860)})
    # R3 is blocked by both on air, F7's token is out and only its own holder has to come down.
    on_air = [Carrier(5720), Carrier(5750), Carrier(5860)]
    assert held_back(head, tokens_in, on_air, Floors(37, None)) == frozenset()
    assert held_back(head, tokens_in, on_air[:2], Floors(37, None)) == {2}


def test_nothing_is_held_back_for_a_head_who_can_never_be_served_here() -> None:
    network = [Neighbour("camera", 5769, 40)]
    head = _waiting(1, "R4", [TokenIn(4, 5769)])
    assert held_back(head, [TokenIn(4, 5769)], [], FLOORS, network) == frozenset()
    assert held_back(Waiting(1, {}), SIX, [], FLOORS) == frozenset()


def test_a_wide_transmitter_is_held_back_where_an_analogue_one_is_not() -> None:
    tokens = [TokenIn(4, 5769), TokenIn(5, 5810)]
    head = _waiting(1, "R4", tokens)
    wide = Waiting(2, {5: Setting("5810 MHz", 5810)}, width_mhz=40)
    assert held_back(head, tokens, [], Floors(37, None)) == {4}
    assert held_back(head, tokens, [], Floors(37, None), asking=wide) == {4, 5}


def test_a_full_field_day_is_answered_exactly_within_the_budget() -> None:
    kinds = [(parse_tuning(kind.tuning, PLANS), kind.width_mhz) for kind in kind_templates()]
    nominal = (5658, 5685, 5705, 5732, 5752, 5769, 5790, 5806, 5828, 5843, 5880, 5917)
    tokens = [TokenIn(mhz, mhz) for mhz in nominal]
    line = []
    for number in range(30):
        transmitter, width = kinds[number % len(kinds)]
        found = {mhz: setting_for(mhz, 2, transmitter, None, PLANS) for mhz in nominal}
        line.append(Waiting(number, {mhz: each for mhz, each in found.items() if each is not None}, width))
    answered = offers(line[0], line[1:], tokens, [], FLOORS)
    assert len(answered) == 12
    assert all(offer.served_exact for offer in answered)
