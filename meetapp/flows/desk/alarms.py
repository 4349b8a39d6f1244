"""'Stray transmitter now' and 'everybody down': raised in one tap, in sight everywhere until somebody ends them."""

from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Actor, Answer, Deed, Work, do_once
from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.flows.frame import running_alarms
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

ALARM_NAMES = {"stray": "Stray transmitter", "down": "Everybody down"}


def raise_alarm(store: Store, deed: Deed, kind: str) -> Answer:
    """Raise an alarm of this kind ('stray' or 'down') at the open meet.

    Where it runs already, nothing is added: who taps second gets the same good news.
    """
    name = ALARM_NAMES[kind]

    def work(work: Work) -> Answer:
        meet = _meet_for(work, deed.actor)
        if _running(work.session, meet.id, kind) is None:
            work.session.add(t.Alarm(meet_id=meet.id, kind=kind, started_at=work.now))
            work.note("alarm_raised", {"name": name}, meet_id=meet.id)
        return Answer(_own_page(deed.actor), f"{name}: every page says so now.")

    return do_once(store, deed, work)


def end_alarm(store: Store, deed: Deed, alarm_id: int) -> Answer:
    """Say that an alarm is over. Saying it twice changes nothing."""

    def work(work: Work) -> Answer:
        meet = _meet_for(work, deed.actor)
        alarm = work.session.get(t.Alarm, alarm_id)
        if alarm is None or alarm.meet_id != meet.id:
            raise NotFound("This alarm isn't there.", "Load the page again.")
        name = ALARM_NAMES[alarm.kind]
        if alarm.ended_at is None:
            alarm.ended_at = work.now
            work.session.add(alarm)
            minutes = int((work.now - alarm.started_at).total_seconds() // 60)
            work.note("alarm_over", {"name": name, "minutes": minutes}, meet_id=meet.id)
        return Answer(_own_page(deed.actor), f"{name}: over.")

    return do_once(store, deed, work)


def alarm_words(session: Session, meet_id: int) -> str:
    """Which alarms are on, as a sentence that says that no heat is called before they are over; '' where none is."""
    names = [ALARM_NAMES[alarm.kind] for alarm in running_alarms(session, meet_id)]
    if not names:
        return ""
    is_on, ends = ("is on", "the alarm first") if len(names) == 1 else ("are on", "both alarms first")
    return f"{' and '.join(names)} {is_on}: no heat is called now. Once it is over for everybody, end {ends}."


def came_down_since(session: Session, meet_id: int, since: datetime) -> bool:
    """Whether 'everybody down' was on at this moment or later, and is over by now."""
    over = select(t.Alarm.id).where(
        t.Alarm.meet_id == meet_id,
        t.Alarm.kind == "down",
        col(t.Alarm.ended_at) >= since,
        col(t.Alarm.voided_at).is_(None),
    )
    return session.exec(over).first() is not None


def _meet_for(work: Work, actor: Actor) -> t.Meet:
    found = queries.open_meet(work.session)
    if found is None:
        raise Refused("No meet is open, so there is nobody to warn here.", "Call out instead.")
    meet = work.lock_open_meet(found.id)
    if not (actor.keeps_desk or (actor.role == "pilot" and meet.is_self_service)):
        raise Forbidden("At this meet the desk raises alarms and ends them.", "Call out, and tell the desk.")
    return meet


def _running(session: Session, meet_id: int, kind: str) -> t.Alarm | None:
    running = select(t.Alarm).where(
        t.Alarm.meet_id == meet_id,
        t.Alarm.kind == kind,
        col(t.Alarm.ended_at).is_(None),
        col(t.Alarm.voided_at).is_(None),
    )
    return session.exec(running).one_or_none()


def _own_page(actor: Actor) -> str:
    return "/desk" if actor.keeps_desk else "/my"
