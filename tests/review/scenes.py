"""Small made-up days for the tests: flights on a set of tokens, with causes planted and reports told badly."""

from dataclasses import dataclass, replace
from random import Random

from meetapp.review.causes import CauseKind
from meetapp.review.evidence import Airing, Flier, Kind, Look, MeetRecord, Reported, SetToken

SET_MHZ = (5645, 5695, 5765, 5805, 5865, 5945)
CHANNELS = (5645, 5658, 5665, 5685, 5695, 5705, 5732, 5740, 5765, 5785, 5805, 5825, 5843, 5865, 5880, 5905, 5925, 5945)
KIND = Kind(1, "usual", CHANNELS)
SILENT_KIND = Kind(2, "sets silently", CHANNELS, sets_silently=True)


@dataclass(frozen=True)
class Planted:
    """What really happened to a report."""

    kind: CauseKind
    mhz: int | None = None
    sources: tuple[int, ...] = ()


@dataclass(frozen=True)
class Scene:
    """A day with the truth beside it: by the ref of each report."""

    record: MeetRecord
    truth: dict[int, Planted]


def flight(loan: int, mhz: int, since_min: float, until_min: float, **more: object) -> Airing:
    """One loan by a pilot of the same number."""
    base = Airing(loan, SET_MHZ.index(mhz) + 1 if mhz in SET_MHZ else None, loan, mhz, since_min * 60, until_min * 60)
    return replace(base, kind=KIND, **more)  # type: ignore[arg-type]


def report(ref: int, loan: int, at_min: float, look: Look = "lines", window_s: float = 120) -> Reported:
    """A report of the pilot with that loan."""
    return Reported(ref, loan, loan, at_min * 60, window_s, look, "flight", at_min * 60 + 600)


def record_of(airings: list[Airing], reports: list[Reported], **more: object) -> MeetRecord:
    """A meet with these flights, its pilots and its tokens."""
    pilots = sorted({airing.pilot for airing in airings if airing.pilot is not None})
    return MeetRecord(
        airings=tuple(sorted(airings, key=lambda each: (each.since_s, each.loan))),
        reports=tuple(reports),
        tokens=tuple(SetToken(n, f"T{n}", mhz) for n, mhz in enumerate(SET_MHZ, start=1)),
        fliers=tuple(Flier(pilot, f"pilot {pilot}", (KIND,)) for pilot in pilots),
        **more,  # type: ignore[arg-type]
    )


def quiet_day(random: Random, pilots: int = 24, flights: int = 160) -> list[Airing]:
    """Flights of a few minutes, token by token, pilots in turn; each wakes on what it was set to last."""
    free = [0.0] * len(SET_MHZ)
    ready = [0.0] * pilots
    wakes: dict[int, int] = {}
    airings = []
    for loan in range(1, flights + 1):
        slot = min(range(len(free)), key=lambda number: free[number])
        pilot = min(range(pilots), key=lambda number: (ready[number], number))
        start = max(free[slot], ready[pilot]) + random.uniform(20, 120)
        end = start + random.uniform(180, 420)
        free[slot], ready[pilot] = end, end + random.uniform(300, 900)
        mhz = SET_MHZ[slot]
        kind = SILENT_KIND if pilot % 4 == 0 else KIND
        airings.append(
            Airing(loan, slot + 1, pilot + 1, mhz, start, end, 20, 25, wakes.get(pilot, random.choice(CHANNELS)), kind)
        )
        wakes[pilot] = mhz
    return airings


def beside_chance(apart: float) -> float:
    """Another reading of how a carrier disturbs than the explainer's own: a straight fall to 22 MHz."""
    return max(0.0, 0.9 * (1 - apart / 22))


