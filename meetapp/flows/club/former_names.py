"""What a pilot is called whose name was deleted."""

from meetapp.store import tables as t


def former_name(pilot_id: int) -> str:
    """The words that stand for a deleted name: numbered, so that two former pilots stay two."""
    return f"former pilot {pilot_id}"


def is_former(pilot: t.Pilot) -> bool:
    """Whether this pilot's name was deleted."""
    return pilot.retired_at is not None and pilot.name == former_name(pilot.id)
