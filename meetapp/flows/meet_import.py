"""Reads a meet file back as a closed meet of this club: looked at first, then all or nothing.

What the club hasn't got is made so that it doesn't get in anybody's way: kinds, sites and pilots retired, tokens
withdrawn. What it has stays as it is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlmodel import select

from meetapp.flows import meet_file_matching as matching
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.meet_file_facts import with_ids_changed
from meetapp.flows.meet_file_matching import Matches
from meetapp.flows.meet_file_reading import read_meet_file
from meetapp.flows.meet_file_shape import BandPart, LoanPart, MeetFile, Part
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
            "journal": {},
        }

    def run(self) -> int:
        """Write everything; the new meet's id."""
        self._make_plans()
        self._make_kinds()
        self._make_pilots()
        self._make_tokens()
        meet_id = self._make_meet()
        self._make_attendances(meet_id)
        self._make_loans(meet_id)
        self._make_line_and_spans(meet_id)
        self._make_reports(meet_id)
        self._make_journal(meet_id)
        return meet_id

    def _add(self, row: Any) -> int:
        self._work.session.add(row)
        self._work.session.flush()
        return int(row.id)

    def _maybe(self, rows: str, ref: int | None) -> int | None:
        return None if ref is None else self._rows[rows][ref]

    def _make_plans(self) -> None:
        place = len(self._work.session.exec(select(t.ChannelPlanRow.id)).all())
        for position, plan in enumerate(matching.missing_plans(self._file, self._found), start=place):
            row = t.ChannelPlanRow(letter=plan.letter, name=plan.name, source=plan.source, position=position)
            plan_id = self._add(row)
            for channel in plan.channels:
                self._add(t.PlanChannel(plan_id=plan_id, number=channel.number, mhz=channel.mhz))

    def _band(self, band: BandPart) -> int:
        key = next((name for name in self._found.bands if same_name(name) == same_name(band.name)), None)
        if key is None:
            key = band.name
            row = t.BandProfile(**_columns(band, "segments"), is_own=True, retired_at=self._work.now)
            self._found.bands[key] = self._add(row)
            for segment in band.segments:
                self._add(t.BandSegment(profile_id=self._found.bands[key], **_columns(segment)))
        return self._found.bands[key]

    def _make_kinds(self) -> None:
        for kind in matching.missing_kinds(self._file, self._found):
            steps = power_steps_text(kind.power_steps_mw)
            columns = _columns(kind, "ref", "power_steps_mw")
            row = t.TransmitterKind(**columns, power_steps_mw=steps, retired_at=self._work.now)
            self._found.kinds[kind.ref] = self._add(row)

    def _make_pilots(self) -> None:
        for pilot in matching.missing_pilots(self._file, self._found):
            band_id = self._band(pilot.band_profile) if pilot.band_profile else None
            row = t.Pilot(
                name=pilot.name, board_name=pilot.board_name, band_profile_id=band_id, retired_at=self._work.now
            )
            self._found.pilots[pilot.ref] = self._add(row)
        owned = [(own, pilot.ref) for pilot in self._file.pilots for own in pilot.transmitters]
        for own, pilot_ref in sorted(owned, key=lambda each: each[0].ref):
            if own.ref not in self._found.transmitters:
                transmitter = t.PilotTransmitter(
                    pilot_id=self._found.pilots[pilot_ref],
                    kind_id=self._found.kinds[own.kind],
                    nickname=own.nickname,
                    retired_at=self._work.now,
                )
                self._found.transmitters[own.ref] = self._add(transmitter)

    def _make_tokens(self) -> None:
        taken = {code.upper() for code in self._work.session.exec(select(t.Token.code))}
        for token in matching.missing_tokens(self._file, self._found):
            code = _free_code(token.code, taken)
            taken.add(code.upper())
            row = t.Token(
                code=code,
                label=token.label,
                nominal_mhz=token.nominal_mhz,
                state="withdrawn",
                state_since=self._work.now,
            )
            self._found.tokens[token.ref] = self._add(row)

    def _make_meet(self) -> int:
        meet_id = self._add(t.Meet(**_columns(self._file.meet), site_id=self._site()))
        for token in self._file.tokens:
            if token.is_in_set:
                self._work.session.add(t.MeetToken(meet_id=meet_id, token_id=self._found.tokens[token.ref]))
        return meet_id

    def _site(self) -> int:
        if self._found.site_id is not None:
            return self._found.site_id
        site = self._file.site
        band_id = self._band(site.band_profile)
        columns = _columns(site, "band_profile", "neighbours")
        site_id = self._add(t.Site(**columns, band_profile_id=band_id, retired_at=self._work.now))
        for neighbour in site.neighbours:
            self._add(t.Neighbour(site_id=site_id, **_columns(neighbour)))
        return site_id

    def _make_attendances(self, meet_id: int) -> None:
        for pilot in self._file.pilots:
            if pilot.attendance is not None:
                columns = _columns(pilot.attendance, "transmitter")
                transmitter_id = self._maybe("transmitters", pilot.attendance.transmitter)
                pilot_id = self._found.pilots[pilot.ref]
                self._add(t.Attendance(meet_id=meet_id, pilot_id=pilot_id, transmitter_id=transmitter_id, **columns))

    def _make_loans(self, meet_id: int) -> None:
        for loan in sorted(self._file.loans, key=lambda loan: loan.ref):
            token_id, pilot_id = self._maybe("tokens", loan.token), self._maybe("pilots", loan.pilot)
            columns = _columns(loan, "ref", "token", "pilot", "settings")
            loan_id = self._add(t.Loan(meet_id=meet_id, token_id=token_id, pilot_id=pilot_id, **columns))
            self._rows["loans"][loan.ref] = loan_id
            self._make_settings(loan, loan_id)

    def _make_settings(self, loan: LoanPart, loan_id: int) -> None:
        for setting in loan.settings:
            transmitter_id = self._maybe("transmitters", setting.transmitter)
            columns = _columns(setting, "transmitter")
            self._add(t.LoanSetting(loan_id=loan_id, transmitter_id=transmitter_id, **columns))

    def _make_line_and_spans(self, meet_id: int) -> None:
        pilots, tokens, loans = self._rows["pilots"], self._rows["tokens"], self._rows["loans"]
        for entry in self._file.line:
            self._add(t.LineEntry(meet_id=meet_id, pilot_id=pilots[entry.pilot], **_columns(entry, "pilot")))
        for turns in self._file.sharing:
            ids: dict[str, Any] = {
                "token_id": tokens[turns.token],
                "pilot_id": pilots[turns.pilot],
                "partner_id": pilots[turns.partner],
            }
            self._add(t.Sharing(meet_id=meet_id, **ids, **_columns(turns, "token", "pilot", "partner")))
        for offer in self._file.pass_offers:
            loan_id, to_id = loans[offer.loan], pilots[offer.to_pilot]
            columns = _columns(offer, "loan", "to_pilot")
            self._add(t.PassOffer(meet_id=meet_id, loan_id=loan_id, to_pilot_id=to_id, **columns))
        for pause in self._file.pauses:
            self._add(t.Pause(meet_id=meet_id, **_columns(pause)))
        for alarm in self._file.alarms:
            self._add(t.Alarm(meet_id=meet_id, **_columns(alarm)))

    def _make_reports(self, meet_id: int) -> None:
        for report in sorted(self._file.reports, key=lambda report: report.ref):
            pilot_id, loan_id = self._maybe("pilots", report.pilot), self._maybe("loans", report.loan)
            columns = _columns(report, "ref", "pilot", "loan")
            row = t.ClashReport(meet_id=meet_id, pilot_id=pilot_id, loan_id=loan_id, **columns)
            self._rows["reports"][report.ref] = self._add(row)

    def _make_journal(self, meet_id: int) -> None:
        for line in self._file.journal:
            row = t.JournalLine(
                meet_id=meet_id,
                facts=with_ids_changed(line.facts, self._maybe),
                undoes_id=self._maybe("journal", line.undoes),
                actor_pilot_id=self._maybe("pilots", line.actor_pilot),
                **_columns(line, "ref", "facts", "undoes", "actor_pilot"),
            )
            self._rows["journal"][line.ref] = self._add(row)


def _columns(part: Part, *without: str) -> Mapping[str, Any]:
    """The fields of a part that are columns of the same names."""
    return {name: getattr(part, name) for name in type(part).model_fields if name not in without}


def _free_code(code: str, taken: set[str]) -> str:
    """The code itself, or with the first number behind it that makes it new."""
    number, free = 1, code
    while free.upper() in taken:
        number += 1
        free = f"{code}-{number}"
    return free
