"""Channel plans: the published ones as they were read, and those that the organiser adds."""

import re
from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import one_line, refusing
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan
from meetapp.spectrum.tuning import parse_tuning
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

CHANNELS_MAX = 16
NUMBER_MAX = 99
_LETTER = re.compile(r"[A-Z]{1,2}")
_LINE = re.compile(r"(\d{1,6})[\s:=,;.)]+(\d{1,6})(?:\s*MHZ)?")


@dataclass(frozen=True, slots=True)
class PlanView:
    """One channel plan; `plan_id` None: a new one. `lines` is its channels as 'number MHz', one per line."""

    plan_id: int | None
    letter: str
    name: str
    source: str
    is_published: bool
    channels: tuple[tuple[str, int], ...]
    """(label, MHz) by number."""
    lines: str


@dataclass(frozen=True, slots=True)
class PlanDraft:
    """What the organiser typed about a plan."""

    letter: str
    name: str
    source: str
    lines: str


NEW_PLAN = PlanView(None, "", "", "", False, (), "")


def list_plans(store: Store) -> tuple[PlanView, ...]:
    """Every plan in the club's order."""
    with store.read() as session:
        return tuple(_view(plan, channels) for plan, channels in queries.channel_plans(session))


def plan_view(store: Store, plan_id: int) -> PlanView:
    """The page of one plan."""
    found = next((plan for plan in list_plans(store) if plan.plan_id == plan_id), None)
    if found is None:
        raise _not_there()
    return found


def _not_there() -> NotFound:
    return NotFound("This channel plan isn't there.", "Go back to the list and look again.")


def _view(plan: t.ChannelPlanRow, channels: list[t.PlanChannel]) -> PlanView:
    return PlanView(
        plan.id,
        plan.letter,
        plan.name,
        plan.source,
        plan.is_published,
        tuple((f"{plan.letter}{row.number}", row.mhz) for row in channels),
        "\n".join(f"{row.number} {row.mhz}" for row in channels),
    )


def add_plan(store: Store, deed: Deed, draft: PlanDraft) -> Answer:
    """Add a plan of the club's own."""
    plan = plan_from(draft)

    def work(work: Work) -> Answer:
        last = work.session.exec(select(t.ChannelPlanRow.position).order_by(col(t.ChannelPlanRow.position).desc()))
        row = t.ChannelPlanRow(letter="", name="", source="", position=(last.first() or 0) + 1)
        _fill(work.session, row, plan)
        work.note("plan_added", _facts(row, plan))
        return Answer("/organiser/plans", f"Channel plan {plan.letter} is saved.", made_id=row.id)

    return do_once(store, deed, work)


def change_plan(store: Store, deed: Deed, plan_id: int, draft: PlanDraft) -> Answer:
    """Save what changed about a plan of the club's own; refused where a kind of transmitter names what would go."""
    plan = plan_from(draft)

    def work(work: Work) -> Answer:
        # Kinds name channels by their labels: nobody may save one while a plan changes under it.
        work.session.exec(select(t.Club).with_for_update()).one()
        row = work.session.get(t.ChannelPlanRow, plan_id)
        if row is None:
            raise _not_there()
        if row.is_published:
            raise Refused("A published channel plan can't be changed.", "Add one of your own under another letter.")
        for channel in work.session.exec(select(t.PlanChannel).where(t.PlanChannel.plan_id == plan_id)):
            work.session.delete(channel)
        work.session.flush()
        _fill(work.session, row, plan)
        _check_kinds(work.session)
        work.note("plan_changed", _facts(row, plan))
        return Answer("/organiser/plans", f"Channel plan {plan.letter} is saved.")

    return do_once(store, deed, work)


def _fill(session: Session, row: t.ChannelPlanRow, plan: ChannelPlan) -> None:
    with session.no_autoflush:
        same = session.exec(select(t.ChannelPlanRow.id).where(t.ChannelPlanRow.letter == plan.letter)).first()
    if same not in (None, row.id):
        raise Refused(f"There is a channel plan {plan.letter} already.", "Choose another letter.", field="letter")
    row.letter, row.name, row.source = plan.letter, plan.name, plan.source
    session.add(row)
    session.flush()
    session.add_all(t.PlanChannel(plan_id=row.id, number=each.number, mhz=each.mhz) for each in plan.channels)
    session.flush()


def _check_kinds(session: Session) -> None:
    plans = plans_of(session)
    for kind in session.exec(select(t.TransmitterKind)):
        for text in filter(None, (kind.tuning, kind.goggles)):
            try:
                parse_tuning(text, plans)
            except BadProblem as problem:
                raise Refused(
                    f"The kind '{kind.name}' still names what this would take away: {problem.reason}",
                    "Change that kind first, or keep the letter and the numbers.",
                    field="lines",
                ) from problem


def plan_from(draft: PlanDraft) -> ChannelPlan:
    """The plan that was typed.

    Raises:
        Refused: naming the letter or the line that is wrong.
    """
    letter = one_line(draft.letter).upper()
    if not _LETTER.fullmatch(letter):
        raise Refused("A channel plan goes by one or two letters, A to Z.", field="letter")
    lines = [line.strip() for line in draft.lines.splitlines() if line.strip()]
    channels = tuple(_channel(letter, line) for line in lines)
    if not 1 <= len(channels) <= CHANNELS_MAX:
        raise Refused(f"A plan has 1 to {CHANNELS_MAX} channels, one per line; here are {len(lines)}.", field="lines")
    for what, values in (
        ("The number", [channel.number for channel in channels]),
        ("The frequency", [channel.mhz for channel in channels]),
    ):
        if twice := next((value for value in values if values.count(value) > 1), None):
            raise Refused(f"{what} {twice} stands there twice.", field="lines")
    with refusing("lines"):
        by_number = tuple(sorted(channels, key=lambda channel: channel.number))
        return ChannelPlan(letter, one_line(draft.name), by_number, one_line(draft.source))


def _channel(letter: str, line: str) -> Channel:
    match = _LINE.fullmatch(line.upper().removeprefix(letter).strip())
    if match is None:
        raise Refused(f"'{line[:40]}' is no channel: write its number and its MHz, such as 1 5658.", field="lines")
    if not 1 <= int(match[1]) <= NUMBER_MAX:
        raise Refused(f"'{line[:40]}' has no channel number: they run from 1 to {NUMBER_MAX}.", field="lines")
    with refusing("lines"):
        return Channel(letter, int(match[1]), int(match[2]))


def _facts(row: t.ChannelPlanRow, plan: ChannelPlan) -> dict[str, int | str]:
    return {"plan": row.id, "name": plan.letter, "count": len(plan.channels)}
