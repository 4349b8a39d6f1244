"""A record that was explained is not explained again: a closed meet never changes, an open one only with a tap."""

from functools import lru_cache

from meetapp.review.evidence import MeetRecord
from meetapp.review.explaining import MeetExplained, explain

MOST_KEPT = 16
"""So many are kept in this process: the page of several meets needs eight."""


@lru_cache(maxsize=MOST_KEPT)
def explained_once(record: MeetRecord) -> MeetExplained:
    """The record explained. Kept by its content, names included, so whatever changes in it is explained anew."""
    return explain(record)
