"""The club's tokens: taken over as they hang on the board, or made new with a code of their own."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, func, select

from meetapp.flows.club.token_codes import new_code, read_alike
from meetapp.flows.club.token_drafts import LINES_MAX, TokenDraft, checked, read_drafts, refuse_taken
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.planning.meet_rows import home_zone
from meetapp.flows.readings import one_line, read_tuning
from meetapp.spectrum.channels import ChannelPlan, name_of
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

_ORDER = {"in": 0, "out": 0, "missing": 1, "withdrawn": 2}


@dataclass(frozen=True, slots=True)
class TokenRow:
    """A token in the list. `state`: 'in', 'out', 'missing', 'withdrawn'; `remark`: what is odd about it, or ''."""

    token_id: int
    code: str
    label: str
    nominal_mhz: int
    state: str
    since: datetime
    holder: str
    remark: str


@dataclass(frozen=True, slots=True)
class TokenView:
    """The page of one token. `fixed_why`: why its printed words can't be changed any more ('' where they can)."""

    row: TokenRow
    zone: ZoneInfo
    loan_count: int
    fixed_why: str


@dataclass(frozen=True, slots=True)
class TokensView:
    """The list of tokens. `zone`: the open meet's site, else the newest site's."""

    rows: tuple[TokenRow, ...]
    zone: ZoneInfo


def list_tokens(store: Store) -> TokensView:
    """Every token by its frequency; the missing ones, then the withdrawn ones last."""
    with store.read() as session:
        return TokensView(_rows(session), home_zone(session))


def token_view(store: Store, token_id: int) -> TokenView:
    """The page of one token."""
    with store.read() as session:
        token = _token(session, token_id)
        row = next(row for row in _rows(session) if row.token_id == token_id)
        return TokenView(row, home_zone(session), _loan_count(session, token_id), _fixed_why(session, token))


def _rows(session: Session) -> tuple[TokenRow, ...]:
    tokens = session.exec(select(t.Token)).all()
    plans = plans_of(session)
    holders = _holders(session)
    came_back = _came_back(session)
    in_use = [token.nominal_mhz for token in tokens if token.state == "usable"]
    rows = [
        TokenRow(
            token.id,
            token.code,
            token.label,
            token.nominal_mhz,
            ("out" if token.id in holders else "in") if token.state == "usable" else token.state,
            holders[token.id][1] if token.id in holders else _since(token, came_back),
            holders[token.id][0] if token.id in holders else "",
            _remark(token, in_use, plans),
        )
        for token in tokens
    ]
    return tuple(sorted(rows, key=lambda row: (_ORDER[row.state], row.nominal_mhz, row.code)))


def _holders(session: Session) -> dict[int, tuple[str, datetime]]:
    """Who has a token now, and since when, by token id."""
    meet = queries.open_meet(session)
    if meet is None:
        return {}
    return {
        loan.token_id: (
            session.get_one(t.Pilot, loan.pilot_id).board_name if loan.pilot_id else loan.holder_name,
            loan.out_at,
        )
        for loan, _setting in queries.open_loans(session, meet.id)
        if loan.token_id is not None
    }


def _came_back(session: Session) -> dict[int, datetime]:
    """When each token last came back from a loan, by token id."""
    last = select(t.Loan.token_id, func.max(t.Loan.in_at)).where(
        col(t.Loan.token_id).is_not(None), col(t.Loan.in_at).is_not(None), col(t.Loan.voided_at).is_(None)
    )
    rows = session.exec(last.group_by(col(t.Loan.token_id)))
    return {token_id: in_at for token_id, in_at in rows if token_id is not None and in_at is not None}


def _since(token: t.Token, came_back: dict[int, datetime]) -> datetime:
    """Since when a token that nobody has is what it is."""
    if token.state != "usable":
        return token.state_since
    return max(token.state_since, came_back.get(token.id, token.state_since))


def _remark(token: t.Token, in_use: list[int], plans: tuple[ChannelPlan, ...]) -> str:
    if token.state == "usable" and in_use.count(token.nominal_mhz) > 1:
        return f"There is another token for {token.nominal_mhz} MHz: only one of them can be out."
    meant = {channel.label: channel.mhz for plan in plans for channel in plan.channels}.get(token.label.upper())
    if meant is not None and meant != token.nominal_mhz:
        return f"In the club's plans {token.label} is {meant} MHz: look at the tag again."
    return ""


def _token(session: Session, token_id: int) -> t.Token:
    token = session.get(t.Token, token_id)
    if token is None:
        raise NotFound("This token isn't there.", "Go back to the list and look again.")
    return token


def _loan_count(session: Session, token_id: int) -> int:
    return session.exec(select(func.count()).select_from(t.Loan).where(t.Loan.token_id == token_id)).one()


