"""What a meet file can get wrong although each field is in order: rows that aren't there, times that run backwards."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from meetapp.flows.files.meet_file_heats import heat_faults
from meetapp.flows.files.meet_file_refs import POINTS, ids_by_rows, is_well_formed
from meetapp.flows.files.meet_file_shape import LoanPart, MeetFile, Part, SettingPart
from meetapp.flows.journal_sentences import SENTENCES
from meetapp.rules.setting_card_text import parse_card
from meetapp.rules.setting_cards import BadCard
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan
from meetapp.spectrum.tuning import parse_tuning

_LISTS = ("loans", "line", "sharing", "pass_offers", "reports", "heats")


def faults(file: MeetFile) -> Iterator[str]:
    """Every contradiction in a closed meet's file, one sentence each, with its place."""
    yield from _meet_faults(file)
    yield from _site_faults(file)
    yield from _kind_faults(file)
    known = _known(file)
    yield from _double_faults(file)
    yield from _reference_faults(file, known)
    yield from _loan_faults(file)
    yield from _span_faults(file)
    yield from heat_faults(file)
    yield from _journal_faults(file, known)


def _meet_faults(file: MeetFile) -> Iterator[str]:
    meet = file.meet
    if meet.state != "closed":
        yield f"meet.state is '{meet.state}': only a closed meet can be read back. Close it, then export it again."
    elif meet.opened_at is None or meet.closed_at is None:
        yield "meet.closed_at and meet.opened_at must both be there in a closed meet."
    elif meet.closed_at < meet.opened_at:
        yield "meet.closed_at lies before meet.opened_at."


def _site_faults(file: MeetFile) -> Iterator[str]:
    try:
        ZoneInfo(file.site.time_zone)
    except (KeyError, ValueError, OSError):
        yield f"site.time_zone '{file.site.time_zone}' is no time zone that this machine knows."
    bands = [("site.band_profile", file.site.band_profile)]
    bands += [(f"pilots[{n}].band_profile", p.band_profile) for n, p in enumerate(file.pilots) if p.band_profile]
    for place, band in bands:
        for number, part in enumerate(band.segments):
            try:
                Segment(part.low_mhz, part.high_mhz, part.power_mw)
            except BadProblem as problem:
                yield f"{place}.segments[{number}]: {problem.reason}"


def _kind_faults(file: MeetFile) -> Iterator[str]:
    try:
        plans = plans_in(file)
    except BadProblem as problem:
        yield f"plans: {problem.reason}"
        return
    for number, kind in enumerate(file.kinds):
        for field, text in (("tuning", kind.tuning), ("goggles", kind.goggles)):
            try:
                if text:
                    parse_tuning(text, plans)
            except BadProblem as problem:
                yield f"kinds[{number}].{field}: {problem.reason}"
        try:
            if kind.setting_card:
                parse_card(kind.setting_card)
        except BadCard as bad:
            yield f"kinds[{number}].setting_card: {bad.reason}"


def plans_in(file: MeetFile) -> tuple[ChannelPlan, ...]:
    """The file's channel plans as the sums see them.

    Raises:
        BadProblem: a plan that can't be.
    """
    return tuple(
        ChannelPlan(
            plan.letter,
            plan.name,
            tuple(Channel(plan.letter, channel.number, channel.mhz) for channel in plan.channels),
            plan.source,
        )
        for plan in file.plans
    )


def _known(file: MeetFile) -> dict[str, set[int]]:
    return {
        "kinds": {kind.ref for kind in file.kinds},
        "pilots": {pilot.ref for pilot in file.pilots},
        "transmitters": {own.ref for pilot in file.pilots for own in pilot.transmitters},
        "tokens": {token.ref for token in file.tokens},
        "loans": {loan.ref for loan in file.loans},
        "reports": {report.ref for report in file.reports},
        "heat_plans": {plan.ref for plan in file.heat_plans},
        "heats": {heat.ref for heat in file.heats},
        "journal": {line.ref for line in file.journal},
    }


def _double_faults(file: MeetFile) -> Iterator[str]:
    yield from _doubles("plans", "letter", [plan.letter for plan in file.plans])
    yield from _doubles("kinds", "name", [kind.name for kind in file.kinds])
    yield from _doubles("tokens", "code", [token.code for token in file.tokens])
    for name in ("kinds", "pilots", "tokens", "loans", "reports", "heat_plans", "heats", "journal"):
        yield from _doubles(name, "ref", [row.ref for row in getattr(file, name)])
    every = [own.ref for pilot in file.pilots for own in pilot.transmitters]
    yield from _doubles("pilots' transmitters", "ref", every)


def _doubles(name: str, field: str, values: Sequence[Any]) -> Iterator[str]:
    seen: set[Any] = set()
    for number, value in enumerate(values):
        if value in seen:
            yield f"{name}[{number}].{field} '{value}' stands there twice."
        seen.add(value)


def _reference_faults(file: MeetFile, known: dict[str, set[int]]) -> Iterator[str]:
    for name in _LISTS:
        for number, row in enumerate(getattr(file, name)):
            yield from _dangling_refs(f"{name}[{number}]", row, known)
    for number, heat in enumerate(file.heats):
        for seat_number, seat in enumerate(heat.seats):
            yield from _dangling_refs(f"heats[{number}].seats[{seat_number}]", seat, known)
    for number, pilot in enumerate(file.pilots):
        for own_number, own in enumerate(pilot.transmitters):
            yield from _dangling_refs(f"pilots[{number}].transmitters[{own_number}]", own, known)
        if pilot.attendance is not None:
            own_refs = {"transmitters": {own.ref for own in pilot.transmitters}}
            yield from _dangling_refs(f"pilots[{number}].attendance", pilot.attendance, own_refs)


