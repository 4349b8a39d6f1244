"""What `base.html` draws around every page: role bar, alarms, notice, undo."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import Request

from meetapp.flows import done
from meetapp.flows.desk.live import alarms_word
from meetapp.flows.errors import MeetError
from meetapp.flows.frame import Frame, page_frame
from meetapp.flows.heats.field_heats import PAGE as HEATS_PAGE
from meetapp.web.deps import Viewer, any_viewer
from meetapp.web.security import form_token
from meetapp.web.state import state_of
from meetapp.web.texts import clock_time


@dataclass(frozen=True, slots=True)
class PageViewer:
    """The viewer as templates see them."""

    role: str
    name: str
    csrf_token: str


@dataclass(frozen=True, slots=True)
class Undo:
    """The undo button's form. `back`: the page it leads to; '' where the answer says."""

    action: str
    operation_key: str
    label: str = "Undo"
    back: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """A link beside a notice."""

    href: str
    text: str


@dataclass(frozen=True, slots=True)
class Notice:
    """One notice: kind 'done', 'refused' or 'offline'."""

    text: str
    kind: str = "done"
    hint: str = ""
    link: Link | None = None
    undo: Undo | None = None

    @classmethod
    def of_refusal(cls, error: MeetError) -> "Notice":
        """What a flow or a form refused, told on top of the page."""
        return cls(error.message, kind="refused", hint=error.hint)


@dataclass(frozen=True, slots=True)
class ShownAlarm:
    """A running alarm as the strip shows it."""

    kind: str
    since: str
    end_action: str | None
    operation_key: str


NAV_LINKS: dict[str, tuple[tuple[str, str], ...]] = {
    "organiser": (
        ("Set up", "/organiser"),
        ("Pilots", "/organiser/pilots"),
        ("Tokens", "/organiser/tokens"),
        ("Meets", "/organiser/meets"),
        ("Desk", "/desk"),
        ("Board", "/board"),
    ),
    "marshal": (("Desk", "/desk"), ("Check in", "/desk/check-in"), ("Count", "/desk/count"), ("Board", "/board")),
    "pilot": (("My page", "/my"), ("Board", "/board")),
    "bystander": (("Board", "/board"), ("Join", "/join")),
}


def new_key() -> str:
    """A fresh operation key for one form."""
    return secrets.token_hex(16)


def surroundings(request: Request, viewer: Viewer | None = None) -> dict[str, Any]:
    """The names that every template gets (see the top of base.html). `viewer` is whoever is signed in unless given."""
    state = state_of(request)
    viewer = viewer or any_viewer(request)
    frame = page_frame(state.store)
    may_alarm = frame.meet_id is not None and (
        viewer.keeps_desk or (frame.is_self_service and viewer.role == "pilot")
    )
    return {
        "viewer": PageViewer(viewer.role, viewer.name, form_token(request, state.server_secret)),
        "frame": frame,
        "club_name": frame.club_name,
        "safety_words": frame.safety_words,
        "alarms": _alarms(frame, may_alarm),
        "alarms_seen": alarms_word(frame.alarms),
        "alarms_url": f"/alarms?seen={alarms_word(frame.alarms)}" if frame.meet_id is not None else None,
        "live_url": f"/live/{_whose(viewer)}",
        "alarm_buttons": _alarm_buttons(frame) if may_alarm else (),
        "notice": _notice(request, viewer),
        "nav_links": (links := _nav_links(viewer, frame)),
        "here": _here(request, links),
        "sign_out": _sign_out(viewer),
        "refresh_s": None,
        "now": state.clock(),
        "is_demo": state.is_demo,
        "form_values": {},
        "form_errors": {},
    }


def _whose(viewer: Viewer) -> str:
    """Whose session a page's stream ends with."""
    if viewer.role == "bystander":
        return "all"
    return "desk" if viewer.keeps_desk else "pilot"


def _alarms(frame: Frame, may_end: bool) -> tuple[ShownAlarm, ...]:
    return tuple(
        ShownAlarm(
            alarm.kind,
            clock_time(alarm.started_at, frame.zone),
            f"/alarms/{alarm.alarm_id}/over" if may_end else None,
            new_key(),
        )
        for alarm in frame.alarms
    )


def _alarm_buttons(frame: Frame) -> tuple[tuple[str, str, str], ...]:
    running = {alarm.kind for alarm in frame.alarms}
    buttons = (("stray", "Stray transmitter now"), ("down", "Everybody down"))
    return tuple((text, f"/alarms/{kind}", new_key()) for kind, text in buttons if kind not in running)


def _notice(request: Request, viewer: Viewer) -> Notice | None:
    shown = done.shown_after(state_of(request).store, request.query_params.get("done"))
    if shown is None:
        return None
    if shown.undo_id is None or viewer.role == "bystander":
        return Notice(shown.notice)
    back = HEATS_PAGE if request.url.path == HEATS_PAGE else ""
    return Notice(shown.notice, undo=Undo(_undo_action(shown.undo_id, viewer), new_key(), back=back))


def _undo_action(line_id: int, viewer: Viewer) -> str:
    """A phone may belong to the desk and to a pilot: each takes back their own steps only."""
    return f"/my/undo/{line_id}" if viewer.role == "pilot" else f"/undo/{line_id}"


def _sign_out(viewer: Viewer) -> tuple[str, str] | None:
    if viewer.role == "bystander":
        return None
    return f"/sign-out/{'desk' if viewer.keeps_desk else 'pilot'}", new_key()


def _nav_links(viewer: Viewer, frame: Frame) -> tuple[tuple[str, str], ...]:
    """The links of the role bar; a marshal's has the heats too where the meet has any."""
    first, *rest = NAV_LINKS[viewer.role]
    if viewer.role == "marshal" and frame.has_heats:
        return (first, ("Heats", "/desk/heats"), *rest)
    return (first, *rest)


def _here(request: Request, links: Sequence[tuple[str, str]]) -> str | None:
    path = request.url.path
    fitting = [href for _text, href in links if path == href or path.startswith(f"{href}/")]
    return max(fitting, key=len, default=None)
