"""The heats of a meet: the current plan, where each heat stands, its gaps, who of it is still up."""

from collections.abc import Iterator

from sqlalchemy import Connection

from tests.agreement.reading import Row, moment, rows, unlike
from tests.agreement.told import HeatName, Told, ToldHeat


def differences(connection: Connection, meet: Row, told: Told) -> Iterator[str]:
    """In what the heats of a meet aren't as the journal tells."""
    yield from _plan(connection, meet["id"], told)
    found = rows(
        connection,
        "SELECT * FROM heat WHERE meet_id = :meet AND voided_at IS NULL AND state <> 'dropped' ORDER BY position, id",
        meet=meet["id"],
    )
    by_id = {row["id"]: (row["round"], row["number"]) for row in found}
    stands = {by_id[row["id"]]: _stand(row, by_id) for row in found}
    # A heat of which no line tells is as it was made.
    expected = dict.fromkeys(stands, _told(ToldHeat())) | {name: _told(heat) for name, heat in told.heats.items()}
    yield from unlike("heat", stands, {name: each for name, each in expected.items() if _is_there(name, stands, told)})
    begun = [by_id[row["id"]] for row in found if row["state"] != "planned"]
    turns = sorted((name for name, heat in told.heats.items() if heat.state != "planned"),
                   key=lambda name: told.heats[name].turn)
    if begun != turns:
        yield f"heats flown in the order {begun}, by the journal {turns}"
    yield from _seats(connection, by_id, stands, told)


def _plan(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    query = "SELECT * FROM heat_plan WHERE meet_id = :meet AND voided_at IS NULL ORDER BY id"
    plans = rows(connection, query, meet=meet_id)
    stands = [(moment(row["made_at"]), row["size"], row["rounds"], row["channel_changes"]) for row in plans]
    made = [(plan["at"], plan["size"], plan["rounds"], plan["changes"]) for plan in told.plans]
    if stands != made:
        yield f"heats made (when, size, rounds, changes): {stands}, by the journal {made}"
    ends = [moment(row["ended_at"]) for row in plans]
    if ends != [when for when, *_rest in made[1:]] + [None] * bool(made):
        yield f"plans of heats ended at {ends}, by the journal when the next were made"


def _stand(row: Row, by_id: dict[int, HeatName]) -> tuple[object, ...]:
    again_for = by_id.get(row["again_for_id"]) if row["again_for_id"] is not None else None
    return (row["state"], moment(row["called_at"]), moment(row["landed_at"]), again_for)


def _told(heat: ToldHeat) -> tuple[object, ...]:
    return (heat.state, heat.called, heat.landed, heat.again_for)


def _is_there(name: HeatName, stands: Row, told: Told) -> bool:
    """Whether a heat has to be in the table: one to come in which nobody is left may have been dropped."""
    return name in stands or not told.left_heats or told.heats[name].state != "planned"


def _seats(connection: Connection, by_id: dict[int, HeatName], stands: Row, told: Told) -> Iterator[str]:
    """Why seats are empty, and who has not landed yet. Who sits where is told by no line."""
    found = rows(
        connection,
        "SELECT s.* FROM heat_seat s JOIN heat ON heat.id = s.heat_id WHERE s.voided_at IS NULL ORDER BY s.id",
    )
    out = told.open_loans()
    for row in found:
        name = by_id.get(row["heat_id"])
        if name is None:
            continue
        heat, pilot = told.heats.get(name, ToldHeat()), row["pilot_id"]
        is_up = heat.state in ("flown", "voided") and not row["missing"] and heat.up.get(pilot) in out
        if bool(row["is_up_late"]) != is_up:
            yield f"pilot {pilot} of heat {name} is {'not ' if is_up else ''}up still, by the journal it is otherwise"
        why = heat.gaps.get(pilot) or next(
            ("left" for who, flown in told.left_heats if who == pilot and name not in flown), ""
        )
        if row["missing"] != why:
            yield f"the seat of pilot {pilot} in heat {name} is '{row['missing']}', by the journal '{why}'"
