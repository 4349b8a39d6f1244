"""Guessing is slowed per source and in total; whoever knows the secret gets in."""

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

import pytest

from meetapp.flows.errors import Refused, WrongSecret
from meetapp.flows.guessing import Guesses, Limits, TooManyGuesses
from tests.world import Clock

LIMITS = Limits()


class Door:
    """A door with a clock that rests instead of sleeping, and a count of the times that a secret was looked at."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.looked = 0
        self.rested = 0.0
        self.guesses = Guesses(LIMITS, self.rest)

    def rest(self, seconds: float) -> None:
        self.rested += seconds

    def wrong(self, source: str, what: str = "PIN") -> None:
        def check() -> None:
            self.looked += 1
            raise WrongSecret("No.")

        with pytest.raises(WrongSecret):
            self.guesses.attempt(what, source, self.clock(), check)

    def right(self, source: str, what: str = "PIN") -> str:
        return self.guesses.attempt(what, source, self.clock(), lambda: "in")

    def refused(self, source: str, what: str = "PIN") -> TooManyGuesses:
        def check() -> None:
            raise AssertionError("looked at")

        with pytest.raises(TooManyGuesses) as refused:
            self.guesses.attempt(what, source, self.clock(), check)
        return refused.value


@pytest.fixture
def door(clock: Clock) -> Door:
    return Door(clock)


def fill(door: Door, source: str) -> None:
    for _ in range(LIMITS.free):
        door.wrong(source)


def crowd(door: Door, wrong_ones: int) -> None:
    for number in range(wrong_ones):
        door.wrong(f"10.0.{number // 250}.{number % 250}")


def test_a_source_waits_after_a_few_wrong_ones_and_longer_each_time(door: Door) -> None:
    fill(door, "10.0.0.7")
    waits = []
    for _ in range(8):
        waits.append(door.refused("10.0.0.7").wait)
        door.clock.now += waits[-1]
        door.wrong("10.0.0.7")
    assert waits[0] == LIMITS.first_wait
    assert all(later >= sooner for sooner, later in pairwise(waits))
    assert waits[1] == 2 * waits[0]
    assert waits[-1] == LIMITS.longest_wait


def test_while_one_source_waits_another_gets_in(door: Door) -> None:
    fill(door, "10.0.0.7")
    door.refused("10.0.0.7")
    assert door.right("10.0.0.8") == "in"


def test_guessing_the_pin_does_not_lock_the_password(door: Door) -> None:
    fill(door, "10.0.0.7")
    door.refused("10.0.0.7")
    assert door.right("10.0.0.7", "password") == "in"


def test_the_right_one_forgives_the_wrong_ones(door: Door) -> None:
    for _ in range(4):
        for _ in range(LIMITS.free - 1):
            door.wrong("10.0.0.7")
        assert door.right("10.0.0.7") == "in"


def test_wrong_ones_are_forgotten_after_a_while(door: Door) -> None:
    fill(door, "10.0.0.7")
    door.clock.now += LIMITS.forgotten_after + timedelta(seconds=1)
    fill(door, "10.0.0.7")
    door.refused("10.0.0.7")


def test_a_refusal_by_a_rule_is_no_guess(door: Door) -> None:
    def check() -> None:
        raise Refused("No meet is open.")

    for _ in range(3 * LIMITS.free):
        with pytest.raises(Refused):
            door.guesses.attempt("PIN", "10.0.0.7", door.clock(), check)
    assert door.right("10.0.0.7") == "in"


def test_attempts_at_the_same_moment_do_not_pass_together(door: Door) -> None:
    looked = []

    def nested(left: int) -> Callable[[], None]:
        def check() -> None:  # the next attempt begins while this one is still looked at
            looked.append(left)
            if left:
                with pytest.raises((WrongSecret, TooManyGuesses)):
                    door.guesses.attempt("PIN", "10.0.0.7", door.clock(), nested(left - 1))
            raise WrongSecret("No.")

        return check

    with pytest.raises(WrongSecret):
        door.guesses.attempt("PIN", "10.0.0.7", door.clock(), nested(3 * LIMITS.free))
    assert len(looked) == LIMITS.free


def test_many_sources_together_are_slowed_and_never_locked(door: Door) -> None:
    crowd(door, LIMITS.crowd_free)
    assert door.rested == 0
    crowd_gap = LIMITS.longest_gap
    for number in range(200):
        door.clock.now += crowd_gap
        door.wrong(f"10.1.0.{number}")
    assert door.right("10.2.0.1") == "in"
    assert door.rested <= 200 * LIMITS.patience.total_seconds()


def test_many_sources_at_the_same_moment_are_looked_at_one_by_one(door: Door) -> None:
    for number in range(LIMITS.crowd_free + 8 * LIMITS.crowd_step):
        door.clock.now += LIMITS.longest_gap
        door.wrong(f"10.0.1.{number}")
    looked, refused = door.looked, 0
    for number in range(100):
        try:
            door.wrong(f"10.3.0.{number}")
        except TooManyGuesses:
            refused += 1
    assert door.looked - looked <= LIMITS.patience // LIMITS.longest_gap + 2
    assert refused >= 90


def test_a_source_that_knew_the_secret_is_not_held_up_by_the_crowd(door: Door) -> None:
    assert door.right("10.9.0.1") == "in"
    for number in range(LIMITS.crowd_free + 8 * LIMITS.crowd_step):
        door.clock.now += LIMITS.longest_gap
        door.wrong(f"10.0.1.{number}")
    rested = door.rested
    assert door.right("10.9.0.1") == "in"
    assert door.rested == rested


def test_a_stream_of_new_sources_takes_no_more_memory(clock: Clock) -> None:
    guesses = Guesses(Limits(sources_kept=10, crowd_free=10_000))
    for number in range(50):
        assert guesses.attempt("PIN", f"10.0.0.{number}", clock(), lambda: "in") == "in"
    assert len(guesses._sources) == 10


def test_a_day_of_guessing_from_a_whole_network_tries_few_of_a_million_pins(door: Door) -> None:
    end = door.clock.now + timedelta(hours=8)
    number = 0
    while door.clock.now < end:
        door.clock.now += timedelta(seconds=1)
        number += 1
        try:
            door.wrong(f"10.0.0.{number % 250}")
        except TooManyGuesses:
            continue
    assert door.looked < 10_000  # 1 % of a million
