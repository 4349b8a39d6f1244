"""The waiting line as a value."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.rules.waiting_line import (
    Stand,
    Stretch,
    after_service,
    in_order,
    overdue_head,
    place_of,
    ready,
    waited,
    with_head,
    with_skip,
    without,
)

NOON = datetime(2026, 6, 14, 12, tzinfo=UTC)


def at(minute: float) -> datetime:
    return NOON + timedelta(minutes=minute)


def line(*pilots: int) -> tuple[Stand, ...]:
    return tuple(Stand(place, pilot, at(place)) for place, pilot in enumerate(pilots, start=1))


def pilots(stands: tuple[Stand, ...]) -> list[int]:
    return [stand.pilot_id for stand in stands]


def test_who_came_first_stands_first_and_ties_go_by_entry() -> None:
    later, first, same = Stand(1, 7, at(5)), Stand(3, 8, at(2)), Stand(2, 9, at(2))
    assert in_order([later, first, same]) == (same, first, later)


def test_the_skipped_are_asked_when_nobody_else_is_left() -> None:
    stands = with_skip(line(7, 8), 7, True)
    assert pilots(ready(stands)) == [8]
    assert pilots(ready(with_skip(stands, 8, True))) == [7, 8]


def test_the_head_keeps_its_time_and_nobody_else_has_one() -> None:
    first = with_head(line(7, 8), at(10))
    later = with_head(first, at(20))
    assert [stand.head_since for stand in later] == [at(10), None]
    passed = with_head(with_skip(later, 7, True), at(30))
    assert [stand.head_since for stand in passed] == [None, at(30)]


def test_service_ends_the_passing_of_others() -> None:
    stands = with_skip(line(7, 8, 9), 7, True)
    assert [(stand.pilot_id, stand.is_skipped) for stand in after_service(stands, 8)] == [(7, False), (9, False)]


def test_service_of_somebody_outside_changes_nothing() -> None:
    stands = with_skip(line(7, 8), 7, True)
    assert after_service(stands, 9) == stands


def test_leaving_passes_nobody() -> None:
    stands = with_skip(line(7, 8, 9), 7, True)
    assert [(stand.pilot_id, stand.is_skipped) for stand in without(stands, 8)] == [(7, True), (9, False)]


@pytest.mark.parametrize(("pilot", "place"), [(7, 1), (9, 3), (5, None)])
def test_places_count_from_one(pilot: int, place: int | None) -> None:
    assert place_of(line(7, 8, 9), pilot) == place


@pytest.mark.parametrize(
    ("pauses", "minutes"),
    [
        ([], 60),
        ([(10, 20)], 50),
        ([(10, 30), (20, 40)], 30),
        ([(-10, 5)], 55),
        ([(50, None)], 50),
        ([(70, 80)], 60),
        ([(-30, -20)], 60),
        ([(0, None)], 0),
    ],
    ids=["none", "one", "overlapping", "from before", "running", "still to come", "over before", "all the time"],
)
def test_pauses_do_not_count_as_waiting(pauses: list[tuple[int, int | None]], minutes: int) -> None:
    stretches = [Stretch(at(start), None if end is None else at(end)) for start, end in pauses]
    assert waited(NOON, at(60), stretches) == timedelta(minutes=minutes)


MINUTES = st.integers(-30, 90)


@given(st.lists(st.tuples(MINUTES, MINUTES)), st.integers(0, 60))
def test_waiting_is_counted_minute_by_minute(pairs: list[tuple[int, int]], now: int) -> None:
    pauses = [(min(pair), max(pair)) for pair in pairs]
    open_minutes = sum(not any(start <= minute < end for start, end in pauses) for minute in range(now))
    stretches = [Stretch(at(start), at(end)) for start, end in pauses]
    assert waited(NOON, at(now), stretches) == timedelta(minutes=open_minutes)


def test_a_head_is_overdue_only_past_the_limit_with_the_pauses_out() -> None:
    stands = with_head(line(7, 8), NOON)
    limit = timedelta(minutes=20)
    assert overdue_head(stands, at(20), [], limit) is None
    assert overdue_head(stands, at(21), [], limit) == stands[0]
    assert overdue_head(stands, at(21), [Stretch(at(3), at(5))], limit) is None


def test_nobody_is_overdue_without_a_head() -> None:
    assert overdue_head((), NOON, [], timedelta(0)) is None
    assert overdue_head(line(7), at(99), [], timedelta(0)) is None
