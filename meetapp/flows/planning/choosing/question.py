"""What the organiser asks, and the same as a problem for the sums: the pool, the widths, the pilots to be served.

Widths: with the expected pilots spread evenly over the heats, the widest of them share one token, the next widest the
next one, and so on. So each token is counted as wide as the widest transmitter of its share, and nobody counts as
narrower than the reference width, since somebody may come who wasn't expected.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import ceil

from sqlmodel import Session, col, select

from meetapp.flows.kits import Kit
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.planning.planned_set import Plan, read_plan
from meetapp.flows.readings import refusing
from meetapp.flows.snapshot import Person
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, check_mhz
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.serving import (
    ExpectedPilot,
    ServingProblem,
    ServingSet,
    expected_pilot,
    seats_in,
    serving_set,
)
from meetapp.spectrum.tuning import TunableRange, Tuning
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

USUAL_SPACING_MHZ = 37
"""The spacing that the form starts with: the step of plan R. Common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Question:
    """What the organiser asks for. `only_owned`: choose among the club's usable tokens, whatever plans are ticked.

    `looked_at`: a set to show in place of the best one (an alternative), empty for the best. `for_expected`: the best
    set among those that serve most of the pilots expected, else the best one whoever comes. `as_wide_as_expected`:
    tokens are counted with the widths of those expected, else all with the reference width (a wide carrier then covers
    tokens beside it). `pull_mhz` None: the meet's. `with_any_kit`: pilots (by id) who are counted as if their
    transmitter made every frequency of the pool.
    """

    count: int
    spacing_mhz: int
    signals: Signals
    letters: tuple[str, ...]
    extra_mhz: tuple[int, ...] = ()
    only_owned: bool = False
    within_band: bool = True
    looked_at: tuple[int, ...] = ()
    for_expected: bool = True
    as_wide_as_expected: bool = True
    pull_mhz: int | None = None
    with_any_kit: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Ground:
    """Everything the sums need, read at one moment. `chosen_mhz`: the set that is the meet's now."""

    plan: Plan
    meet: t.Meet
    owned_mhz: tuple[int, ...]
    chosen_mhz: tuple[int, ...]
    published: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A question over its ground. `plan` has the pull asked for, and the transmitters counted as if.

    `pilots`: those expected whom some frequency of the pool can serve; `out_of_reach`: those whom none can, and those
    whose transmitter isn't known. `makes`: what each could be set to, by pilot id. `problem` is what the search gets:
    with nobody in it where it doesn't matter who comes.
    """

    ground: Ground
    question: Question
    plan: Plan
    pilots: tuple[ExpectedPilot, ...]
    out_of_reach: tuple[Person, ...]
    makes: Mapping[int, frozenset[int]]
    problem: ServingProblem

    @property
    def pool_mhz(self) -> tuple[int, ...]:
        """The frequencies that the set is chosen from."""
        return self.problem.pick.pool_mhz


def read_ground(store: Store, meet_id: int, now: datetime) -> Ground:
    """Read a meet for choosing its channels.

    Raises:
        NotFound: there is no such meet.
    """
    with store.read() as session:
        meet = find_meet(session, meet_id)
        published = select(t.ChannelPlanRow.letter).where(col(t.ChannelPlanRow.is_published))
        return Ground(
            plan=read_plan(session, meet, now),
            meet=meet,
            owned_mhz=_owned_mhz(session),
            chosen_mhz=tuple(sorted({token.nominal_mhz for token in queries.meet_tokens(session, meet_id)})),
            published=tuple(session.exec(published.order_by(col(t.ChannelPlanRow.position)))),
        )


def _owned_mhz(session: Session) -> tuple[int, ...]:
    usable = select(t.Token.nominal_mhz).where(t.Token.state == "usable").distinct()
    return tuple(sorted(session.exec(usable)))


def asked(ground: Ground, question: Question) -> Asked:
    """The question as a problem for the sums.

    Raises:
        Refused: a letter, a frequency or a figure that can't be meant, naming the field.
    """
    _check(question)
    plan = _plan_asked(ground, question)
    inside = [each for person in plan.people if (each := _expected(plan, question, person))]
    # Whether a pilot is in reach goes by the width that they are counted with: wide ones have less room at the edges.
    rooms = {each.width_mhz: room_for(ground, question, each.width_mhz) for each in inside}
    pilots = tuple(each for each in inside if _reaches(plan, each, rooms[each.width_mhz]))
    ids = {each.pilot_id for each in pilots}
    served = pilots if question.for_expected else ()
    with refusing("count"):
        return Asked(
            ground,
            question,
            plan,
            pilots,
            tuple(person for person in plan.people if person.pilot_id not in ids),
            {each.pilot_id: each.mhz for each in inside},
            ServingProblem(pick_for(ground, question, served), served, ground.meet.fly_at_once, plan.snapshot.pull_mhz),
        )


def _check(question: Question) -> None:
    for field, frequencies in (("extra_mhz", question.extra_mhz), ("looked_at", question.looked_at)):
        with refusing(field):
            for mhz in frequencies:
                check_mhz(field, mhz)


def _plan_asked(ground: Ground, question: Question) -> Plan:
    """The plan with the pull that is asked for, and whoever is counted as if their transmitter made everything."""
    plan = ground.plan
    if question.pull_mhz is not None:
        plan = replace(plan, snapshot=replace(plan.snapshot, pull_mhz=question.pull_mhz))
    if not question.with_any_kit:
        return plan
    pool = room_for(ground, question, REFERENCE_WIDTH_MHZ)
    people = tuple(
        replace(person, kit=_kit_for_all(pool)) if pool and person.pilot_id in question.with_any_kit else person
        for person in plan.people
    )
    return replace(plan, people=people)


def _kit_for_all(pool: Sequence[int]) -> Kit:
    return Kit(
        transmitter_id=0,
        kind_id=0,
        name="another transmitter, as asked",
        tuning=Tuning(ranges=(TunableRange(pool[0], pool[-1]),)),
        goggles=None,
        width_mhz=REFERENCE_WIDTH_MHZ,
        power_steps_mw=(),
        wake_mhz=None,
        moves_by_itself=False,
        sets_silently=False,
        goggles_transmit=False,
        setting_hint="",
    )


def _expected(plan: Plan, question: Question, person: Person) -> ExpectedPilot | None:
    if person.kit is None:
        return None
    kit = person.kit
    width = max(kit.width_mhz, REFERENCE_WIDTH_MHZ) if question.as_wide_as_expected else REFERENCE_WIDTH_MHZ
    pilot = expected_pilot(person.pilot_id, kit.tuning, kit.goggles, person.segments or None, kit.width_mhz)
    return replace(pilot, mhz=frozenset(mhz for mhz in pilot.mhz if plan.has_room(mhz, kit)), width_mhz=width)


def _reaches(plan: Plan, pilot: ExpectedPilot, room: Sequence[int]) -> bool:
    pull = plan.snapshot.pull_mhz
    return any(mhz + off in pilot.mhz for mhz in room for off in range(-pull, pull + 1))


def room_for(ground: Ground, question: Question, width_mhz: float, *, avoid: bool = True) -> tuple[int, ...]:
    """The frequencies asked for at which a carrier of this width has room; `avoid` False: whatever the neighbours.

    Raises:
        Refused: a letter that no plan has (field 'letters').
    """
    snapshot = ground.plan.snapshot
    with refusing("letters"):
        return pool_mhz(
            snapshot.plans,
            () if question.only_owned else question.letters,
            ground.owned_mhz if question.only_owned else question.extra_mhz,
            snapshot.site_segments if question.within_band else (),
            width_mhz,
            snapshot.neighbours if avoid else (),
        )


def pick_for(
    ground: Ground, question: Question, served: Sequence[ExpectedPilot], *, avoid: bool = True
) -> PickProblem:
    """What the set is chosen from. Where it doesn't matter who comes, only the edges go by the widest expected."""
    widths = widths_for(served, question.count, ground.meet.fly_at_once)
    rooms = [(width, room_for(ground, question, width, avoid=avoid)) for width in sorted(set(widths)) if served]
    return PickProblem(
        rooms[0][1] if rooms else room_for(ground, question, ground.plan.width_mhz, avoid=avoid),
        question.count,
        question.spacing_mhz,
        question.signals,
        ground.plan.useful_clearance_mhz,
        widths_mhz=widths if rooms else (),
        room_mhz=tuple(rooms),
    )


