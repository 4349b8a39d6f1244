"""The heats of the test meet by names: make them, read them, let some be flown."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from meetapp.flows.deeds import Answer
from meetapp.flows.heats.day_plan import ONE_LOOK, Search, Wanted
from meetapp.flows.heats.ground import Ground
from meetapp.flows.heats.heat_rows import current_plan, read_heats, save_heats
from meetapp.flows.heats.making import make_heats, read_meet
from meetapp.rules.heats import Heat, HeatList, HeatRefusal, call, land
from meetapp.store import tables as t
from tests.desk import ORGANISER, Desk


@dataclass
class HeatDay:
    """The organiser of the test meet with its heats."""

    desk: Desk

    def wanted(self, size: int = 3, rounds: int = 2, pads: int | None = None, names: Sequence[str] = ()) -> Wanted:
        pilots = self.desk.world.pilots
        return Wanted(size, rounds, pads, frozenset(pilots[name] for name in names or pilots))

    def make(self, search: Search = ONE_LOOK, **wanted: Any) -> Answer:
        organiser = self.desk.acting(ORGANISER)
        return make_heats(self.desk.store, organiser.deed(), self.desk.world.meet, self.wanted(**wanted), search)

    def ground(self) -> Ground:
        return read_meet(self.desk.store, self.desk.world.meet, self.desk.clock())

    def heats(self) -> HeatList:
        with self.desk.store.read() as session:
            return read_heats(session, self.desk.world.meet)

    def by_names(self) -> list[list[list[str]]]:
        """Round by round, the heats as sorted names."""
        heats = self.heats()
        rounds = sorted({heat.round for heat in heats})
        return [[self.names_of(heat) for heat in heats if heat.round == round_] for round_ in rounds]

    def flying(self) -> list[list[str]]:
        """Round by round, everybody who has a seat."""
        return [sorted(name for heat in heats for name in heat) for heats in self.by_names()]

    def names_of(self, heat: Heat) -> list[str]:
        names = {pilot_id: name for name, pilot_id in self.desk.world.pilots.items()}
        return sorted(names[pilot_id] for pilot_id in heat.pilots)

    def step(self, step: Callable[[HeatList], HeatList | HeatRefusal]) -> None:
        """Take one step of the rules and save it, as the desk does."""
        ground = self.ground()
        with self.desk.store.write() as session:
            after = step(read_heats(session, self.desk.world.meet))
            assert not isinstance(after, HeatRefusal), after.reason
            plan = current_plan(session, self.desk.world.meet)
            assert plan is not None
            save_heats(session, plan, after, ground.kit_of, self.desk.clock())
            session.commit()

    def fly(self, count: int = 1) -> None:
        """The next heats are flown, one after the other."""
        for _ in range(count):
            heat_id = next(heat.heat_id for heat in self.heats() if heat.state == "planned")
            self.step(partial(call, heat_id=heat_id))
            self.step(partial(land, heat_id=heat_id))

    def plan_row(self) -> t.HeatPlan:
        with self.desk.store.read() as session:
            plan = current_plan(session, self.desk.world.meet)
            assert plan is not None
            session.expunge(plan)
            return plan
