"""What would have to give where no set of that size is possible."""

from collections.abc import Iterator
from dataclasses import replace

from meetapp.flows.planning.choosing.question import Asked, pick_for, room_for
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.mixed_room import how_many_fit
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.result import Impossible
from meetapp.spectrum.spacing import largest_count


def would_give(asked: Asked, impossible: Impossible) -> Iterator[str]:
    """Each demand that alone would make room for more, with how many then fit at the same spacing."""
    ground, question, pilots = asked.ground, asked.question, asked.problem.pilots
    every_letter = tuple(plan.letter for plan in ground.plan.snapshot.plans)
    narrow = replace(
        asked.problem.pick,
        pool_mhz=room_for(ground, question, REFERENCE_WIDTH_MHZ),
        width_mhz=REFERENCE_WIDTH_MHZ,
        widths_mhz=(),
        room_mhz=(),
    )
    others = (
        (
            "without the band profile (no band rule applied)",
            pick_for(ground, replace(question, within_band=False), pilots),
        ),
        ("without keeping away from the neighbours", pick_for(ground, question, pilots, avoid=False)),
        (f"counted with {REFERENCE_WIDTH_MHZ} MHz of width in place of {ground.plan.width_mhz:g}", narrow),
        (
            "with every channel plan of the club",
            pick_for(ground, replace(question, letters=every_letter, only_owned=False), pilots),
        ),
    )
    for what, pick in others:
        if (count := _fit(pick)) > impossible.largest_count:
            yield f"{what[:1].upper()}{what[1:]}, {count} fit at {question.spacing_mhz} MHz."


def _fit(pick: PickProblem) -> int:
    return how_many_fit(pick) if pick.widths_mhz else largest_count(pick.pool_mhz, pick.centre_spacing_mhz)