def told_about(random: Random, ref: int, victim: Airing, at_s: float, look: Look) -> Reported:
    """A report of what happened, told late and now and then wrongly."""
    late = random.choice([0, 0, 60, 120, 120, 300])
    error = random.gauss(30, 60) if random.random() < 0.85 else random.uniform(-600, 600)
    if random.random() < 0.12:
        look = random.choice(["lines", "gone", "unsure", "colour"])
    place = "flight" if random.random() < 0.8 else "unsure"
    entered = max(victim.until_s, at_s) + late + 30
    return Reported(ref, victim.pilot, victim.loan, at_s + error, 120, look, place, entered)  # type: ignore[arg-type]


def look_at(random: Random, apart: float) -> Look:
    """What a carrier this far off looks like."""
    if apart < 6:
        return random.choice(["other_picture", "other_picture", "gone", "lines"])
    return random.choice(["lines", "lines", "lines", "gone", "colour"])


def with_own_troubles(random: Random, airings: list[Airing], count: int, first: int) -> list[tuple[Reported, Planted]]:
    """Reports of pilots whose own kit failed."""
    found = []
    for number, victim in enumerate(random.sample(airings, count)):
        look: Look = random.choice(["gone", "gone", "other_picture", "lines"])
        at = random.uniform(victim.since_s, victim.until_s)
        found.append((told_about(random, first + number, victim, at, look), Planted("own_receiver")))
    return found


def with_silent(random: Random, airings: list[Airing], first: int) -> tuple[int, list[tuple[Reported, Planted]]]:
    """A transmitter without a token for some minutes, on what a pilot on the ground was set to last (or anywhere)."""
    at = random.uniform(airings[20].since_s, airings[-20].since_s)
    end = at + random.uniform(240, 900)
    gone = [each for each in airings if at - 500 < each.until_s < at]
    mhz = random.choice(gone).mhz if gone and random.random() < 0.6 else random.choice(CHANNELS)
    return mhz, _victims(random, airings, mhz, at, end, first, Planted("no_token", mhz))


def with_wrong(random: Random, airings: list[Airing], first: int) -> tuple[Airing, int, list[tuple[Reported, Planted]]]:
    """A loan that stayed on its wake channel."""
    options = [each for each in airings[20:] if abs((each.wake_before_mhz or each.mhz) - each.mhz) > 4]
    wrong = random.choice(options)
    mhz = wrong.wake_before_mhz or 0
    others = [each for each in airings if each.loan != wrong.loan]
    truth = Planted("wrong_channel", mhz, (wrong.loan,))
    found = _victims(random, others, mhz, wrong.since_s, wrong.until_s, first, truth)
    if random.random() < 0.5:
        look: Look = random.choice(["gone", "gone", "other_picture"])
        at = wrong.since_s + random.uniform(0, 60)
        found.append((told_about(random, first + len(found), wrong, at, look), truth))
    return wrong, mhz, found


def _victims(
    random: Random, airings: list[Airing], mhz: int, start: float, end: float, first: int, truth: Planted
) -> list[tuple[Reported, Planted]]:
    found = []
    for victim in airings:
        low, high = max(start, victim.since_s), min(end, victim.until_s)
        apart = abs(victim.mhz - mhz)
        if high - low > 20 and random.random() < beside_chance(apart) and random.random() < 0.6:
            at = low + random.uniform(0, min(90, high - low))
            found.append((told_about(random, first + len(found), victim, at, look_at(random, apart)), truth))
    return found


def scene(seed: int, *, silent: int = 1, wrong: int = 1, own: int = 4) -> Scene:
    """A day with this much planted."""
    random = Random(seed)
    airings = quiet_day(random)
    told: list[tuple[Reported, Planted]] = []
    for _ in range(silent):
        told += with_silent(random, airings, len(told) + 1)[1]
    for _ in range(wrong):
        told += with_wrong(random, airings, len(told) + 1)[2]
    told += with_own_troubles(random, airings, own, len(told) + 1)
    told = [(replace(each, ref=number), truth) for number, (each, truth) in enumerate(told, start=1)]
    reports = [each for each, _truth in told]
    return Scene(record_of(airings, reports), {each.ref: truth for each, truth in told})
