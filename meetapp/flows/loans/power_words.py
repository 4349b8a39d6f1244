"""How strong a transmitter may be set, in words: what is set, the club's ceiling, the pilot's band profile."""

from meetapp.flows.snapshot import Person, Snapshot
from meetapp.spectrum.bands import segment_around
from meetapp.spectrum.carriers import Carrier


def power_words(snapshot: Snapshot, person: Person | None, carrier: Carrier, set_mw: float | None) -> tuple[str, ...]:
    """Short sentences about power in mW; the last one always defers to local rules and the licence."""
    segments = person.segments if person else snapshot.site_segments
    segment = segment_around(carrier.mhz, carrier.width_mhz, segments)
    words = [f"Set {set_mw:g} mW."] if set_mw is not None else []
    if snapshot.power_ceiling_mw is not None:
        words.append(f"The club's ceiling is {snapshot.power_ceiling_mw:g} mW.")
    if segment is not None and segment.power_mw is not None:
        words.append(f"The band profile names {segment.power_mw:g} mW here.")
    return (*words, "Local rules and the licence may be lower.")