def _fixed_why(session: Session, token: t.Token) -> str:
    if token.state == "withdrawn":
        return "It is withdrawn."
    if _loan_count(session, token.id):
        return "It has been handed out, and the journal says what stood on it then."
    in_meet = select(t.Meet.name).join(t.MeetToken, col(t.MeetToken.meet_id) == t.Meet.id)
    meets = session.exec(in_meet.where(t.MeetToken.token_id == token.id)).all()
    return f"It belongs to the meet '{meets[0]}', whose floors were worked out with it." if meets else ""


def take_over(store: Store, deed: Deed, text: str) -> Answer:
    """Tokens that the club owns already, as they are: one line each, 'code label MHz'.

    The MHz may be left out where the label is a channel of the club's plans.

    Raises:
        Refused: naming every line that is wrong; then none is taken.
    """

    def work(work: Work) -> Answer:
        plans = plans_of(work.session)
        drafts = read_drafts(text, plans, _by_code(work.session))
        rows = [_add(work, draft) for draft in drafts]
        work.note("tokens_taken_over", _facts(rows))
        return Answer("/organiser/tokens", f"{_count(rows)} on the list now, as they hang on the board.")

    return do_once(store, deed, work)


def _by_code(session: Session, but: t.Token | None = None) -> dict[str, t.Token]:
    """The club's tokens by what their codes read like."""
    return {read_alike(token.code): token for token in session.exec(select(t.Token)) if token is not but}


def _add(work: Work, draft: TokenDraft) -> t.Token:
    row = t.Token(code=draft.code, label=draft.label, nominal_mhz=draft.nominal_mhz, state_since=work.now)
    work.session.add(row)
    work.session.flush()
    return row


def _facts(rows: list[t.Token]) -> dict[str, int | str]:
    return {"count": len(rows), "name": ", ".join(f"{row.label} ({row.code})" for row in rows)}


def _count(rows: list[t.Token]) -> str:
    return "1 token is" if len(rows) == 1 else f"{len(rows)} tokens are"


def make_tokens(store: Store, deed: Deed, text: str) -> Answer:
    """New tokens for these channels or MHz, each with a code that can't be misread.

    Raises:
        Refused: a word is no channel, too many, or there is a token for one of the frequencies already.
    """

    def work(work: Work) -> Answer:
        plans = plans_of(work.session)
        labels = _labels(text, plans)
        tokens = work.session.exec(select(t.Token)).all()
        for token in tokens:
            if token.state != "withdrawn" and token.nominal_mhz in labels:
                raise Refused(
                    f"There is a token for {token.nominal_mhz} MHz already: {token.label}, code {token.code}.",
                    "Withdraw it first if it is lost for good.",
                    field="channels",
                )
        taken = {token.code for token in tokens}
        rows = []
        for mhz, label in sorted(labels.items()):
            rows.append(_add(work, TokenDraft(new_code(taken), label, mhz)))
            taken.add(rows[-1].code)
        work.note("tokens_made", _facts(rows))
        notice = f"{_count(rows)} new. Print their tags, or mark each with its label and its code."
        return Answer("/organiser/tokens", notice)

    return do_once(store, deed, work)


def _labels(text: str, plans: tuple[ChannelPlan, ...]) -> dict[int, str]:
    tuning = read_tuning(text, plans, "channels")
    wanted = tuning.all_mhz()
    if len(wanted) > LINES_MAX:
        raise Refused(f"That would be {len(wanted)} tokens: {LINES_MAX} at most.", field="channels")
    labels = {mhz: name_of(mhz, plans).removesuffix(" MHz") for mhz in wanted}
    # A channel that was named keeps its own label (F8, though 5880 MHz is R7 first).
    return labels | {channel.mhz: channel.label for channel in reversed(tuning.channels)}


def change_token(store: Store, deed: Deed, token_id: int, draft: TokenDraft) -> Answer:
    """Correct what stands on a tag, as long as nothing was done with it yet."""
    wanted = checked(draft.code, one_line(draft.label), str(draft.nominal_mhz))

    def work(work: Work) -> Answer:
        token = _token(work.session, token_id)
        if why := _fixed_why(work.session, token):
            raise Refused(f"What stands on this tag can't be changed any more. {why}", "Withdraw it and add another.")
        refuse_taken(wanted, _by_code(work.session, but=token))
        token.code, token.label, token.nominal_mhz = wanted.code, wanted.label, wanted.nominal_mhz
        work.session.add(token)
        work.note("token_corrected", {"token": token.id, "label": token.label, "mhz": token.nominal_mhz})
        return Answer(f"/organiser/tokens/{token.id}", f"{token.label} is saved.")

    return do_once(store, deed, work)
