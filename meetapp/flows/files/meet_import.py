"""Reads a meet file back as a closed meet of this club: looked at first, then all or nothing.

What the club hasn't got is made so that it doesn't get in anybody's way: kinds, sites and pilots retired, tokens
withdrawn. What it has stays as it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlmodel import select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.files import meet_file_matching as matching
from meetapp.flows.files.meet_file_matching import Matches
from meetapp.flows.files.meet_file_reading import read_meet_file
from meetapp.flows.files.meet_file_refs import POINTS, with_ids_changed
from meetapp.flows.files.meet_file_shape import BandPart, MeetFile, Part
from meetapp.flows.readings import power_steps_text, same_name
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class ImportPreview:
    """What reading a file would do. The lists name what would be made; `is_here_already`: a meet of that name and day.

    `renamed`: tokens that get another code, since theirs is on another token here.
    """

    name: str
    on_date: date
    site_name: str
    club_name: str
    has_names: bool
    exported_at: datetime
    pilots: int
    loans: int
    reports: int
    journal_lines: int
    new_site: str
    new_kinds: tuple[str, ...]
    new_pilots: tuple[str, ...]
    new_tokens: tuple[str, ...]
    renamed: tuple[str, ...]
    is_here_already: bool


def preview(store: Store, text: str) -> ImportPreview:
    """What reading this text would do; nothing is changed.

    Raises:
        BadMeetFile: naming each fault by its place.
    """
    file = read_meet_file(text)
    with store.read() as session:
        found = matching.match(session, file)
        codes = {code.upper() for code in session.exec(select(t.Token.code))}
    new_tokens = matching.missing_tokens(file, found)
    return ImportPreview(
        name=file.meet.name,
        on_date=file.meet.on_date,
        site_name=file.site.name,
        club_name=file.club_name,
        has_names=file.has_names,
        exported_at=file.exported_at,
        pilots=sum(pilot.attendance is not None for pilot in file.pilots),
        loans=sum(loan.voided_at is None for loan in file.loans),
        reports=sum(report.voided_at is None for report in file.reports),
        journal_lines=len(file.journal),
        new_site="" if found.site_id is not None else file.site.name,
        new_kinds=tuple(kind.name for kind in matching.missing_kinds(file, found)),
        new_pilots=tuple(pilot.name for pilot in matching.missing_pilots(file, found)),
        new_tokens=tuple(f"{token.label} ({token.code})" for token in new_tokens),
        renamed=tuple(token.code for token in new_tokens if token.code.upper() in codes),
        is_here_already=found.twin is not None,
    )


def import_meet(store: Store, deed: Deed, text: str) -> Answer:
    """Make the meet of this text a closed meet of the club, with everything in it, or nothing at all.

    Raises:
        BadMeetFile: naming each fault by its place.
    """
    file = read_meet_file(text)

    def work(work: Work) -> Answer:
        found = matching.match(work.session, file)
        meet_id = _Import(work, file, found).run()
        work.note("meet_imported", {"name": file.meet.name, "count": len(file.loans)})
        notice = f"'{file.meet.name}' of {file.meet.on_date:%Y-%m-%d} is read back as a closed meet."
        return Answer(f"/organiser/meets/{meet_id}/review", notice, made_id=meet_id)

    return do_once(store, deed, work)


class _Import:
    """The rows of one file on their way into the database; `found` fills up with what is made."""

    def __init__(self, work: Work, file: MeetFile, found: Matches) -> None:
        self._work = work
        self._file = file
        self._found = found
        self._rows: dict[str, dict[int, int]] = {
            "pilots": found.pilots,
            "tokens": found.tokens,
            "transmitters": found.transmitters,
            "kinds": found.kinds,
            "loans": {},
            "reports": {},
            "heat_plans": {},
            "heats": {},
            "journal": {},
        }

    def run(self) -> int:
        """Write everything; the new meet's id."""
        self._make_plans()
        self._make_kinds()
        self._make_pilots()
        self._make_transmitters()
        self._make_tokens()
        meet_id = self._make_meet()
        self._make_loans(meet_id)
        self._make_the_rest(meet_id)
        self._make_heats(meet_id)
        self._make_journal(meet_id)
        return meet_id

    def _add(self, row: Any) -> int:
        self._work.session.add(row)
        self._work.session.flush()
        return int(row.id)

    def _id(self, rows: str, ref: int | None) -> int | None:
        return None if ref is None else self._rows[rows][ref]

    def _columns(self, part: Part, *without: str) -> dict[str, Any]:
        """The fields of a part that are columns of the same names, its refs as ids."""
        points = POINTS.get(type(part), {})
        names = set(type(part).model_fields) - {"ref", *points, *without}
        ids = {f"{name}_id": self._id(rows, getattr(part, name)) for name, rows in points.items()}
        return {name: getattr(part, name) for name in names} | ids

    def _make_plans(self) -> None:
        place = len(self._work.session.exec(select(t.ChannelPlanRow.id)).all())
        for position, plan in enumerate(matching.missing_plans(self._file, self._found), start=place):
            columns = self._columns(plan, "channels", "is_published")
            plan_id = self._add(t.ChannelPlanRow(**columns, position=position))
            for channel in plan.channels:
                self._add(t.PlanChannel(plan_id=plan_id, **self._columns(channel)))

    def _band(self, band: BandPart) -> int:
        key = next((name for name in self._found.bands if same_name(name) == same_name(band.name)), band.name)
        if key not in self._found.bands:
            row = t.BandProfile(**self._columns(band, "segments"), is_own=True, retired_at=self._work.now)
            self._found.bands[key] = self._add(row)
            for segment in band.segments:
                self._add(t.BandSegment(profile_id=self._found.bands[key], **self._columns(segment)))
        return self._found.bands[key]

    def _make_kinds(self) -> None:
        for kind in matching.missing_kinds(self._file, self._found):
            steps = power_steps_text(kind.power_steps_mw)
            columns = self._columns(kind, "power_steps_mw")
            row = t.TransmitterKind(**columns, power_steps_mw=steps, retired_at=self._work.now)
            self._found.kinds[kind.ref] = self._add(row)

    def _make_pilots(self) -> None:
        for pilot in matching.missing_pilots(self._file, self._found):
            columns = self._columns(pilot, "band_profile", "transmitters", "attendance")
            band_id = self._band(pilot.band_profile) if pilot.band_profile else None
            row = t.Pilot(**columns, band_profile_id=band_id, retired_at=self._work.now)
            self._found.pilots[pilot.ref] = self._add(row)

    def _make_transmitters(self) -> None:
        owned = [(own, pilot.ref) for pilot in self._file.pilots for own in pilot.transmitters]
        for own, pilot_ref in sorted(owned, key=lambda each: each[0].ref):
            if own.ref not in self._found.transmitters:
                pilot_id = self._found.pilots[pilot_ref]
                row = t.PilotTransmitter(pilot_id=pilot_id, **self._columns(own), retired_at=self._work.now)
                self._found.transmitters[own.ref] = self._add(row)

    def _make_tokens(self) -> None:
        taken = {code.upper() for code in self._work.session.exec(select(t.Token.code))}
        for token in matching.missing_tokens(self._file, self._found):
            code = _free_code(token.code, taken)
            taken.add(code.upper())
            columns = self._columns(token, "code", "is_in_set")
            row = t.Token(**columns, code=code, state="withdrawn", state_since=self._work.now)
            self._found.tokens[token.ref] = self._add(row)

    def _make_meet(self) -> int:
        meet_id = self._add(t.Meet(**self._columns(self._file.meet), site_id=self._site()))
        for token in self._file.tokens:
            if token.is_in_set:
                self._work.session.add(t.MeetToken(meet_id=meet_id, token_id=self._found.tokens[token.ref]))
        for pilot in self._file.pilots:
            if pilot.attendance is not None:
                pilot_id = self._found.pilots[pilot.ref]
                self._add(t.Attendance(meet_id=meet_id, pilot_id=pilot_id, **self._columns(pilot.attendance)))
        return meet_id

    def _site(self) -> int:
        if self._found.site_id is not None:
            return self._found.site_id
        site = self._file.site
        columns = self._columns(site, "band_profile", "neighbours")
        row = t.Site(**columns, band_profile_id=self._band(site.band_profile), retired_at=self._work.now)
        site_id = self._add(row)
        for neighbour in site.neighbours:
            self._add(t.Neighbour(site_id=site_id, **self._columns(neighbour)))
        return site_id

    def _make_loans(self, meet_id: int) -> None:
        for loan in sorted(self._file.loans, key=lambda loan: loan.ref):
            loan_id = self._add(t.Loan(meet_id=meet_id, **self._columns(loan, "settings")))
            self._rows["loans"][loan.ref] = loan_id
            for setting in loan.settings:
                self._add(t.LoanSetting(loan_id=loan_id, **self._columns(setting)))

    def _make_the_rest(self, meet_id: int) -> None:
        file = self._file
        lists: tuple[tuple[type[Any], Sequence[Part]], ...] = (
            (t.LineEntry, file.line),
            (t.Sharing, file.sharing),
            (t.PassOffer, file.pass_offers),
            (t.Pause, file.pauses),
            (t.Alarm, file.alarms),
        )
        for table, parts in lists:
            for part in parts:
                self._add(table(meet_id=meet_id, **self._columns(part)))
        for report in sorted(file.reports, key=lambda report: report.ref):
            self._rows["reports"][report.ref] = self._add(t.ClashReport(meet_id=meet_id, **self._columns(report)))

    def _make_heats(self, meet_id: int) -> None:
        for plan in sorted(self._file.heat_plans, key=lambda plan: plan.ref):
            self._rows["heat_plans"][plan.ref] = self._add(t.HeatPlan(meet_id=meet_id, **self._columns(plan)))
        # A heat that is flown again has a smaller ref than the one that repeats it.
        for heat in sorted(self._file.heats, key=lambda heat: heat.ref):
            heat_id = self._add(t.Heat(meet_id=meet_id, **self._columns(heat, "seats")))
            self._rows["heats"][heat.ref] = heat_id
            for seat in heat.seats:
                self._add(t.HeatSeat(heat_id=heat_id, **self._columns(seat)))

    def _make_journal(self, meet_id: int) -> None:
        for line in self._file.journal:
            facts = with_ids_changed(line.facts, self._id)
            row = t.JournalLine(meet_id=meet_id, facts=facts, **self._columns(line, "facts"))
            self._rows["journal"][line.ref] = self._add(row)


def _free_code(code: str, taken: set[str]) -> str:
    """The code itself, or with the first number behind it that makes it new."""
    number, free = 1, code
    while free.upper() in taken:
        number += 1
        free = f"{code}-{number}"
    return free
