"""What a transmitter wakes on, in words for the desk and for the pilot."""

from meetapp.flows.snapshot import Snapshot


def wake_words(
    snapshot: Snapshot,
    wake_mhz: int | None,
    set_mhz: int,
    width_mhz: float,
    *,
    sets_silently: bool = False,
    moves_by_itself: bool = False,
    loan_id: int | None = None,
) -> str:
    """What this transmitter comes up on, and what to do about it before it is powered.

    `wake_mhz` None: nobody knows. `loan_id`: the pilot's own loan, which doesn't count against them.
    """
    raise NotImplementedError
