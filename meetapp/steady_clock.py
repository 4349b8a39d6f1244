"""The time that the program goes by: UTC, and never backwards."""

import logging
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from time import monotonic

_NOTICED = timedelta(seconds=5)
_log = logging.getLogger(__name__)


def utc_now() -> datetime:
    """The machine's time, aware, in UTC."""
    return datetime.now(UTC)


class SteadyClock:
    """Goes with the machine's clock, but not when that is put back: then it goes on counting from where it was.

    What was handed out at 14:00 can so be taken back at 14:10 whatever the machine believes, and the line keeps its
    order. `not_before`: the newest time that is written down already (aware, UTC), for a clock put back while the
    program was off. Safe to ask from several threads.

    >>> hands = iter([datetime(2026, 6, 14, 12, 10, tzinfo=UTC), datetime(2026, 6, 14, 10, 15, tzinfo=UTC)])
    >>> clock = SteadyClock(wall=lambda: next(hands), counter=iter([0, 600, 900]).__next__)
    >>> clock().strftime("%H:%M"), clock().strftime("%H:%M")
    ('12:10', '12:15')
    """

    def __init__(
        self,
        not_before: datetime | None = None,
        wall: Callable[[], datetime] = utc_now,
        counter: Callable[[], float] = monotonic,
    ) -> None:
        self._wall = wall
        self._counter = counter
        self._lock = threading.Lock()
        self._last = not_before or datetime.min.replace(tzinfo=UTC)
        self._counted = counter()
        self._is_ahead = False

    def __call__(self) -> datetime:
        """The time now."""
        with self._lock:
            counted, shown = self._counter(), self._wall()
            steady = self._last + timedelta(seconds=counted - self._counted)
            self._tell(steady - shown)
            self._last, self._counted = max(shown, steady), counted
            return self._last

    def _tell(self, ahead: timedelta) -> None:
        if ahead > _NOTICED and not self._is_ahead:
            _log.warning("This machine's clock was put back by %s; times go on as if it had not been.", ahead)
        self._is_ahead = ahead > _NOTICED
