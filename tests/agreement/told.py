"""What the lines of one meet come to, line by line: loans, the line, turns, offers, who is here, heats."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from tests.agreement.reading import Row, moment

GOES_OUT = ("handed_out", "handed_over", "turns_swapped", "ground_lent", "heat_token_out", "paper_loan_out")
COMES_BACK = ("taken_back", "ground_off", "token_missing", "heat_token_back", "heat_landed_late")
CHANGES_A_LOAN = ("setting_changed", "seen_on_goggles", "seen_taken_back")
GETS_A_TOKEN = ("handed_out", "handed_over", "heat_token_out", "paper_loan_out")
HERE = ("checked_in", "checked_in_new", "here_by_self")
STATES = {"meet_opened": "open", "meet_closed": "closed"}
ALARMS = {"Stray transmitter": "stray", "Everybody down": "down"}
GAPS = {"heat_no_show": "no_show", "heat_broken": "broken", "heat_no_token": "no_token"}
SOME_TIME = "some time"

At = datetime | None
HeatName = tuple[int, int]


@dataclass
class ToldLoan:
    """A loan: with whom since when, how it ended, and each setting (transmitter, label, MHz) with since and until."""

    token: int | None
    pilot: int | None
    name: str
    out: At
    back: At | str = None
    is_missing: bool = False
    seen: At = None
    is_paper: bool = False
    reasons: list[str] = field(default_factory=list)
    settings: list[list[Any]] = field(default_factory=list)


@dataclass
class ToldHeat:
    """A heat by its lines. `up`: the loans that were out when it came down; whoever has theirs still is up late."""

    state: str = "planned"
    called: At = None
    landed: At = None
    turn: int = 0
    again_for: HeatName | None = None
    gaps: dict[int, str] = field(default_factory=dict)
    up: dict[int, int] = field(default_factory=dict)


@dataclass
class Told:
    """A meet by its journal. Stays, turns, offers, pauses and alarms are lists of values, the times behind.

    `undone`: the lines left out; `odd`: lines that make no sense after those before them.
    """

    loans: dict[int, ToldLoan] = field(default_factory=dict)
    stays: list[list[Any]] = field(default_factory=list)
    passed: dict[int, bool] = field(default_factory=dict)
    turns: list[list[Any]] = field(default_factory=list)
    offers: list[list[Any]] = field(default_factory=list)
    pauses: list[list[Any]] = field(default_factory=list)
    alarms: list[list[Any]] = field(default_factory=list)
    reports: dict[int, tuple[int | None, int | None, At, str]] = field(default_factory=dict)
    here: dict[int, bool] = field(default_factory=dict)
    transmitters: dict[int, int] = field(default_factory=dict)
    state: str | None = None
    opened: At = None
    closed: At = None
    heats: dict[HeatName, ToldHeat] = field(default_factory=dict)
    plans: list[Row] = field(default_factory=list)
    left_heats: list[tuple[int, frozenset[HeatName]]] = field(default_factory=list)
    undone: list[Row] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)
    calls: int = 0

    def open_loans(self) -> dict[int, ToldLoan]:
        """Those that are out."""
        return {loan_id: loan for loan_id, loan in self.loans.items() if loan.back is None}

    def running(self, stretches: list[list[Any]]) -> list[list[Any]]:
        """Those of these that have no end: it is their last value."""
        return [each for each in stretches if each[-1] is None]


def replayed(lines: Iterable[Row]) -> Told:
    """What these lines come to; those that were undone are left out before."""
    told = Told()
    for line in lines:
        kind, facts, at = line["kind"], line["facts"], moment(line["entered_at"])
        if kind in (*COMES_BACK, *CHANGES_A_LOAN) and facts.get("loan", 0) not in {0, *told.loans}:
            told.odd.append(f"line {line['id']} is about loan {facts['loan']}, and none before it tells of that")
            continue
        _tell_ends(told, kind, facts, at)
        _tell_loans(told, line, kind, facts, at)
        _tell_line(told, kind, facts, at)
        _tell_turns(told, kind, facts, at)
        _tell_offers(told, kind, facts, at)
        _tell_meet(told, line, kind, facts, at)
        _tell_heats(told, line, kind, facts, at)
    return told


def _tell_ends(told: Told, kind: str, facts: Row, at: At) -> None:
    """A loan that ends takes its offers and the turns on its token with it."""
    ended = facts.get("loan") if kind in COMES_BACK else facts.get("loan_before") if kind in GOES_OUT else None
    if ended not in told.loans:
        return
    loan = told.loans[ended]
    loan.back, loan.is_missing = at, kind == "token_missing"
    _end_settings(loan, at)
    for offer in told.running(told.offers):
        if offer[0] == ended:
            offer[2:] = [kind == "handed_over" and offer[1] == facts["pilot"], *offer[3:-1], at]
    if loan.token is not None and kind != "turns_swapped":
        _end(told.turns, at, lambda each: each[0] == loan.token)


def _tell_loans(told: Told, line: Row, kind: str, facts: Row, at: At) -> None:
    if kind in GOES_OUT or kind == "paper_loan":
        out = moment(line["happened_at"])
        loan = ToldLoan(facts.get("token"), facts.get("pilot"), facts.get("name") or "", out)
        loan.is_paper = kind.startswith("paper")
        # Of paper the transmitter isn't told, and when it came back only to the minute.
        loan.settings.append([facts.get("transmitter"), facts["label"], facts["mhz"], out, None])
        if kind == "paper_loan":
            loan.back = loan.settings[0][-1] = SOME_TIME
        told.loans[facts["loan"]] = loan
    elif kind == "setting_changed":
        loan = told.loans[facts["loan"]]
        before = loan.settings[-1]
        _end_settings(loan, at)
        loan.settings.append([facts.get("transmitter"), facts["label"], facts["mhz"], at, None])
        if before[0] != facts.get("transmitter") or before[2] != facts["mhz"]:
            loan.seen = None
    elif kind in ("seen_on_goggles", "seen_taken_back"):
        told.loans[facts["loan"]].seen = at if kind == "seen_on_goggles" else None
    elif kind == "override" and facts.get("loan") in told.loans:
        told.loans[facts["loan"]].reasons.append(facts["reason"])
    if facts.get("transmitter") is not None and facts.get("pilot") is not None:
        told.transmitters[facts["pilot"]] = facts["transmitter"]


def _end_settings(loan: ToldLoan, at: At) -> None:
    if loan.settings[-1][-1] is None:
        loan.settings[-1][-1] = at


def _tell_line(told: Told, kind: str, facts: Row, at: At) -> None:
    """Who stood in the line from when until when, served or not; `passed`: who stands there, and is passed once."""
    pilot = facts.get("pilot")
    if kind == "line_joined":
        told.passed[facts["pilot"]] = False
        told.stays.append([pilot, at, False, None])
    elif kind == "line_place_back":
        stay = [each for each in told.stays if each[0] == pilot][-1]
        stay[2:] = [False, None]
        told.passed = {each[0]: told.passed.get(each[0], False) for each in told.running(told.stays)}
    elif kind in ("line_not_ready", "line_ready_again") and pilot in told.passed:
        told.passed[facts["pilot"]] = kind == "line_not_ready"
    elif kind in GETS_A_TOKEN and pilot in told.passed:
        _leave(told, facts["pilot"], at, is_served=True)
        told.passed.update(dict.fromkeys(told.passed, False))
    elif kind in ("line_left", "went_home"):
        _leave(told, facts["pilot"], at)
    elif kind == "sharing_started":
        _leave(told, facts["other_pilot"], at)
    elif kind == "meet_closed":
        for each in tuple(told.passed):
            _leave(told, each, at)


def _leave(told: Told, pilot: int, at: At, *, is_served: bool = False) -> None:
    if told.passed.pop(pilot, None) is not None:
        for stay in told.running(told.stays):
            if stay[0] == pilot:
                stay[2:] = [is_served, at]


def _tell_turns(told: Told, kind: str, facts: Row, at: At) -> None:
    if kind == "sharing_started":
        told.turns.append([facts["token"], facts["pilot"], facts["other_pilot"], at, None])
    elif kind == "turns_swapped":
        for turns in told.running(told.turns):
            if turns[0] == facts["token"]:
                turns[1], turns[2] = turns[2], turns[1]
    elif kind == "sharing_ended":
        _end(told.turns, at, lambda each: each[0] == facts["token"])
    elif kind in GETS_A_TOKEN or kind == "went_home":
        _end(told.turns, at, lambda each: each[2] == facts["pilot"])
    elif kind == "meet_closed":
        _end(told.turns, at, lambda each: True)


def _tell_offers(told: Told, kind: str, facts: Row, at: At) -> None:
    if kind == "pass_offered":
        told.offers.append([facts["loan"], facts["other_pilot"], False, at, None])
    elif kind in ("pass_withdrawn", "pass_refused"):
        _end(told.offers, at, lambda each: each[0] == facts["loan"])
    elif kind == "meet_closed":
        _end(told.offers, at, lambda each: True)


def _end(stretches: list[list[Any]], at: At, is_meant: Any) -> None:
    for each in stretches:
        if each[-1] is None and is_meant(each):
            each[-1] = at


def _tell_meet(told: Told, line: Row, kind: str, facts: Row, at: At) -> None:
    if kind == "report_added":
        when = moment(line["happened_at"])
        told.reports[facts["report"]] = (facts.get("pilot"), facts.get("loan"), when, facts["look"])
    elif kind == "alarm_raised":
        told.alarms.append([ALARMS[facts["name"]], at, None])
    elif kind == "alarm_over":
        _end(told.alarms, at, lambda each: each[0] == ALARMS[facts["name"]])
    elif kind == "paused":
        told.pauses.append([facts["reason"], at, None])
    elif kind == "resumed":
        _end(told.pauses, at, lambda each: True)
    elif kind in STATES:
        told.state = STATES[kind]
        told.opened, told.closed = (at, None) if kind == "meet_opened" else (told.opened, at)
    elif kind in HERE or kind == "went_home":
        told.here[facts["pilot"]] = kind != "went_home"


def _tell_heats(told: Told, line: Row, kind: str, facts: Row, at: At) -> None:
    if kind == "heats_made":
        told.plans.append(facts | {"at": at})
        told.heats = {name: heat for name, heat in told.heats.items() if heat.state != "planned"}
    elif kind == "heat_left":
        flown = frozenset(name for name, heat in told.heats.items() if heat.state in ("flown", "voided"))
        told.left_heats.append((facts["pilot"], flown))
    elif kind in GAPS:
        _heat(told, facts).gaps[facts["pilot"]] = GAPS[kind]
    elif kind == "heat_called":
        heat = _heat(told, facts)
        told.calls += 1
        heat.state, heat.called, heat.turn = "called", at, told.calls
    elif kind == "heat_call_off":
        heat = _heat(told, facts)
        heat.state, heat.called = "planned", None
    elif kind in ("heat_flown", "heat_voided"):
        heat = _heat(told, facts)
        if heat.state == "called":
            heat.up = {loan.pilot: loan_id for loan_id, loan in _out_since(told, heat.called) if loan.pilot}
        heat.state, heat.landed = kind.removeprefix("heat_"), heat.landed or at
        if facts.get("again"):
            told.heats[facts["round"], facts["again"]] = ToldHeat(again_for=(facts["round"], facts["number"]))


def _heat(told: Told, facts: Row) -> ToldHeat:
    return told.heats.setdefault((facts["round"], facts["number"]), ToldHeat())


def _out_since(told: Told, at: At) -> list[tuple[int, ToldLoan]]:
    return [(each, loan) for each, loan in told.open_loans().items() if at and loan.out and loan.out >= at]
