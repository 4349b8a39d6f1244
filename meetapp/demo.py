"""The demo: an invented club with a meet under way, made by the same actions that people take, minute by minute."""

import tomllib
import uuid
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from importlib.resources import files
from typing import Any

from meetapp.flows import access
from meetapp.flows.club import bands, kinds, pilots, sites
from meetapp.flows.club.kind_drafts import CARSON, OWN_WIDTH, KindDraft
from meetapp.flows.club.transmitters import TransmitterDraft
from meetapp.flows.deeds import Actor, Answer, Deed
from meetapp.flows.desk import check_in, reports
from meetapp.flows.heats.day_plan import Wanted
from meetapp.flows.heats.making import make_heats
from meetapp.flows.loans import line, loans, suggestions, token_states
from meetapp.flows.pilot import claims
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.flows.planning import choosing, chosen_set, expected, meets, opening
from meetapp.flows.secrets import new_secret
from meetapp.flows.snapshot import Snapshot, take_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store

PASSWORD = "demo meadow demo"
TOKENS = 6
SPACING_MHZ = 37
PILOT_WITH_A_PHONE = "Thimble"
HEAT_SIZE, HEAT_ROUNDS, PADS = 5, 2, 6
UNDER_WAY = timedelta(minutes=84)
"""How long the demo's meet has been open when somebody looks at it."""
TOLD_AFTER = timedelta(minutes=3)

Action = Callable[..., Answer]


@dataclass(frozen=True, slots=True)
class DemoLinks:
    """What the terminal prints for the demo's people."""

    password: str
    pin: str
    desk_secret: str
    pilot_secret: str
    pilot_name: str


class _Demo:
    """Acts on the demo's database at a time of its own."""

    def __init__(self, store: Store, start: datetime) -> None:
        self.store = store
        self.now = start
        self.actor = Actor("organiser", "Organiser")

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)

    def deed(self) -> Deed:
        """One request of the one who acts now."""
        key = str(uuid.uuid4())
        return Deed(key, key, self.actor, self.now)

    def do(self, action: Action, *arguments: Any, **named: Any) -> Answer:
        """Take one action, as the one who acts now."""
        return action(self.store, self.deed(), *arguments, **named)

    def field(self, meet_id: int) -> Snapshot:
        """The meet as it stands."""
        with self.store.read() as session:
            return take_snapshot(session, session.get_one(t.Meet, meet_id), self.now)

    def made(self, action: Action, *arguments: Any, **named: Any) -> int:
        """Take one action that makes something, and say which row it made."""
        made_id = self.do(action, *arguments, **named).made_id
        assert made_id is not None, f"{action.__name__} makes something"
        return made_id


def make_demo(url: str, now: datetime) -> DemoLinks:
    """Fill an empty database (brought forward already) with the demo club; its meet opened long before `now`."""
    world = _world()
    store = Store(url)
    try:
        demo = _Demo(store, now - UNDER_WAY - timedelta(minutes=30))
        _name_the_club(demo, world)
        kind_ids = _describe_the_kit(demo, world)
        people = _bring_pilots(demo, world, kind_ids)
        meet_id = _plan_the_meet(demo, world, people)
        desk_secret, pilot_secret = new_secret(), new_secret()
        pin = opening.new_desk_access(demo.store, demo.deed(), meet_id, desk_secret).pin
        demo.now = now - UNDER_WAY
        demo.do(opening.open_meet, meet_id)
        _check_everybody_in(demo, meet_id, people, pilot_secret)
        to_tell = _reports_to_tell(world, people, meet_id, now - UNDER_WAY)
        _fly_rounds(demo, meet_id, now - timedelta(minutes=14), to_tell)
        _last_quarter(demo, meet_id, now)
        _plan_the_heats(demo, meet_id, now)
    finally:
        store.close()
    return DemoLinks(PASSWORD, pin, desk_secret, pilot_secret, PILOT_WITH_A_PHONE)


def _world() -> dict[str, Any]:
    return tomllib.loads(files("meetapp.data").joinpath("demo_world.toml").read_text(encoding="utf-8"))


def _name_the_club(demo: _Demo, world: dict[str, Any]) -> None:
    secret = access.new_first_visit_link(demo.store, demo.now)
    assert secret is not None, "the demo starts from an empty database"
    club = world["club"]
    demo.do(access.name_club, secret, club["name"], PASSWORD, club["safety_words"].strip())


def _describe_the_kit(demo: _Demo, world: dict[str, Any]) -> list[int]:
    made = []
    for row in world["kind"]:
        told = {name: value for name, value in row.items() if name not in ("power_steps_mw", "width_mhz")}
        width = row.get("width_mhz")
        draft = KindDraft(
            **told,
            power_steps=row["power_steps_mw"],
            width_from=OWN_WIDTH if width else CARSON,
            width_mhz=width,
            width_source="invented for the demo" if width else "",
            carson_modulating_mhz=None if width else 6,
            carson_deviation_mhz=None if width else 4,
        )
        made.append(demo.made(kinds.add_kind, draft))
    return made


def _bring_pilots(demo: _Demo, world: dict[str, Any], kind_ids: list[int]) -> dict[str, int]:
    people = {}
    for name, board_name, kind, wake_mhz in world["pilots"]["rows"]:
        kit = TransmitterDraft(kind_ids[kind], "", str(wake_mhz or ""))
        people[board_name] = demo.made(pilots.add_pilot, pilots.PilotDraft(name, board_name, None), kit)
    return people


