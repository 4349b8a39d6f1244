"""What an organiser would say about a cause. Always 'possible': a probability is no verdict."""

from dataclasses import dataclass

from meetapp.review.case import Case
from meetapp.review.causes import Cause, Weighed
from meetapp.review.evidence import MeetRecord
from meetapp.review.product_levels import product_level
from meetapp.review.silent_transmitters import SilentTransmitter


@dataclass(frozen=True)
class Names:
    """What a loan is called in a sentence: 'Ana on 5740 MHz'."""

    record: MeetRecord

    def pilot(self, ref: int | None) -> str:
        """A pilot's name."""
        return next((flier.name for flier in self.record.fliers if flier.ref == ref), "a transmitter without a pilot")

    def loan(self, loan: int) -> str:
        """A loan by its holder and what it was given."""
        airing = next(each for each in self.record.airings if each.loan == loan)
        return f"{self.pilot(airing.pilot)} (given {airing.mhz} MHz)"


_ALONE = 0.95
"""Above so much of what its kind has, nobody needs to hear of the others."""


def cause_sentence(weighed: Weighed, case: Case | None, names: Names) -> str:
    """The sentence of one cause of a report; `case` None: it isn't known whose picture it was."""
    said = _sentence(weighed.cause, case, names)
    share = weighed.named / weighed.probability if weighed.probability > 0 else 1.0
    if share > _ALONE:
        return said
    return f"{said} Others like it are possible too; this is the likeliest of them ({10 * share:.0f} in 10)."


def _sentence(cause: Cause, case: Case | None, names: Names) -> str:
    match cause.kind:
        case "own_receiver":
            return "Possible: goggles on another channel than the transmitter, or range, antenna or battery."
        case "unknown":
            if case is None:
                return "It isn't known whose picture it was, and nothing that the journal shows explains it well."
            return "Nothing that the journal shows explains it well."
        case "no_token":
            at = f" near {cause.mhz} MHz" if cause.mhz is not None else ""
            return f"Possible: somebody's transmitter on air without a token{at}."
        case "neighbour":
            return f"Possible: the foreign signal {_neighbour(cause)}."
        case "wrong_channel":
            return _wrong_channel(cause, case, names)
        case _:
            return _others_on_air(cause, case, names)


def silent_sentence(silent: SilentTransmitter, names: Names) -> str:
    """One transmitter without a token, with whose it may have been."""
    reports = f"{len(silent.reports)} reports" if len(silent.reports) != 1 else "1 report"
    text = (
        f"Possible: a transmitter on air without a token near {silent.mhz} MHz (between {silent.from_mhz} and "
        f"{silent.to_mhz} in nine of ten cases), which would explain {reports}."
    )
    if not silent.may_be:
        return text
    who = ", ".join(f"{names.pilot(each.pilot)} ({each.mhz} MHz)" for each in silent.may_be[:4])
    return (
        f"{text} Had just handed in, or was about to receive, with a transmitter that wakes near there: {who}. It may "
        "as well have been somebody whom the journal doesn't show."
    )


def _wrong_channel(cause: Cause, case: Case | None, names: Names) -> str:
    if not cause.sources:
        return "Possible: one of the others on air was on another channel than given; which one can't be told."
    loan = cause.sources[0]
    really = f"{cause.mhz} MHz" if cause.mhz is not None else "another channel"
    if case is not None and case.victim.loan == loan:
        return f"Possible: the pilot's own transmitter was on {really}, not on what it was given."
    return f"Possible: {names.loan(loan)} on {really} instead{_away(cause)}."


def _others_on_air(cause: Cause, case: Case | None, names: Names) -> str:
    if not cause.sources:
        what = "a product of others on air" if cause.kind == "product" else "another loan too near"
        return f"Possible: {what}; which one can't be told."
    who = ", ".join(names.loan(loan) for loan in cause.sources)
    if cause.kind == "product":
        return f"Possible: a product at {cause.mhz} MHz{_away(cause)}, made by {who}.{_level(cause, case, names)}"
    return f"Possible: {who}{_away(cause)}, nearer than the picture bears."


def _level(cause: Cause, case: Case | None, names: Names) -> str:
    if case is None or cause.mhz is None:
        return ""
    beside = (names.record.airings[place] for place in case.beside)
    made_by = {airing.loan: airing for airing in beside if airing.loan in cause.sources}
    return product_level(cause.mhz, [made_by[loan] for loan in sorted(made_by)], case.victim)


def _neighbour(cause: Cause) -> str:
    if cause.away_mhz is not None and cause.away_mhz < 0:
        return f"beside the field, which overlaps the channel by {-cause.away_mhz:g} MHz"
    return f"beside the field, whose edge is at {cause.mhz} MHz{_away(cause)}"


def _away(cause: Cause) -> str:
    return f", {cause.away_mhz:g} MHz from the channel" if cause.away_mhz is not None else ""