def widths_for(pilots: Sequence[ExpectedPilot], count: int, fly_at_once: int) -> tuple[float, ...]:
    """How wide each of so many tokens is counted, the widest first (see above).

    >>> pilots = [ExpectedPilot(number, frozenset(), width) for number, width in enumerate([20, 40, 20, 20, 40, 40])]
    >>> widths_for(pilots, 3, fly_at_once=3)
    (40, 40, 20)
    """
    widths = sorted((pilot.width_mhz for pilot in pilots), reverse=True)
    heats = max(1, ceil(len(widths) / min(fly_at_once, count)))
    shares = widths[::heats]
    return tuple(shares + [float(REFERENCE_WIDTH_MHZ)] * (count - len(shares)))


@dataclass(frozen=True, slots=True)
class Seating:
    """A set with who flies on which token of it: pilot id to MHz. `tokens`: with the width each is counted with."""

    tokens: tuple[Carrier, ...]
    seat_of: Mapping[int, int]

    @property
    def widths_mhz(self) -> tuple[float, ...]:
        """The widths of the tokens, from the lowest frequency up."""
        return tuple(token.width_mhz for token in self.tokens)


def seating_on(asked: Asked, mhz: Sequence[int]) -> Seating:
    """Any set with the expected pilots whom it serves, the widths laid so that it serves most.

    All are counted at the reference width where it doesn't matter who comes, as the search counts them then, and where
    so wide tokens would overlap whatever way they are laid.
    """
    frequencies = tuple(sorted(set(mhz)))
    count, fly_at_once = len(frequencies), asked.ground.meet.fly_at_once
    pick = PickProblem(frequencies, count, 0, asked.question.signals, asked.ground.plan.useful_clearance_mhz)
    narrow = ServingProblem(pick, asked.pilots, fly_at_once, asked.plan.snapshot.pull_mhz)
    if asked.question.for_expected:
        wide = replace(narrow, pick=replace(pick, widths_mhz=widths_for(asked.pilots, count, fly_at_once)))
        answer = serving_set(wide)
        if isinstance(answer, ServingSet):
            return _seating(wide, answer)
    tokens = tuple(map(Carrier, frequencies))
    return Seating(tokens, seats_in(narrow, tokens))


def seating_of(asked: Asked, answer: ServingSet) -> Seating:
    """The same for an answer to the question, which has its pilots already unless it doesn't matter who comes."""
    if not asked.question.for_expected:
        return seating_on(asked, answer.found.mhz)
    return _seating(asked.problem, answer)


def _seating(problem: ServingProblem, answer: ServingSet) -> Seating:
    found = answer.found
    widths = found.widths_mhz or (problem.pick.width_mhz,) * len(found.mhz)
    return Seating(tuple(map(Carrier, found.mhz, widths)), dict(answer.seats))
