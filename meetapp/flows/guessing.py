"""How often a PIN or a password may be guessed: per source and in total, without keeping the real marshal out.

A source that guesses wrong again and again waits longer each time. Where wrong ones come in from everywhere, each
attempt takes its turn, a few seconds apart: slow, never locked. Whoever is signed in, or opens the desk link, guesses
nothing and is never held up. Guided by OWASP ASVS (anti-automation); the figures are our own, without a source.

Where the counts stand is the business of `guess_counts`: in the process over a file, in the database where several
processes serve the club.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from meetapp.flows.errors import MeetError, WrongSecret
from meetapp.flows.guess_counts import Counts, Crowd, GuessCounts, InProcess

T = TypeVar("T")
NO_TIME = timedelta(0)


@dataclass(frozen=True, slots=True)
class Limits:
    """The figures. `free`: wrong ones of a source before it waits; from then on `first_wait` doubles to `longest_wait`.

    In total: more than `crowd_free` wrong ones within `crowd_window` set attempts `first_gap` apart, doubled by every
    further `crowd_step`, `longest_gap` at most; an attempt whose turn is further off than `patience` is sent away.
    """

    free: int = 5
    first_wait: timedelta = timedelta(seconds=30)
    longest_wait: timedelta = timedelta(minutes=15)
    forgotten_after: timedelta = timedelta(hours=1)
    sources_kept: int = 2000
    crowd_free: int = 20
    crowd_step: int = 10
    crowd_window: timedelta = timedelta(minutes=10)
    first_gap: timedelta = timedelta(seconds=0.5)
    longest_gap: timedelta = timedelta(seconds=4)
    patience: timedelta = timedelta(seconds=5)


class TooManyGuesses(MeetError):
    """This attempt isn't looked at; `wait` says how long to wait."""

    code = "too_many"

    def __init__(self, what: str, whence: str, wait: timedelta) -> None:
        super().__init__(
            f"Too many wrong {what}s came from {whence}. Nothing was checked this time.",
            f"Wait {in_words(wait)}, then try again. Whoever is signed in stays so, and the desk link still opens.",
            field=what.lower(),
        )
        self.wait = wait


def in_words(wait: timedelta) -> str:
    """How long to wait, rounded up.

    >>> in_words(timedelta(seconds=1)), in_words(timedelta(seconds=61))
    ('1 second', '2 minutes')
    """
    seconds = -(-wait // timedelta(seconds=1))
    number, noun = (seconds, "second") if seconds <= 60 else (-(-seconds // 60), "minute")
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


class Guesses:
    """Counts wrong PINs and passwords, in `counts`. `rest(seconds)` holds an attempt until its turn."""

    def __init__(
        self,
        limits: Limits | None = None,
        rest: Callable[[float], None] = time.sleep,
        counts: GuessCounts | None = None,
    ) -> None:
        self._limits = limits or Limits()
        self._rest = rest
        self._counts = counts or InProcess()

    def attempt(self, what: str, source: str, now: datetime, check: Callable[[], T]) -> T:
        """Ask `check`, which raises WrongSecret where the secret doesn't fit; `what` is 'PIN' or 'password'.

        Raises:
            TooManyGuesses: this source, or all together, were wrong too often; `check` wasn't asked.
        """
        with self._counts.opened(what, source, self._limits.sources_kept) as counts:
            wait = self._let_in(what, counts, now)
        if wait:
            self._rest(wait.total_seconds())
        try:
            answer = check()
        except WrongSecret:
            raise
        except BaseException:
            self._was_no_guess(what, source, now, has_fitted=False)
            raise
        self._was_no_guess(what, source, now, has_fitted=True)
        return answer

    def _let_in(self, what: str, counts: Counts, now: datetime) -> timedelta:
        # Counted as wrong before it is looked at: many at the same moment must not pass together.
        known = counts.source
        if known.last_at is not None and now - known.last_at > self._limits.forgotten_after:
            known.wrong = 0
        over = known.wrong - self._limits.free
        if over >= 0 and known.last_at is not None:
            wait = min(self._limits.first_wait * 2 ** min(over, 16), self._limits.longest_wait)
            if (left := known.last_at + wait - now) > NO_TIME:
                raise TooManyGuesses(what, "this phone or its network", left)
        rest = NO_TIME if known.has_fitted else self._turn(what, counts.crowd, now)
        known.wrong, known.last_at = known.wrong + 1, now
        counts.crowd.wrong_at.append(now)
        return rest

    def _turn(self, what: str, crowd: Crowd, now: datetime) -> timedelta:
        gap = self._gap(crowd, now)
        if not gap:
            return NO_TIME
        turn = max(now, crowd.next_turn or now)
        if turn - now > self._limits.patience:
            raise TooManyGuesses(what, "many phones at once", turn - now - self._limits.patience + gap)
        crowd.next_turn = turn + gap
        return turn - now

    def _gap(self, crowd: Crowd, now: datetime) -> timedelta:
        limits = self._limits
        crowd.wrong_at = [each for each in crowd.wrong_at if now - each <= limits.crowd_window]
        over = len(crowd.wrong_at) - limits.crowd_free
        if over <= 0:
            return NO_TIME
        doubled: int = 2 ** min(over // limits.crowd_step, 8)
        return min(limits.first_gap * doubled, limits.longest_gap)

    def _was_no_guess(self, what: str, source: str, now: datetime, *, has_fitted: bool) -> None:
        with self._counts.opened(what, source, self._limits.sources_kept) as counts:
            known = counts.source
            known.wrong = 0 if has_fitted else max(0, known.wrong - 1)
            known.has_fitted = known.has_fitted or has_fitted
            if now in counts.crowd.wrong_at:
                counts.crowd.wrong_at.remove(now)
