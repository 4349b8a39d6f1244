"""Who may act for whom at a meet."""

from meetapp.flows.deeds import Actor
from meetapp.flows.errors import Forbidden
from meetapp.flows.snapshot import Snapshot


def check_desk(actor: Actor) -> None:
    """Raise Forbidden unless this person keeps the desk."""
    if not actor.keeps_desk:
        raise Forbidden("Only the desk does this.", "Ask the marshal at the desk.")


def check_may_act(actor: Actor, snapshot: Snapshot, pilot_id: int | None) -> None:
    """Raise Forbidden unless this person may handle this pilot's token.

    The desk may always; a pilot only for themself, and only where the meet runs by self-service.
    """
    if actor.keeps_desk:
        return
    check_is_self(actor, pilot_id)
    if not snapshot.is_self_service:
        raise Forbidden("At this meet the desk hands out the tokens.", "Go to the desk.")


def check_is_self(actor: Actor, pilot_id: int | None) -> None:
    """Raise Forbidden unless this person keeps the desk or is this pilot."""
    if actor.keeps_desk:
        return
    if actor.role != "pilot" or actor.pilot_id is None or actor.pilot_id != pilot_id:
        raise Forbidden("You can do this for yourself only.", "Ask the desk to do it for somebody else.")


def check_may_take_over(actor: Actor, snapshot: Snapshot, pilot_id: int, *, is_offered: bool) -> None:
    """Raise Forbidden unless this person may take a token over from another pilot.

    The desk may always; a pilot only for themself, by self-service, and only what was offered to them.
    """
    check_may_act(actor, snapshot, pilot_id)
    if not actor.keeps_desk and not is_offered:
        raise Forbidden("This token wasn't offered to you.", "Whoever holds it passes it on from their own page.")
