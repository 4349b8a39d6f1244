"""Who waits for which token: the line as the sums see it, and what is held back for its head."""

from dataclasses import dataclass
from datetime import timedelta

from meetapp.flows.kits import Kit
from meetapp.flows.snapshot import Person, Snapshot, TokenNow
from meetapp.rules.waiting_line import Stand, overdue_head, waited
from meetapp.spectrum.handout import TokenIn, Waiting, held_back
from meetapp.spectrum.tuning import setting_for


@dataclass(frozen=True, slots=True)
class HeldBack:
    """The tokens that wait for the head of the line, and how long that pilot has waited already."""

    head: Person
    waited_min: int
    token_ids: frozenset[int]

    @property
    def words(self) -> str:
        """Why such a token isn't for others now."""
        return f"held back for {self.head.board_name}, who has waited {self.waited_min} min"


def waited_min(snapshot: Snapshot, stand: Stand) -> int:
    """How many whole minutes somebody has stood in the line, the pauses taken out."""
    return int(waited(stand.joined_at, snapshot.now, snapshot.pauses).total_seconds() // 60)


def power_problem(snapshot: Snapshot, kit: Kit) -> str:
    """Why this transmitter is too strong for the meet even on its lowest step; '' where it isn't."""
    ceiling, lowest = snapshot.power_ceiling_mw, min(kit.power_steps_mw, default=None)
    if ceiling is None or lowest is None or lowest <= ceiling:
        return ""
    return f"{kit.name} can't go below {lowest:g} mW, and the ceiling of this meet is {ceiling:g} mW"


def why_no_setting(snapshot: Snapshot, person: Person, kit: Kit, nominal_mhz: int) -> str:
    """Why this pilot can't set anything for a token, in words; '' where they can."""
    if snapshot.setting(person, nominal_mhz, kit) is not None:
        return ""
    if setting_for(nominal_mhz, snapshot.pull_mhz, kit.tuning, None, snapshot.plans) is None:
        return f"{kit.name} can't make it"
    if setting_for(nominal_mhz, snapshot.pull_mhz, kit.tuning, kit.goggles, snapshot.plans) is None:
        return f"the goggles of {kit.name} can't receive it"
    return f"outside the band profile '{person.band_name}'"


def why_cannot_use(snapshot: Snapshot, person: Person, nominal_mhz: int) -> str:
    """Why a pilot can't use a token with today's transmitter, whatever is on air, in words; '' where they can."""
    if person.kit is None:
        return f"nobody has said yet which transmitter {person.board_name} flies today"
    return power_problem(snapshot, person.kit) or why_no_setting(snapshot, person, person.kit, nominal_mhz)


def how_many_wait(snapshot: Snapshot, token: TokenNow) -> int:
    """How many of the line could use this token (whatever else is on air)."""
    line = (snapshot.people[stand.pilot_id] for stand in snapshot.line)
    return sum(not why_cannot_use(snapshot, person, token.nominal_mhz) for person in line)


def as_waiting(snapshot: Snapshot, person: Person) -> Waiting | None:
    """A pilot with what today's transmitter would be set to for each token; None where it can't go on air at all."""
    kit = person.kit
    if kit is None or not person.is_present or power_problem(snapshot, kit):
        return None
    settings = {
        token.token_id: setting
        for token in snapshot.tokens
        if token.state in ("in", "out") and (setting := snapshot.setting(person, token.nominal_mhz)) is not None
    }
    return Waiting(person.pilot_id, settings, kit.width_mhz, kit.wake_mhz)


def tokens_in(snapshot: Snapshot) -> list[TokenIn]:
    """The tokens that hang on the board."""
    return [TokenIn(token.token_id, token.nominal_mhz) for token in snapshot.tokens if token.state == "in"]


def held_from(snapshot: Snapshot, asking: Person | None, freed_loan_id: int | None = None) -> HeldBack | None:
    """What this pilot must leave for the head of the line, who has stood there too long; None: nothing.

    `freed_loan_id`: a loan whose token is about to be handed over, so it counts as hanging on the board.
    """
    limit = timedelta(minutes=snapshot.head_limit_min)
    stand = overdue_head(snapshot.line, snapshot.now, snapshot.pauses, limit)
    if stand is None or (asking is not None and asking.pilot_id == stand.pilot_id):
        return None
    head = snapshot.people[stand.pilot_id]
    waiting = as_waiting(snapshot, head)
    if waiting is None or not waiting.settings:
        return None
    freed = snapshot.loan(freed_loan_id) if freed_loan_id is not None else None
    on_board = tokens_in(snapshot)
    if freed is not None and (token := snapshot.token(freed.token_id or 0)) is not None:
        on_board.append(TokenIn(token.token_id, token.nominal_mhz))
    held = held_back(
        waiting,
        on_board,
        [loan.carrier for loan in snapshot.on_air if loan is not freed],
        snapshot.floors,
        snapshot.neighbours,
        as_waiting(snapshot, asking) if asking is not None else None,
    )
    return HeldBack(head, waited_min(snapshot, stand), held) if held else None
