"""What stands on the tags: label, MHz, the same channel and near ones in the club's plans, code, cautions."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.frame import safety_lines_of
from meetapp.flows.kits import plans_of
from meetapp.flows.planning.chosen_set import ClubToken, club_token
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.spectrum.channels import DEFAULT_PULL_MHZ, Channel, ChannelPlan, in_order_of_preference
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

TAGS_MAX = 200
"""More tags at once than any club hangs up: a slip."""


@dataclass(frozen=True, slots=True)
class NearChannel:
    """A channel of a plan beside a token's frequency: `off_mhz` above it, or below where negative."""

    label: str
    off_mhz: int


@dataclass(frozen=True, slots=True)
class TagToPrint:
    """One tag. `same`: the channels of the plans that are exactly its frequency; `near`: those within the pull."""

    code: str
    label: str
    mhz: int
    same: tuple[Channel, ...]
    near: tuple[NearChannel, ...]

    @property
    def also_called(self) -> tuple[str, ...]:
        """The other labels of the same frequency."""
        return tuple(channel.label for channel in self.same if channel.label != self.label)


@dataclass(frozen=True, slots=True)
class TagsToPrint:
    """The tags of one print. `near_mhz`: how far a channel may be off and still stand on the tag as a near one."""

    club_name: str
    safety_words: tuple[str, ...]
    near_mhz: int
    tags: tuple[TagToPrint, ...]


@dataclass(frozen=True, slots=True)
class PrintPage:
    """What a print page offers. `meet_id` None: the club's page, with every token that isn't withdrawn."""

    meet_id: int | None
    meet_name: str
    tokens: tuple[ClubToken, ...]


def print_page(store: Store, meet_id: int | None, token_ids: Collection[int] | None) -> PrintPage:
    """The tokens to choose from. `token_ids`: those that are ticked; None: all of them."""
    with store.read() as session:
        meet = find_meet(session, meet_id) if meet_id is not None else None
        rows = _usable(session, meet)
        running = queries.open_meet(session)
        out = {loan.token_id for loan, _setting in queries.open_loans(session, running.id)} if running else set()
        return PrintPage(
            meet.id if meet else None,
            meet.name if meet else "",
            tuple(club_token(row, row.id in out, token_ids is None or row.id in token_ids) for row in rows),
        )


def _usable(session: Session, meet: t.Meet | None) -> Sequence[t.Token]:
    """The tokens that aren't withdrawn, of a meet or of the club."""
    if meet is not None:
        return [token for token in queries.meet_tokens(session, meet.id) if token.state != "withdrawn"]
    kept = select(t.Token).where(t.Token.state != "withdrawn")
    return session.exec(kept.order_by(col(t.Token.nominal_mhz), col(t.Token.id))).all()


def tags_to_print(store: Store, token_ids: Collection[int], meet_id: int | None = None) -> TagsToPrint:
    """What stands on these tokens' tags, by frequency. The near channels are those within the meet's pull.

    Raises:
        Refused: no token, too many, or a withdrawn one.
        NotFound: one of them, or the meet, isn't there.
    """
    if not token_ids:
        raise Refused("No token is ticked.", "Tick the tokens that you want to print.", field="token")
    if len(set(token_ids)) > TAGS_MAX:
        raise Refused(f"Tags for {len(set(token_ids))} tokens are too many at once: {TAGS_MAX} at most.", field="token")
    with store.read() as session:
        near_mhz = find_meet(session, meet_id).pull_mhz if meet_id is not None else DEFAULT_PULL_MHZ
        plans = plans_of(session)
        club = session.get_one(t.Club, 1)
        tokens = sorted(
            (_printable(session, token_id) for token_id in set(token_ids)),
            key=lambda token: (token.nominal_mhz, token.id),
        )
        tags = tuple(tag_of(token, plans, near_mhz) for token in tokens)
        return TagsToPrint(club.name, safety_lines_of(club), near_mhz, tags)


def _printable(session: Session, token_id: int) -> t.Token:
    token = session.get(t.Token, token_id)
    if token is None:
        raise NotFound("One of these tokens isn't in the club's list.", "Load the page again.")
    if token.state == "withdrawn":
        raise Refused(
            f"{token.label}, code {token.code}, is withdrawn, so its tag isn't printed.",
            "Put it back in use, or make a new token.",
            field="token",
        )
    return token


def tag_of(token: t.Token, plans: Sequence[ChannelPlan], near_mhz: int) -> TagToPrint:
    """What stands on a token's tag, with the channels that are at most `near_mhz` off."""
    same, near = beside(token.nominal_mhz, plans, near_mhz)
    return TagToPrint(token.code, token.label, token.nominal_mhz, same, near)


def beside(
    mhz: int, plans: Sequence[ChannelPlan], near_mhz: int
) -> tuple[tuple[Channel, ...], tuple[NearChannel, ...]]:
    """The channels of the plans that are exactly a frequency, and those at most `near_mhz` off, the nearest first."""
    channels = [channel for plan in in_order_of_preference(plans) for channel in plan.channels]
    same = tuple(channel for channel in channels if channel.mhz == mhz)
    near = (NearChannel(channel.label, channel.mhz - mhz) for channel in channels if channel.mhz != mhz)
    within = (channel for channel in near if abs(channel.off_mhz) <= near_mhz)
    return same, tuple(sorted(within, key=lambda channel: abs(channel.off_mhz)))
