"""The tokens of a meet: a set accepted, its missing tokens made, its floors; or tokens ticked by hand."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.club.token_codes import new_code
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.planning.meet_rows import find_meet, floors_of, lock_unclosed, told_floors, zone_of
from meetapp.flows.planning.planned_set import SetFigures, checked_reason, figures, read_plan, usual_floors
from meetapp.flows.readings import refusing
from meetapp.spectrum.channels import ChannelPlan, check_mhz, labels_at
from meetapp.spectrum.floors import Floors
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class AcceptedSet:
    """A set that the organiser accepts, with its floors; `clearance_floor_mhz` None: no floor for the clearance.

    `pull_mhz`: the pull that it counts with, which becomes the meet's; None: the meet's stays.
    """

    meet_id: int
    mhz: tuple[int, ...]
    spacing_asked_mhz: int
    spacing_floor_mhz: float
    clearance_floor_mhz: float | None
    lower_floors_reason: str = ""
    pull_mhz: int | None = None


@dataclass(frozen=True, slots=True)
class ClubToken:
    """A token of the club that may belong to the meet. `state`: 'in', 'out', 'missing' or 'withdrawn'."""

    token_id: int
    code: str
    label: str
    nominal_mhz: int
    state: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class TokensPage:
    """The club's tokens for one meet, by frequency; `found`: what the chosen ones reach (None: none is chosen)."""

    meet_id: int
    meet_name: str
    state: str
    tokens: tuple[ClubToken, ...]
    floors: Floors | None
    found: SetFigures | None


def accept_set(store: Store, deed: Deed, accepted: AcceptedSet) -> Answer:
    """Make a set the meet's: its usable tokens are taken, the missing ones made, the floors set.

    At an open meet a token that is out stays in the set.
    """
    mhz = tuple(sorted(set(accepted.mhz)))
    if not mhz:
        raise Refused("This set is empty.", "Choose one with at least one frequency.")
    with refusing("mhz"):
        for each in mhz:
            check_mhz("mhz", each)
    with store.read() as session:
        meet = find_meet(session, accepted.meet_id)
        plan = read_plan(session, meet, deed.now)
        if accepted.pull_mhz is not None:
            plan = replace(plan, snapshot=replace(plan.snapshot, pull_mhz=accepted.pull_mhz))
        usual = usual_floors(plan, figures(plan, mhz), accepted.spacing_asked_mhz)
        plans = plan.snapshot.plans
    floors = Floors(accepted.spacing_floor_mhz, accepted.clearance_floor_mhz)
    reason = checked_reason(floors, usual, accepted.lower_floors_reason)

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, accepted.meet_id)
        tokens, made = _tokens_for(work, mhz, plans)
        _give_tokens(work, meet, {token.id for token in tokens})
        _set_floors(work, meet, floors, reason)
        facts = {"count": len(tokens), "mhz_list": list(mhz), "tokens_made": len(made), **told_floors(meet)}
        if accepted.pull_mhz not in (None, meet.pull_mhz):
            meet.pull_mhz = facts["pull_mhz"] = accepted.pull_mhz
        work.note("set_accepted", facts, meet_id=meet.id)
        return Answer(f"/organiser/meets/{meet.id}", _accepted_notice(tokens, made))

    return do_once(store, deed, work)


def _accepted_notice(tokens: Sequence[t.Token], made: Sequence[t.Token]) -> str:
    notice = f"The set of {len(tokens)} is the meet's now."
    if made:
        named = ", ".join(f"{token.label} (code {token.code})" for token in made)
        notice += f" New tokens to print: {named}."
    return notice


def _tokens_for(work: Work, mhz: Iterable[int], plans: Sequence[ChannelPlan]) -> tuple[list[t.Token], list[t.Token]]:
    """A usable token for each frequency, the oldest first, and those of them that had to be made."""
    tokens, made = [], []
    taken = set(work.session.exec(select(t.Token.code)))
    for each in mhz:
        usable = select(t.Token).where(t.Token.nominal_mhz == each, t.Token.state == "usable")
        token = work.session.exec(usable.order_by(col(t.Token.id)).limit(1)).first()
        if token is None:
            label = next(iter(labels_at(each, plans)), str(each))
            token = t.Token(code=new_code(taken), label=label, nominal_mhz=each, state_since=work.now)
            taken.add(token.code)
            work.session.add(token)
            work.session.flush()
            made.append(token)
        tokens.append(token)
    return tokens, made


