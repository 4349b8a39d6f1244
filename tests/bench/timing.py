"""How long an answer takes: medians of several runs, and ratios that say where something was cut off."""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter, process_time
from typing import Generic, TypeVar

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Timed(Generic[Answer]):
    """An answer, and the medians of the seconds on the wall and of the processor."""

    answer: Answer
    seconds: float
    processor_seconds: float


def timed(answer: Callable[[], Answer], runs: int = 1) -> Timed[Answer]:
    """Run it several times; every run has to give the same answer."""
    walls, processors, answers = [], [], []
    for _ in range(runs):
        wall, processor = perf_counter(), process_time()
        answers.append(answer())
        walls.append(perf_counter() - wall)
        processors.append(process_time() - processor)
    assert all(each == answers[0] for each in answers), answers
    return Timed(answers[0], median(walls), median(processors))


def beside(other: Timed[Answer] | None, own: Timed[Answer], is_cut_off: bool = False) -> str:
    """Another way's seconds and how many times ours they are; `is_cut_off`: it was stopped, so it takes longer."""
    if other is None:
        return f"{'-':>9} {'-':>8}"
    more = ">" if is_cut_off else ""
    return f"{more + format(other.seconds, '.2f') + ' s':>9} {more + format(other.seconds / own.seconds, '.0f'):>8}"
