"""What the heats of a meet file can get wrong although each field is in order."""

from collections import Counter
from collections.abc import Iterator

from meetapp.flows.files.meet_file_shape import HeatPart, MeetFile


def heat_faults(file: MeetFile) -> Iterator[str]:
    """Every contradiction among the heats, one sentence each, with its place."""
    if sum(plan.ended_at is None and plan.voided_at is None for plan in file.heat_plans) > 1:
        yield "heat_plans: more than one has neither an end nor a voided_at."
    if sum(heat.state == "called" and heat.voided_at is None for heat in file.heats) > 1:
        yield "heats: more than one is called."
    own = {pilot.ref: {each.ref for each in pilot.transmitters} for pilot in file.pilots}
    for number, heat in enumerate(file.heats):
        place = f"heats[{number}]"
        if heat.again_for is not None and heat.again_for >= heat.ref:
            yield f"{place}.again_for must be an earlier heat."
        if heat.landed_at is not None and heat.called_at is not None and heat.landed_at < heat.called_at:
            yield f"{place}.landed_at lies before its called_at."
        yield from _seat_faults(place, heat, own)


def _seat_faults(place: str, heat: HeatPart, own: dict[int, set[int]]) -> Iterator[str]:
    for number, seat in enumerate(heat.seats):
        if seat.transmitter not in own.get(seat.pilot, set()):
            yield f"{place}.seats[{number}].transmitter points at number {seat.transmitter}, not one of that pilot's."
    kept = Counter(seat.pilot for seat in heat.seats if seat.voided_at is None)
    for pilot, times in kept.items():
        if times > 1:
            yield f"{place}.seats: pilot {pilot} has {times} of them."
