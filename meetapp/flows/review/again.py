"""What turns up again at several meets, of meet files beside one another."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from meetapp.flows.errors import Refused
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.explained_once import explained_once
from meetapp.flows.review.explanations import ExplanationsView, view_of
from meetapp.flows.review.meet_record import record_of
from meetapp.review.causes import WORDS
from meetapp.review.explaining import MeetExplained
from meetapp.review.turning_up import TurningUp, turning_up


@dataclass(frozen=True, slots=True)
class AgainView:
    """Something that was possibly behind reports at two meets or more. `what`: pilot, kind or channel; `cause`: as
    what, None for a channel; `reports`: how many are expected to come from it in all."""

    what: str
    name: str
    cause: str | None
    meets: int
    reports: float
    sentence: str


@dataclass(frozen=True, slots=True)
class MeetsExplained:
    """Several meets, each explained, and what turns up again."""

    meets: tuple[ExplanationsView, ...]
    again: tuple[AgainView, ...]


def explained_files(files: Sequence[MeetFile]) -> MeetsExplained:
    """Several meet files explained beside one another.

    Raises:
        Refused: two of them are the same meet, which would then turn up again.
    """
    for number, file in enumerate(files):
        if any(is_same_meet(file, other) for other in files[:number]):
            raise Refused(
                f"Two of these files are the same meet ({file.meet.name}, {file.meet.on_date}): give it once."
            )
    explained = [explained_once(record_of(file)) for file in files]
    return MeetsExplained(
        tuple(view_of(file, each) for file, each in zip(files, explained, strict=True)),
        turned_up([_known_by_name(file, each) for file, each in zip(files, explained, strict=True)]),
    )


def is_same_meet(file: MeetFile, other: MeetFile) -> bool:
    """Whether both are of one meet, perhaps exported at different times: of the same name and day, with the same loans
    as far as the shorter goes."""
    if (file.meet.name, file.meet.on_date) != (other.meet.name, other.meet.on_date):
        return False
    ours, theirs = ({loan.out_at for loan in each.loans} for each in (file, other))
    return 2 * len(ours & theirs) >= min(len(ours), len(theirs))


def _known_by_name(file: MeetFile, each: MeetExplained) -> MeetExplained:
    """'Pilot 3' of a file without names is somebody else in the next one."""
    return each if file.has_names else replace(each, record=replace(each.record, fliers=()))


def turned_up(meets: Sequence[MeetExplained]) -> tuple[AgainView, ...]:
    """What turns up again at meets that are explained already, most reports first."""
    return tuple(_view(each) for each in turning_up(meets))


def _view(each: TurningUp) -> AgainView:
    return AgainView(each.what, each.name, each.cause, each.meets, each.reports, again_sentence(each))


def again_sentence(each: TurningUp) -> str:
    """What turns up again in words.

    >>> again_sentence(TurningUp("channel", "5740 MHz", None, 3, 4.2, 61))
    'At 3 meets pictures on 5740 MHz were possibly disturbed from outside (about 4 reports in 61 flights).'
    >>> again_sentence(TurningUp("pilot", "Ana", "own_receiver", 2, 1.2, 9))
    'Possible at 2 meets: own goggles, antenna, range or battery of Ana (about 1 report in 9 flights).'
    """
    reports = f"about {each.reports:.0f} reports" if each.reports >= 1.5 else "about 1 report"
    count = f"{reports} in {each.flights} flights" if each.flights > 1 else reports
    match each.what, each.cause:
        case "channel", _:
            return f"At {each.meets} meets pictures on {each.name} were possibly disturbed from outside ({count})."
        case "pilot", "own_receiver":
            return f"Possible at {each.meets} meets: {WORDS['own_receiver']} of {each.name} ({count})."
        case "kind", "own_receiver":
            return (
                f"Possible at {each.meets} meets: {WORDS['own_receiver']} of pilots with the kind '{each.name}', more "
                f"often than of others ({count})."
            )
        case "pilot", "no_token":
            return (
                f"Possible at {each.meets} meets: {each.name}'s transmitter on air without a token ({reports}); each "
                "meet's page says who else it may have been."
            )
        case "pilot", _:
            return f"Possible at {each.meets} meets: {each.name}'s transmitter on another channel than given ({count})."
        case _:
            whose = f"a transmitter of the kind '{each.name}'"
            return f"Possible at {each.meets} meets: {whose} on another channel than given ({count})."
