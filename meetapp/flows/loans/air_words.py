"""How a loan on air reads for pilots and on the board: the channel in large type, minutes out, whose turn."""

from meetapp.flows.snapshot import OnAir, Snapshot


def large_label(snapshot: Snapshot, label: str, mhz: int) -> str:
    """The channel's name in the largest type.

    That is the name on the pilot's own transmitter; one that is tuned in MHz has none, so there it is the plans' name,
    or the bare number where no plan has the frequency.
    """
    return snapshot.name_of(mhz).removesuffix(" MHz") if label.endswith(" MHz") else label


def minutes_out(snapshot: Snapshot, loan: OnAir) -> int:
    """Whole minutes since the token went out."""
    return max(0, int((snapshot.now - loan.out_at).total_seconds() // 60))


def turns_with(snapshot: Snapshot, loan: OnAir) -> str:
    """The board name of the one who uses this token by turns with its holder; '' for nobody."""
    pair = snapshot.sharing.get(loan.token_id, ()) if loan.token_id is not None else ()
    other = next((snapshot.people.get(pilot_id) for pilot_id in pair if pilot_id != loan.pilot_id), None)
    return other.board_name if other else ""
