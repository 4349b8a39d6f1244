"""What turns up again at several meets, of meet files beside one another."""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.explained_once import explained_once
from meetapp.flows.review.explanations import ExplanationsView, view_of
from meetapp.flows.review.meet_record import record_of
from meetapp.review.explaining import MeetExplained
from meetapp.review.turning_up import TurningUp, turning_up


@dataclass(frozen=True, slots=True)
class AgainView:
    """Something that was possibly behind reports at two meets or more. `what`: pilot, kind or channel; `reports`: how
    many are expected to come from it in all."""

    what: str
    name: str
    meets: int
    reports: float
    sentence: str


@dataclass(frozen=True, slots=True)
class MeetsExplained:
    """Several meets, each explained, and what turns up again."""

    meets: tuple[ExplanationsView, ...]
    again: tuple[AgainView, ...]


def explained_files(files: Sequence[MeetFile]) -> MeetsExplained:
    """Several meet files explained beside one another."""
    explained = [explained_once(record_of(file)) for file in files]
    return MeetsExplained(
        tuple(view_of(file, each) for file, each in zip(files, explained, strict=True)),
        turned_up(explained),
    )


def turned_up(meets: Sequence[MeetExplained]) -> tuple[AgainView, ...]:
    """What turns up again at meets that are explained already, most reports first."""
    return tuple(_view(each) for each in turning_up(meets))


def _view(each: TurningUp) -> AgainView:
    return AgainView(each.what, each.name, each.meets, each.reports, again_sentence(each))


def again_sentence(each: TurningUp) -> str:
    """What turns up again in words.

    >>> again_sentence(TurningUp("channel", "5740 MHz", 3, 4.2))
    'At 3 meets pictures on 5740 MHz were possibly disturbed from outside (about 4 reports).'
    """
    count = f"about {each.reports:.0f} reports" if each.reports >= 1.5 else "about 1 report"
    elsewhere = f"on another channel than given ({count})"
    match each.what:
        case "pilot":
            return f"Possible at {each.meets} meets: {each.name}'s transmitter {elsewhere}."
        case "kind":
            return f"Possible at {each.meets} meets: a transmitter of the kind '{each.name}' {elsewhere}."
        case "channel":
            return f"At {each.meets} meets pictures on {each.name} were possibly disturbed from outside ({count})."
