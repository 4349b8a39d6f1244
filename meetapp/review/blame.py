"""Whether the channel set is to blame, in one sentence: what the reports of a meet come to, by whom could mend it."""

from meetapp.review.causes import CauseKind
from meetapp.review.explaining import MeetExplained

_OF_THE_SET: tuple[CauseKind, ...] = ("too_close", "product", "neighbour")
_OF_OTHERS: tuple[CauseKind, ...] = ("wrong_channel", "no_token")
_MOST, _SOME = 0.5, 0.2
"""From this share of the reports on, these words. Where one begins is a choice of ours."""


def set_to_blame(explained: MeetExplained) -> str:
    """What an organiser would answer to 'was it the channel set?'; empty where nobody reported anything."""
    if not explained.reports:
        return ""
    expected = explained.expected
    of_set = sum(expected.get(kind, 0.0) for kind in _OF_THE_SET)
    others = sum(expected.get(kind, 0.0) for kind in _OF_OTHERS)
    count = len(explained.reports)
    reports = "the one report" if count == 1 else f"the {count} reports"
    parts = (
        f"the set and who flew on it together (two loans too near, a product, a foreign signal): {_so_many(of_set)}",
        f"a transmitter that was not where its token said, or had none: {_so_many(others)}",
        f"the pilot's own goggles, antenna, range or battery: {_so_many(expected.get('own_receiver', 0.0))}",
        f"nothing that the journal shows: {_so_many(expected.get('unknown', 0.0))}",
    )
    return f"{_answer(of_set / count)} By these odds {reports} may come from {'; '.join(parts)}."


def _answer(share: float) -> str:
    """The first words.

    >>> _answer(0.7), _answer(0.3), _answer(0.1)
    ('Possibly for the most part.', 'Possibly in part.', 'Hardly, as far as the journal shows.')
    """
    if share >= _MOST:
        return "Possibly for the most part."
    return "Possibly in part." if share >= _SOME else "Hardly, as far as the journal shows."


def _so_many(expected: float) -> str:
    """An expected number of reports.

    >>> _so_many(0.3), _so_many(0.7), _so_many(3.6)
    ('0.3', '0.7', 'about 4')
    """
    return f"{expected:.1f}" if expected < 0.95 else f"about {expected:.0f}"
