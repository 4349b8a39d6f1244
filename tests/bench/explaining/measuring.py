"""All that is judged of one world."""

from collections import Counter
from dataclasses import dataclass, field
from statistics import median

from meetapp.simulate.simulating import add_ideal
from tests.bench.explaining.figures import calibration_error, of_all, of_first, percent, share
from tests.bench.explaining.judging import (
    CommonestForTheLook,
    Explainer,
    Judged,
    Silent,
    accusations,
    add_stranger,
    explainer,
    judged,
    nearest_to_blame,
    observed,
    silent_hits,
)
from tests.bench.explaining.worlds import KeptWeights, World

_LEARN_FROM = range(1001, 1021)
"""Seeds of meets from which the table of looks is made; never among those that are judged."""


@dataclass
class Measured:
    """Reports of one world, or of several, as each judged them, and what else is judged of the explainer."""

    ours: list[Judged] = field(default_factory=list)
    ideal: list[Judged] = field(default_factory=list)
    stranger: list[Judged] = field(default_factory=list)
    nearest: list[Judged] = field(default_factory=list)
    by_look: list[Judged] = field(default_factory=list)
    silent: list[Silent] = field(default_factory=list)
    quiet: list[list[str]] = field(default_factory=list)

    def add(self, other: "Measured") -> None:
        """Take another's reports in."""
        for name in ("ours", "ideal", "stranger", "nearest", "by_look", "silent", "quiet"):
            getattr(self, name).extend(getattr(other, name))


def measure(
    world: World, seeds: range, kept: KeptWeights | None, explain: Explainer = explainer, learn: range = _LEARN_FROM
) -> Measured:
    """The meets of these seeds with causes and as many without. `kept` None: no observers, so nothing is told."""
    found = Measured()
    by_look = CommonestForTheLook([world.make(seed) for seed in learn])
    for seed in seeds:
        meet = world.make(seed)
        if kept is not None:
            weights, of_stranger = kept.of(world, meet), kept.of_stranger(world, meet)
            add_ideal(meet, weights)
            add_stranger(meet, of_stranger)
            found.ideal += judged(meet, observed(meet, weights))
            found.stranger += judged(meet, observed(meet, of_stranger))
        answer = explain(meet.file)
        found.ours += judged(meet, answer)
        found.nearest += judged(meet, nearest_to_blame(meet.file))
        found.by_look += judged(meet, by_look(meet.file))
        found.silent += silent_hits(meet, answer)
        found.quiet.append(accusations(explain(world.make_quiet(seed).file)))
    return found


HEADINGS = (
    f"{'':22} {'':7} {'':5} {'first of told':^19} {'first of all':^25} {'first 3 of all':^21} {'calibr. error':^12}",
    f"{'world':22} {'reports':>7} {'told':>5} {'ours':>6} {'near':>5} {'look':>6}"
    f" {'ideal':>6} {'ours':>6} {'near':>5} {'look':>5} {'ideal':>7} {'ours':>6} {'look':>6} {'first':>6} {'all':>5}"
    f" {'ideal':>6} {'quiet':>6}",
)


def line(name: str, found: Measured) -> str:
    """One world's line of the table."""

    def first(reports: list[Judged], *, only_told: bool = False) -> str:
        return percent([each.is_among(1) for each in reports if each.is_told or not only_told])

    def three(reports: list[Judged]) -> str:
        return percent([each.is_among(3) for each in reports])

    told = [first(each, only_told=True) for each in (found.ours, found.nearest, found.by_look)]
    of_all_reports = [first(each) for each in (found.ideal, found.ours, found.nearest, found.by_look)]
    among = [three(each) for each in (found.ideal, found.ours, found.by_look)]
    return (
        f"{name:22} {len(found.ours):7} {percent([each.is_told for each in found.ours]):>5}"
        f" {told[0]:>6} {told[1]:>5} {told[2]:>6}"
        f" {of_all_reports[0]:>6} {of_all_reports[1]:>6} {of_all_reports[2]:>5} {of_all_reports[3]:>5}"
        f" {among[0]:>7} {among[1]:>6} {among[2]:>6}"
        f" {calibration_error(of_first(found.ours)):6.2f} {calibration_error(of_all(found.ours)):5.2f}"
        f" {calibration_error(of_first(found.ideal)):6.2f} {percent([not each for each in found.quiet]):>6}"
    )


def details(found: Measured) -> list[str]:
    """What is judged beside the kinds: entries, names, MHz, silent transmitters, accusations."""
    ours = found.ours
    told = [each for each in ours if each.is_told]
    named = [name for each in ours if (name := each.is_named()) is not None]
    off = [mhz for each in ours if (mhz := each.off_mhz()) is not None]
    right = [each for each in ours if each.causes[0]["kind"] == each.kind and each.truth["mhz"] is not None]
    sources = [each for each in right if each.truth["sources"]]
    widths = [each.width_mhz for each in found.silent if each.width_mhz is not None]
    near = [each.off_mhz is not None and each.off_mhz <= 10 for each in found.silent if each.is_narrowed]
    accused = Counter(kind for kinds in found.quiet for kind in set(kinds))
    two = [each for each in ours if each.is_told_to_two]
    of_told = [each.is_among(1) for each in found.stranger if each.is_told]
    return [
        f"  who knows another world's rules: first, of told {share(of_told)}",
        f"    first, of all                                 {share([each.is_among(1) for each in found.stranger])}",
        f"    first three kinds, of all                     {percent([each.is_among(3) for each in found.stranger])}",
        f"  ours, first, of what both are sure of           {share([each.is_among(1) for each in two])}",
        f"    first three kinds                             {percent([each.is_among(3) for each in two])}",
        f"  first entry right, of told                      {share([each.is_among_entries(1) for each in told])}",
        f"  first three entries hold it, of all             {share([each.is_among_entries(3) for each in ours])}",
        f"  first three kinds hold it, of told              {share([each.is_among(3) for each in told])}",
        f"  kind right and loans to name: names some        {share([bool(e.causes[0]['sources']) for e in sources])}",
        f"  of those named, the true ones                   {share(named)}",
        f"  kind right and MHz to name: names some          {share([e.causes[0]['mhz'] is not None for e in right])}",
        f"  of those, within 5 MHz                          {share([mhz <= 5 for mhz in off])}",
        f"  of those, within 10 MHz                         {share([mhz <= 10 for mhz in off])}",
        f"  silent, 3 reports or more: interval holds it    {share([each.holds for each in found.silent])}",
        f"  its width, median                               {median(widths) if widths else '-'} MHz",
        f"  within 10 MHz, where a known channel narrows it {share(near)}",
        f"  nothing planted, nobody accused over 0.5        {share([not each for each in found.quiet])}",
        f"  meets without causes where a kind is accused    {dict(accused) or 'none'}",
    ]
