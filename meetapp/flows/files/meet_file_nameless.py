"""A meet file without names: people are numbered, and what they wrote freely is left out."""

from collections.abc import Mapping
from typing import Any

from meetapp.flows.desk.alarms import ALARM_NAMES
from meetapp.flows.files.meet_file_shape import JournalPart, LoanPart, MeetFile, PilotPart

LEFT_OUT = "(left out)"
_FACTS_KEPT = ("label", "label_before", "look")
"""Facts in words that can name nobody."""


def without_names(file: MeetFile) -> MeetFile:
    """The same meet with 'pilot 1' for a pilot, 'marshal 1' for a marshal, 'ground 1' for another holder.

    Free text (reasons, notes, nicknames of transmitters) becomes '(left out)' where there was any, so that an override
    still shows as one. Pilots' own band profiles go too: a licence can name its holder.
    """
    holders = _numbered("ground", [loan.holder_name for loan in file.loans])
    marshals = _numbered("marshal", [line.actor_name for line in file.journal if line.actor_role == "marshal"])
    return file.model_copy(
        update={
            "has_names": False,
            "meet": file.meet.model_copy(update={"lower_floors_reason": _hidden(file.meet.lower_floors_reason)}),
            "site": file.site.model_copy(update={"note": _hidden(file.site.note)}),
            "pilots": [_pilot(pilot) for pilot in file.pilots],
            "loans": [_loan(loan, holders) for loan in file.loans],
            "pauses": [pause.model_copy(update={"reason": _hidden(pause.reason)}) for pause in file.pauses],
            "reports": [report.model_copy(update={"note": _hidden(report.note)}) for report in file.reports],
            "journal": [_line(line, holders, marshals) for line in file.journal],
        }
    )


def _hidden(text: str) -> str:
    return LEFT_OUT if text else ""


def _numbered(word: str, names: list[str]) -> dict[str, str]:
    different = dict.fromkeys(name for name in names if name)
    return {name: f"{word} {number}" for number, name in enumerate(different, start=1)}


def _pilot(pilot: PilotPart) -> PilotPart:
    return pilot.model_copy(
        update={
            "name": f"pilot {pilot.ref}",
            "board_name": f"pilot {pilot.ref}",
            "band_profile": None,
            "transmitters": [own.model_copy(update={"nickname": ""}) for own in pilot.transmitters],
        }
    )


def _loan(loan: LoanPart, holders: Mapping[str, str]) -> LoanPart:
    return loan.model_copy(
        update={
            "holder_name": holders.get(loan.holder_name, ""),
            "override_reason": _hidden(loan.override_reason),
        }
    )


def _line(line: JournalPart, holders: Mapping[str, str], marshals: Mapping[str, str]) -> JournalPart:
    actor: str = line.actor_role
    if line.actor_role == "marshal":
        actor = marshals.get(line.actor_name, actor)
    elif line.actor_pilot is not None:
        actor = f"pilot {line.actor_pilot}"
    facts = {name: _fact(name, value, holders) for name, value in line.facts.items()}
    return line.model_copy(update={"actor_name": actor, "facts": facts})


def _fact(name: str, value: Any, holders: Mapping[str, str]) -> Any:
    if isinstance(value, list):
        return [_fact(name, each, holders) for each in value]
    if not isinstance(value, str) or name in _FACTS_KEPT or value in ALARM_NAMES.values():
        return value
    return holders.get(value, _hidden(value))
