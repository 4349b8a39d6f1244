"""Guessing is slowed per source and in total; whoever knows the secret gets in."""

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from random import Random

import pytest
from sqlmodel import col, select

from meetapp.flows.errors import MeetError, Refused, WrongSecret
from meetapp.flows.guess_counts import GuessCounts, InDatabase, InProcess, counts_of
from meetapp.flows.guessing import Guesses, Limits, TooManyGuesses
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import Clock

LIMITS = Limits()


class Door:
    """A door with a clock that rests instead of sleeping, and a count of the times that a secret was looked at."""

    def __init__(self, clock: Clock, limits: Limits = LIMITS, counts: GuessCounts | None = None) -> None:
        self.clock = clock
        self.looked = 0
        self.rested = 0.0
        self.guesses = Guesses(limits, self.rest, counts)

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
    counts = InProcess()
    guesses = Guesses(Limits(sources_kept=10, crowd_free=10_000), counts=counts)
    for number in range(50):
        assert guesses.attempt("PIN", f"10.0.0.{number}", clock(), lambda: "in") == "in"
    assert len(counts._sources) == 10


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


FEW = Limits(sources_kept=8, crowd_free=12, crowd_step=3)


@pytest.mark.postgres
def test_several_processes_count_as_one_would(postgres_store: Store, clock: Clock) -> None:
    """The same attempts at one process, and by turns at two over PostgreSQL: the same answers and rests."""
    alone = Door(clock, FEW)
    first, second = (Door(clock, FEW, InDatabase(postgres_store)) for _ in range(2))
    chance = Random(5)
    seen = set()
    for number in range(70):
        clock.forward(seconds=chance.choice([0, 0, 1, 5, 40]))
        source, is_right = f"10.0.0.{chance.randrange(8)}", chance.random() < 0.1
        shared = first if number % 2 else second
        outcomes = [outcome(door, source, is_right) for door in (alone, shared)]
        assert outcomes[0] == outcomes[1]
        assert first.rested + second.rested == pytest.approx(alone.rested)
        seen.add(outcomes[0].split(".")[0])
    assert len(seen) == 4
    assert alone.rested > 0
    for number in range(8):
        clock.forward(minutes=20)
        outcome(first, f"10.0.9.{number}", is_right=True)
    with postgres_store.read() as session:
        kept = session.exec(select(t.GuessSource.source).order_by(col(t.GuessSource.source))).all()
    assert kept == [f"10.0.9.{number}" for number in range(8)]


def outcome(door: Door, source: str, is_right: bool) -> str:
    """What an attempt came to, in words."""

    def check() -> str:
        if not is_right:
            raise WrongSecret("No.")
        return "in"

    try:
        return door.guesses.attempt("PIN", source, door.clock(), check)
    except MeetError as refusal:
        return f"{refusal.message} {refusal.hint}"


@pytest.mark.postgres
def test_a_started_process_goes_on_counting_and_who_is_sent_away_writes_nothing(
    postgres_store: Store, clock: Clock
) -> None:
    fill(Door(clock, counts=counts_of(postgres_store)), "10.0.0.7")
    with postgres_store.read() as session:
        before = session.exec(select(t.GuessSource)).one()
    clock.forward(seconds=3)
    Door(clock, counts=counts_of(postgres_store)).refused("10.0.0.7")
    with postgres_store.read() as session:
        assert session.exec(select(t.GuessSource)).one() == before