def _give_tokens(work: Work, meet: t.Meet, token_ids: Collection[int]) -> None:
    """Make these the meet's tokens and no others, unless one that goes is out."""
    rows = work.session.exec(select(t.MeetToken).where(t.MeetToken.meet_id == meet.id)).all()
    out = {loan.token_id: loan for loan, _setting in queries.open_loans(work.session, meet.id)}
    for row in rows:
        if row.token_id in token_ids:
            continue
        if (loan := out.get(row.token_id)) is not None:
            raise _still_out(work.session, meet, row.token_id, loan)
        work.session.delete(row)
    known = {row.token_id for row in rows}
    work.session.add_all(t.MeetToken(meet_id=meet.id, token_id=each) for each in sorted(set(token_ids) - known))
    work.session.flush()


def _still_out(session: Session, meet: t.Meet, token_id: int, loan: t.Loan) -> Refused:
    pilot = session.get(t.Pilot, loan.pilot_id) if loan.pilot_id is not None else None
    who = pilot.board_name if pilot else loan.holder_name
    since = loan.out_at.astimezone(zone_of(session, meet))
    label = session.get_one(t.Token, token_id).label
    return Refused(
        f"{label} is out with {who} since {since:%H:%M}, so it can't leave the set now.",
        "Take it back at the desk first, or keep it in the set.",
    )


def _set_floors(work: Work, meet: t.Meet, floors: Floors, reason: str) -> None:
    meet.spacing_floor_mhz, meet.clearance_floor_mhz = floors.spacing_mhz, floors.clearance_mhz
    meet.lower_floors_reason = reason
    work.session.add(meet)


def tokens_page(store: Store, meet_id: int, now: datetime) -> TokensPage:
    """Read which of the club's tokens belong to the meet. Withdrawn ones are left out unless they belong."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        chosen = queries.meet_tokens(session, meet_id)
        chosen_ids = {token.id for token in chosen}
        out = {loan.token_id for loan, _setting in queries.open_loans(session, meet_id)}
        every = session.exec(select(t.Token).order_by(col(t.Token.nominal_mhz), col(t.Token.code)))
        plan = read_plan(session, meet, now)
        return TokensPage(
            meet.id,
            meet.name,
            meet.state,
            tuple(
                club_token(token, token.id in out, token.id in chosen_ids)
                for token in every
                if token.state != "withdrawn" or token.id in chosen_ids
            ),
            floors_of(meet),
            figures(plan, [token.nominal_mhz for token in chosen]) if chosen else None,
        )


def club_token(token: t.Token, is_out: bool, is_chosen: bool) -> ClubToken:
    """A token as one that may be chosen."""
    state = token.state if token.state != "usable" else ("out" if is_out else "in")
    return ClubToken(token.id, token.code, token.label, token.nominal_mhz, state, is_chosen)


def set_tokens(
    store: Store, deed: Deed, meet_id: int, token_ids: Collection[int], *, with_usual_floors: bool
) -> Answer:
    """Say by hand which tokens belong to the meet. `with_usual_floors`: the floors become what they reach."""

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        tokens = [_existing(work.session, token_id) for token_id in sorted(set(token_ids))]
        _give_tokens(work, meet, {token.id for token in tokens})
        if with_usual_floors and tokens:
            plan = read_plan(work.session, meet, work.now)
            usual = usual_floors(plan, figures(plan, [token.nominal_mhz for token in tokens]))
            _set_floors(work, meet, usual, "")
        work.note("meet_tokens_set", {"count": len(tokens), **told_floors(meet)}, meet_id=meet.id)
        return Answer(f"/organiser/meets/{meet.id}", f"{len(tokens)} tokens belong to '{meet.name}'.")

    return do_once(store, deed, work)


def _existing(session: Session, token_id: int) -> t.Token:
    token = session.get(t.Token, token_id)
    if token is None:
        raise Refused("One of these tokens isn't in the club's list.", "Load the page again.")
    return token
