"""The heats of the test meet as the desk flies them, by names."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.heats import calling, gaps, landing, voiding
from meetapp.flows.heats.field_heats import FieldHeats, read_field_heats
from meetapp.flows.heats.gaps import Missing
from meetapp.flows.heats.landing import StillUp
from meetapp.flows.snapshot import take_snapshot
from meetapp.rules.heats import Heat, HeatList
from meetapp.store import tables as t
from tests.desk import Desk

Seats = dict[str, str]


@dataclass
class HeatDesk:
    """Somebody at the desk (see `Desk`) who runs the heats."""

    desk: Desk

    def plan(self, *heats: Seats, rounds: tuple[int, ...] = ()) -> None:
        """Heats as {name: token label}, all of round 1 unless `rounds` says which round each is of."""
        world = self.desk.world
        with self.desk.store.write() as session:
            plan = self._plan_row(len(heats))
            session.add(plan)
            session.flush()
            tokens = {label: session.get_one(t.Token, token_id) for label, token_id in world.tokens.items()}
            for position, seats in enumerate(heats, start=1):
                round_ = rounds[position - 1] if rounds else 1
                number = rounds[:position].count(round_) if rounds else position
                heat = t.Heat(
                    meet_id=world.meet, plan_id=plan.id, round=round_, number=number, position=position
                )
                session.add(heat)
                session.flush()
                for pad, (name, label) in enumerate(seats.items(), start=1):
                    session.add(self._seat(heat.id, name, tokens[label], pad))
            session.commit()

    def tell_of_the_plan(self) -> None:
        """The journal's line of the newest plan, as whoever makes heats writes it."""
        plan = self.desk.rows(t.HeatPlan)[-1]
        heats = len(self.desk.rows(t.Heat, plan_id=plan.id))
        facts = {"heats": heats, "rounds": plan.rounds, "pilots": 4, "size": plan.size, "changes": 0}
        with self.desk.store.write() as session:
            session.add(
                t.JournalLine(
                    meet_id=plan.meet_id,
                    kind="heats_made",
                    facts=facts,
                    actor_role="organiser",
                    actor_name="Organiser",
                    happened_at=plan.made_at,
                    entered_at=plan.made_at,
                )
            )
            session.commit()

    def _plan_row(self, heats: int) -> t.HeatPlan:
        return t.HeatPlan(
            meet_id=self.desk.world.meet,
            size=4,
            rounds=1,
            spacing_floor_mhz=37,
            heats_per_round=heats,
            heats_bound=heats,
            heats_proven=True,
            channel_changes=0,
            changes_bound=0,
            changes_proven=True,
            made_at=self.desk.clock(),
        )

    def _seat(self, heat_id: int, name: str, token: t.Token, pad: int) -> t.HeatSeat:
        return t.HeatSeat(
            heat_id=heat_id,
            pilot_id=self.desk.world.pilots[name],
            transmitter_id=self.desk.world.transmitters[name],
            token_id=token.id,
            label=token.label,
            mhz=token.nominal_mhz,
            width_mhz=20,
            pad=pad,
        )

    def field(self) -> FieldHeats:
        with self.desk.store.read() as session:
            meet = session.get_one(t.Meet, self.desk.world.meet)
            return read_field_heats(session, take_snapshot(session, meet, self.desk.clock()))

    def heats(self) -> HeatList:
        return self.field().heats

    def heat(self, number: int, round_: int = 1) -> Heat:
        return next(each for each in self.heats() if (each.round, each.number) == (round_, number))

    def heat_id(self, number: int) -> int:
        """A heat's own number, also where nobody is left in it and no page shows it any more."""
        return self.desk.rows(t.Heat, meet_id=self.desk.world.meet, round=1, number=number)[-1].id

    def states(self) -> list[tuple[int, str]]:
        """Number and state of each heat, in order of flying."""
        return [(heat.number, heat.state) for heat in self.heats()]

    def ids(self, names: Iterable[str]) -> frozenset[int]:
        return frozenset(self.desk.world.pilots[name] for name in names)

    def order(
        self, number: int | None = None, up: Iterable[str] = (), round_: int = 1, **more: Any
    ) -> calling.CallHeat:
        """To call the next heat (or one by its number), as the page shows it now."""
        field = self.field()
        heat = field.to_come[0] if number is None else self.heat(number, round_)
        landing_id = field.called.heat_id if field.called else None
        out_of_turn = heat in field.to_come[1:]
        return calling.CallHeat(
            self.desk.world.meet, heat.heat_id, landing_id, self.up(up), out_of_turn=out_of_turn, **more
        )

    def up(self, names: Iterable[str]) -> StillUp:
        """Who is ticked as still up on a page as it shows it now."""
        return StillUp(self.ids(names), frozenset(loan.loan_id for loan in self.field().up))

    def call(self, number: int | None = None, up: Iterable[str] = (), deed: Deed | None = None, **more: Any) -> Answer:
        self.desk.clock.forward(minutes=1)
        return calling.call_heat(self.desk.store, deed or self.desk.deed(), self.order(number, up, **more))

    def call_off(self, number: int) -> Answer:
        return calling.call_off(self.desk.store, self.desk.deed(), self.desk.world.meet, self.heat_id(number))

    def down(self, number: int, up: Iterable[str] = ()) -> Answer:
        self.desk.clock.forward(minutes=1)
        store, meet = self.desk.store, self.desk.world.meet
        return landing.all_down(store, self.desk.deed(), meet, self.heat_id(number), self.up(up))

    def landed(self, name: str) -> Answer:
        store, world = self.desk.store, self.desk.world
        return landing.landed_late(store, self.desk.deed(), world.meet, world.pilots[name])

    def miss(self, number: int, name: str, why: Missing = "no_show") -> Answer:
        world, heat_id = self.desk.world, self.heat_id(number)
        return gaps.miss(self.desk.store, self.desk.deed(), world.meet, heat_id, world.pilots[name], why)

    def leave(self, name: str) -> Answer:
        world = self.desk.world
        return gaps.leave_heats(self.desk.store, self.desk.deed(), world.meet, world.pilots[name])

    def hand_out(self, number: int, name: str, reason: str = "") -> Answer:
        world, heat_id = self.desk.world, self.heat_id(number)
        return gaps.hand_out_seat(self.desk.store, self.desk.deed(), world.meet, heat_id, world.pilots[name], reason)

    def void(self, number: int, up: Iterable[str] = ()) -> Answer:
        store, meet = self.desk.store, self.desk.world.meet
        heat_id, field = self.heat_id(number), self.field()
        is_called = field.called is not None and field.called.heat_id == heat_id
        drawn = frozenset(loan.loan_id for loan in field.out) if is_called else frozenset[int]()
        return voiding.void(store, self.desk.deed(), meet, heat_id, StillUp(self.ids(up), drawn))