def _dangling_refs(place: str, part: Part, known: dict[str, set[int]]) -> Iterator[str]:
    for field, rows in POINTS[type(part)].items():
        yield from _dangling(f"{place}.{field}", getattr(part, field), rows, known)


def _dangling(place: str, ref: int | None, rows: str, known: dict[str, set[int]]) -> Iterator[str]:
    if ref is not None and ref not in known[rows]:
        yield f"{place} points at number {ref} of {rows}, which isn't in the file."


def _loan_faults(file: MeetFile) -> Iterator[str]:
    own = {pilot.ref: {each.ref for each in pilot.transmitters} for pilot in file.pilots}
    for number, loan in enumerate(file.loans):
        place = f"loans[{number}]"
        yield from _holder_faults(place, loan)
        for setting_number, setting in enumerate(loan.settings):
            yield from _setting_faults(f"{place}.settings[{setting_number}]", loan, setting, own)
    yield from _overlaps(file, "token")
    yield from _overlaps(file, "pilot")


def _holder_faults(place: str, loan: LoanPart) -> Iterator[str]:
    if loan.pilot is None and not loan.holder_name:
        yield f"{place} has neither a pilot nor a holder_name."
    if loan.pilot is not None and loan.token is None:
        yield f"{place}.token is missing: a pilot's loan has a token."
    if loan.voided_at is None and loan.in_at is None:
        yield f"{place}.in_at is missing, though the meet is closed."
    if loan.in_at is not None and loan.in_at < loan.out_at:
        yield f"{place}.in_at lies before its out_at."
    if loan.voided_at is None and all(setting.voided_at is not None for setting in loan.settings):
        yield f"{place}.settings are missing: nobody could say what was on air."


def _setting_faults(place: str, loan: LoanPart, setting: SettingPart, own: dict[int, set[int]]) -> Iterator[str]:
    if setting.transmitter is not None and setting.transmitter not in own.get(loan.pilot or 0, set()):
        yield f"{place}.transmitter points at number {setting.transmitter}, which isn't one of that pilot's."
    if loan.voided_at is not None or setting.voided_at is not None:
        return
    if setting.until_at is None:
        yield f"{place}.until_at is missing, though the loan ended."
    elif setting.until_at < setting.since_at:
        yield f"{place}.until_at lies before its since_at."
    elif setting.since_at < loan.out_at or (loan.in_at is not None and setting.until_at > loan.in_at):
        yield f"{place} reaches beyond its loan."


def _overlaps(file: MeetFile, of: str) -> Iterator[str]:
    """Two loans of one token, or of one pilot, at the same time."""
    by_ref: defaultdict[int, list[tuple[datetime, datetime, int]]] = defaultdict(list)
    for number, loan in enumerate(file.loans):
        ref = getattr(loan, of)
        if ref is not None and loan.voided_at is None and loan.in_at is not None:
            by_ref[ref].append((loan.out_at, loan.in_at, number))
    for spans in by_ref.values():
        for (_, end, first), (start, _, second) in pairwise(sorted(spans)):
            if start < end:
                yield f"loans[{second}] overlaps loans[{first}]: the same {of} twice at one time."


def _span_faults(file: MeetFile) -> Iterator[str]:
    yield from _backward("line", "joined_at", "left_at", file.line)
    for name in ("sharing", "pass_offers", "pauses", "alarms"):
        yield from _backward(name, "started_at", "ended_at", getattr(file, name))
    for number, row in enumerate(file.sharing):
        if row.pilot == row.partner:
            yield f"sharing[{number}].partner is the pilot themself."


def _backward(name: str, start: str, end: str, rows: Sequence[Any]) -> Iterator[str]:
    for number, row in enumerate(rows):
        ended = getattr(row, end)
        if row.voided_at is None and ended is None:
            yield f"{name}[{number}].{end} is missing, though the meet is closed."
        elif ended is not None and ended < getattr(row, start):
            yield f"{name}[{number}].{end} lies before its {start}."


def _journal_faults(file: MeetFile, known: dict[str, set[int]]) -> Iterator[str]:
    earlier: set[int] = set()
    undone: set[int] = set()
    for number, line in enumerate(file.journal):
        place = f"journal[{number}]"
        yield from _fact_faults(f"{place}.facts", line.facts, known | {"journal": earlier})
        if line.kind not in SENTENCES:
            yield f"{place}.kind '{line.kind}' isn't known here."
        yield from _dangling(f"{place}.actor_pilot", line.actor_pilot, "pilots", known)
        if line.undoes is not None and (line.undoes not in earlier or line.undoes in undone):
            yield f"{place}.undoes must be an earlier line that nothing else undoes."
        if line.undoes is not None:
            undone.add(line.undoes)
        earlier.add(line.ref)


def _fact_faults(place: str, facts: Mapping[str, Any], known: dict[str, set[int]]) -> Iterator[str]:
    malformed = [name for name, value in facts.items() if not is_well_formed(name, value)]
    for name in malformed:
        yield f"{place}.{name} must be a ref of this file."
    if not malformed:
        for rows, ref in ids_by_rows(facts):
            yield from _dangling(place, ref, rows, known)
