"""Whether a live page has anything new to show, found without working the page out."""

from datetime import datetime

from meetapp.store import field_queries as queries
from meetapp.store.engine import Store


def live_version(store: Store, now: datetime) -> str:
    """Changes with each journal line of the open meet, with the meet, and each minute (pages show minutes)."""
    with store.read() as session:
        meet = queries.open_meet(session)
        newest = f"{meet.id}.{queries.last_journal_id(session, meet.id)}" if meet else "none"
    return f"{newest}.{int(now.timestamp()) // 60}"
