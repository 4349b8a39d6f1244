"""The drawings of a meet looked back on, from its frozen views."""

from collections.abc import Sequence

from meetapp.drawings.odds import Odds, odds_picture
from meetapp.drawings.shapes import Picture
from meetapp.drawings.silent_air import SilentAir, silent_picture
from meetapp.flows.review.explanations import ReportView
from meetapp.flows.review.look_back import SilentFacts
from meetapp.review.chance_words import percent


def causes_picture(report: ReportView) -> Picture | None:
    """How likely each kind of cause is for one report."""
    odds = [Odds(name, share, percent(share)) for name, share in report.by_kind]
    return odds_picture(odds, "How likely each kind of cause is")


def kinds_picture(kinds: Sequence[tuple[str, float]], reports: int) -> Picture | None:
    """How many of the reports each kind of cause would explain, as expected."""
    odds = [Odds(name, count, f"{count:.1f}") for name, count in kinds]
    return odds_picture(odds, f"How many of {reports} reports each kind of cause would explain", float(reports))


def silent_air_picture(each: SilentFacts) -> Picture:
    """Where a transmitter without a token may have been."""
    told = each.told
    in_use = tuple(one.mhz for one in each.in_use)
    return silent_picture(SilentAir(told.curve, told.from_mhz, told.to_mhz, in_use))