def _plan_the_meet(demo: _Demo, world: dict[str, Any], people: dict[str, int]) -> int:
    band = world["band"]
    band_id = demo.made(
        bands.add_band,
        bands.BandDraft(band["name"], band["segments"], band["condition"], band["source"], demo.now.date()),
    )
    place = world["site"]
    site_id = demo.made(sites.add_site, sites.SiteDraft(place["name"], place["time_zone"], band_id, ""))
    for wifi in world["neighbour"]:
        demo.do(sites.add_wifi, site_id, wifi["wifi_channel"], wifi["width_mhz"], wifi["label"])
    draft = meets.MeetDraft(
        name="Demo meet",
        on_date=demo.now.date(),
        site_id=site_id,
        fly_at_once=TOKENS,
        pull_mhz=2,
        head_limit_min=20,
        power_ceiling_mw=200,
        signals="both",
        is_self_service=False,
    )
    meet_id = demo.made(meets.add_meet, draft)
    demo.do(expected.set_expected, meet_id, dict.fromkeys(people.values()))
    _choose_the_channels(demo, meet_id)
    return meet_id


def _choose_the_channels(demo: _Demo, meet_id: int) -> None:
    letters = ("A", "B", "E", "F", "R")
    question = choosing.Question(TOKENS, SPACING_MHZ, "both", letters, as_wide_as_expected=False)
    shown = choosing.choose(demo.store, choosing.search_to_the_end(), meet_id, question, demo.now).shown
    assert shown is not None, "the demo's band has room for its tokens"
    usual = shown.usual
    chosen = tuple(mhz for _label, mhz in shown.channels)
    accepted = chosen_set.AcceptedSet(meet_id, chosen, SPACING_MHZ, usual.spacing_mhz, usual.clearance_mhz)
    demo.do(chosen_set.accept_set, accepted)


def _check_everybody_in(demo: _Demo, meet_id: int, people: dict[str, int], pilot_secret: str) -> None:
    demo.actor = Actor("marshal", "Marlo")
    for pilot_id in list(people.values())[:22]:
        demo.do(check_in.check_in, check_in.CheckIn(meet_id, pilot_id, Brought()))
        demo.wait(0.5)
    demo.do(claims.claim, claims.Claim(people[PILOT_WITH_A_PHONE], Brought(), True), pilot_secret)
    for name in list(people)[:14]:
        demo.do(line.join_line, meet_id, people[name])
        demo.wait(0.5)


def _reports_to_tell(
    world: dict[str, Any], people: dict[str, int], meet_id: int, opened_at: datetime
) -> deque[tuple[datetime, reports.ReportDraft]]:
    """Clash reports with when they happened, in that order."""
    rows = world["reports"]["rows"]
    return deque(
        (
            opened_at + timedelta(minutes=minute),
            reports.ReportDraft(meet_id, people[name], look, place, note, lasted_s=lasted_s),
        )
        for minute, name, look, place, lasted_s, note in rows
    )


def _tell_what_is_due(demo: _Demo, to_tell: deque[tuple[datetime, reports.ReportDraft]]) -> None:
    """A report is told some minutes after it happened, once its pilot is down."""
    while to_tell and to_tell[0][0] + TOLD_AFTER <= demo.now:
        happened_at, draft = to_tell.popleft()
        ago = round((demo.now - happened_at) / timedelta(minutes=1))
        demo.do(reports.add, replace(draft, minutes_ago=ago))


def _fly_rounds(
    demo: _Demo, meet_id: int, until: datetime, to_tell: deque[tuple[datetime, reports.ReportDraft]]
) -> None:
    """Hand out along the line as long as something fits, take the oldest back after its flight, and so on."""
    while demo.now < until:
        _tell_what_is_due(demo, to_tell)
        _hand_out_what_fits(demo, meet_id)
        demo.wait(1.6)
        longest_out = demo.field(meet_id).on_air[0]
        demo.do(loans.take_back, meet_id, longest_out.loan_id)
        demo.wait(0.5)
        demo.do(line.join_line, meet_id, longest_out.pilot_id)
    _hand_out_what_fits(demo, meet_id)


def _hand_out_what_fits(demo: _Demo, meet_id: int) -> None:
    field = demo.field(meet_id)
    hanging = TOKENS - len(field.on_air)
    for stand in field.line:
        if not hanging:
            return
        view = suggestions.hand_out_view(demo.store, meet_id, stand.pilot_id, demo.now)
        if view.suggested is not None:
            demo.do(loans.hand_out, loans.HandOut(meet_id, stand.pilot_id, view.suggested.token_id))
            demo.wait(0.7)
            hanging -= 1


def _last_quarter(demo: _Demo, meet_id: int, now: datetime) -> None:
    """Two clash reports, a token that nobody can find, one that hangs on the board."""
    out = demo.field(meet_id).on_air
    blinded, other = out[-1], out[-2]
    draft = reports.ReportDraft(meet_id, blinded.pilot_id, "lines", "flight", "Just after the gate.", 3, lasted_s=10)
    demo.do(reports.add, draft)
    demo.wait(6)
    draft = reports.ReportDraft(meet_id, other.pilot_id, "other_picture", "line", "Came back by itself.", 1, lasted_s=2)
    demo.do(reports.add, draft)
    demo.now = now - timedelta(minutes=5)
    demo.do(token_states.mark_missing, meet_id, out[0].token_id)
    demo.wait(2)
    demo.do(loans.take_back, meet_id, out[1].loan_id)


def _plan_the_heats(demo: _Demo, meet_id: int, now: datetime) -> None:
    """Heats for the afternoon, for everybody but the one who was asked last."""
    demo.actor = Actor("organiser", "Organiser")
    demo.now = now - timedelta(minutes=2)
    here = [pilot_id for pilot_id, person in demo.field(meet_id).people.items() if person.is_present]
    demo.do(make_heats, meet_id, Wanted(HEAT_SIZE, HEAT_ROUNDS, PADS, frozenset(here[:-1])))
