"""A day at the test meet with something of everything, so that a review and a meet file have it all."""

from meetapp.flows.deeds import Deed
from meetapp.flows.desk import alarms, pauses, reports
from meetapp.flows.planning import closing
from meetapp.rules.heats import miss, void
from tests.acting import deed
from tests.desk import ORGANISER, Desk
from tests.heat_day import HeatDay


def organisers(desk: Desk, key: str | None = None) -> Deed:
    """A changing request of the organiser, now."""
    return deed(ORGANISER, desk.clock(), key)


def fly_a_day(desk: Desk) -> None:
    """Loans, a line with a pause, turns, an override, a ground transmitter, an undo, a missing token, alarms, reports.

    Starts at noon; afterwards F1 is out with Cy and a ground transmitter on air, Bo and Di use F5 by turns.
    """
    desk.hand_out("Ana", "R1")
    desk.join("Bo", "Cy", "Di")
    desk.clock.forward(minutes=10)
    desk.pause(desk.clock(), None)
    desk.clock.forward(minutes=20)
    pauses.resume(desk.store, desk.deed(), desk.world.meet)
    desk.hand_out("Bo", "F5")
    desk.undo(desk.hand_out("Cy", "R8"))
    desk.clock.forward(minutes=5)
    desk.change("Ana", power_mw=200)
    desk.tick_seen("Ana")
    desk.clock.forward(minutes=5)
    desk.hand_over("Ana", "Cy")
    desk.clock.forward(minutes=1)
    desk.missing("R1")
    desk.hand_out("Cy", "F1")
    desk.lend_ground("line camera", 5735, override_reason="the camera can't do another channel")
    alarms.raise_alarm(desk.store, desk.deed(), "stray")
    desk.clock.forward(minutes=2)
    alarms.raise_alarm(desk.store, desk.deed(), "down")
    report = reports.ReportDraft(desk.world.meet, desk.world.pilots["Cy"], "lines", "flight", "=by the second gate")
    reports.add(desk.store, desk.deed(), report)
    reports.add(desk.store, desk.deed(), reports.ReportDraft(desk.world.meet, None, "gone", minutes_ago=30))
    desk.share("Bo", "Di")
    desk.clock.forward(minutes=3)


def close_it(desk: Desk) -> None:
    """Close the meet: everything that is out comes back."""
    page = closing.closing_page(desk.store, desk.world.meet)
    settled: dict[int, closing.Settled] = {loan.loan_id: "back" for loan in page.still_out}
    closing.close_meet(desk.store, organisers(desk), desk.world.meet, settled)


def plan_heats(desk: Desk) -> None:
    """Heats in every state but called: one flown with a gap, one that doesn't count and is to be flown again, some made
    anew, some to come.
    """
    day = HeatDay(desk)
    day.make(size=2, rounds=2)
    first, second = day.heats()[:2]
    day.step(lambda heats: miss(heats, first.heat_id, first.seats[0].pilot_id, "no_show"))
    day.fly(2)
    day.step(lambda heats: void(heats, second.heat_id, -1))
    day.make(size=3, rounds=2, pads=4)
