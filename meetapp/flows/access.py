"""Who is who: the first visit, signing in, sessions that can be ended."""

import secrets
from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import bindparam
from sqlalchemy import select as columns
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlmodel import Session, col, or_, select

from meetapp.flows.club.club import seed_catalogue
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused, WrongSecret
from meetapp.flows.secrets import PASSWORD_MIN, new_secret, password_fits, password_hash, secret_hash
from meetapp.flows.sessions import LIFETIMES, end_sessions
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A live session: role, name, the meet it is for (marshals) and the pilot it is (pilots)."""

    session_id: int
    role: str
    name: str
    meet_id: int | None
    pilot_id: int | None


@dataclass(frozen=True, slots=True)
class NewSession:
    """A session just made, with the secret for the cookie (never stored) and when it ends at the latest."""

    secret: str
    ends_at: datetime


def server_secret(store: Store, now: datetime) -> str:
    """The secret that form tokens are made with; made at the first start."""
    with store.write() as session:
        row = session.get(t.Installation, 1)
        if row is None:
            row = t.Installation(server_secret=secrets.token_hex(32), made_at=now)
            session.add(row)
            try:
                session.commit()
            except IntegrityError:  # another server on the same database made it at the same moment
                session.rollback()
                row = session.get_one(t.Installation, 1)
        return row.server_secret


def new_first_visit_link(store: Store, now: datetime) -> str | None:
    """A fresh one-time secret for naming the club, or None where the club is named already."""
    server_secret(store, now)
    with store.write() as session:
        if session.get(t.Club, 1) is not None:
            return None
        secret = new_secret()
        row = session.get_one(t.Installation, 1)
        row.first_visit_hash = secret_hash(secret)
        session.add(row)
        session.commit()
        return secret


def check_first_visit(store: Store, secret: str) -> None:
    """Raise NotFound unless this secret may name the club now."""
    with store.read() as session:
        _first_visit_row(session, secret)


def _first_visit_row(session: Session, secret: str) -> t.Installation:
    row = session.get(t.Installation, 1)
    if row is None or row.first_visit_hash != secret_hash(secret) or session.get(t.Club, 1) is not None:
        raise NotFound(
            "This first-visit link is used up or not known.",
            "Look at the terminal where the tool was started: it prints a fresh link while the club has no name.",
        )
    return row


def passwords_differ() -> Refused:
    """The refusal for a new password that was typed in two ways."""
    return Refused("The two passwords differ.", "Type the same one twice.", field="password_again")


def name_club(store: Store, deed: Deed, secret: str, name: str, password: str, safety_words: str) -> Answer:
    """First visit: name the club and set the organiser's password. The link works once."""
    if len(password) < PASSWORD_MIN:
        raise Refused(f"The password needs at least {PASSWORD_MIN} characters.", field="password")

    def work(work: Work) -> Answer:
        row = _first_visit_row(work.session, secret)
        row.first_visit_hash = None
        work.session.add(row)
        work.session.add(
            t.Club(name=name, password_hash=password_hash(password), safety_words=safety_words, made_at=work.now)
        )
        seed_catalogue(work.session)
        work.note("club_named", {"name": name})
        return Answer("/organiser", f"Welcome, {name}. Set up your club step by step.")

    return do_once(store, deed, work)


def sign_in_organiser(store: Store, password: str, now: datetime) -> NewSession:
    """A session for the organiser, if the password fits."""
    with store.read() as session:
        club = session.get(t.Club, 1)
    if club is None or not password_fits(password, club.password_hash):
        raise WrongSecret("This password doesn't fit.", "Try again, or ask whoever set the club up.", field="password")
    return _open_session(store, now, role="organiser", name="Organiser")


def sign_in_marshal_by_pin(store: Store, pin: str, name: str, now: datetime) -> NewSession:
    """A session for a marshal of the open meet, if the PIN fits."""
    with store.read() as session:
        meet = session.exec(select(t.Meet).where(t.Meet.state == "open")).one_or_none()
    if meet is None:
        raise Refused("No meet is open.", "The organiser opens it first.")
    if meet.pin_hash is None or not password_fits(pin, meet.pin_hash):
        raise WrongSecret("This PIN doesn't fit the open meet.", "Ask the organiser for it.", field="pin")
    return _open_session(store, now, role="marshal", name=name, meet_id=meet.id)


def meet_by_desk_link(store: Store, secret: str) -> str:
    """The name of the meet that a marshal's link opens."""
    with store.read() as session:
        return _meet_of_link(session, secret).name


def sign_in_marshal_by_link(store: Store, secret: str, name: str, now: datetime) -> NewSession:
    """A session for a marshal who opened the meet's desk link."""
    with store.read() as session:
        meet = _meet_of_link(session, secret)
    return _open_session(store, now, role="marshal", name=name, meet_id=meet.id)


def _meet_of_link(session: Session, secret: str) -> t.Meet:
    found = select(t.Meet).where(t.Meet.desk_link_hash == secret_hash(secret), t.Meet.state != "closed")
    meet = session.exec(found).one_or_none()
    if meet is None:
        raise NotFound("This desk link isn't known, or its meet is closed.", "Ask the organiser for a new one.")
    return meet


def sign_in_pilot(store: Store, pilot_id: int, name: str, now: datetime) -> NewSession:
    """A session that binds a phone to a pilot; the caller has checked the pilot's own link."""
    return _open_session(store, now, role="pilot", name=name, pilot_id=pilot_id)


def _open_session(
    store: Store,
    now: datetime,
    *,
    role: str,
    name: str,
    meet_id: int | None = None,
    pilot_id: int | None = None,
) -> NewSession:
    secret = new_secret()
    lasts = LIFETIMES[role]
    with store.write() as session:
        row = t.DeskSession(
            secret_hash=secret_hash(secret),
            role=role,
            name=name,
            meet_id=meet_id,
            pilot_id=pilot_id,
            made_at=now,
            expires_at=lasts.end(now, now),
        )
        session.add(row)
        session.commit()
        return NewSession(secret, now + lasts.longest)


def signed_in(store: Store, secret: str, now: datetime, *, is_use: bool = True) -> SignedIn | None:
    """The live session behind a cookie. A marshal's ends with the meet it was made for.

    `is_use`: somebody asked for a page, so the session's idle time begins anew.
    """
    found = _live_session(store, secret, now)
    if found is None:
        return None
    if is_use and LIFETIMES[found.role].is_due(found.expires_at, found.made_at, now):
        _use(store, found.id, now)
    return SignedIn(found.id, found.role, found.name, found.meet_id, found.pilot_id)


def _use(store: Store, session_id: int, now: datetime) -> None:
    # Where nothing can be written (a full disk) the page is shown all the same; the session ends a little sooner.
    with suppress(OperationalError), store.write() as session:
        row = session.get_one(t.DeskSession, session_id)
        if row.ended_at is None:
            row.expires_at = LIFETIMES[row.role].end(row.made_at, now)
            session.add(row)
            session.commit()


@dataclass(frozen=True, slots=True)
class _LiveSession:
    """The row of a session that was not ended. Its marshal's meet is not closed."""

    id: int
    role: str
    name: str
    meet_id: int | None
    pilot_id: int | None
    made_at: datetime
    expires_at: datetime


_NOT_ENDED = (
    columns(
        col(t.DeskSession.id),
        col(t.DeskSession.role),
        col(t.DeskSession.name),
        col(t.DeskSession.meet_id),
        col(t.DeskSession.pilot_id),
        col(t.DeskSession.made_at),
        col(t.DeskSession.expires_at),
    )
    .outerjoin(t.Meet, col(t.Meet.id) == t.DeskSession.meet_id)
    .where(
        col(t.DeskSession.secret_hash) == bindparam("secret_hash"),
        col(t.DeskSession.ended_at).is_(None),
        or_(t.DeskSession.role != "marshal", t.Meet.state != "closed"),
    )
)


def _live_session(store: Store, secret: str, now: datetime) -> _LiveSession | None:
    hashed = secret_hash(secret)
    with store.read() as session:
        found = keep(
            session, ("session", hashed), lambda: _read_session(session, hashed), of=(t.DeskSession, t.Meet)
        )
    return found if found is not None and found.expires_at > now else None


def _read_session(session: Session, hashed: str) -> _LiveSession | None:
    row = session.execute(_NOT_ENDED, {"secret_hash": hashed}).one_or_none()
    return _LiveSession(*row) if row is not None else None


def live_sessions(session: Session, session_ids: Collection[int], now: datetime) -> frozenset[int]:
    """Which of these sessions are still good; a marshal's ends with the meet it was made for."""
    if not session_ids:
        return frozenset()
    closed = select(t.Meet.id).where(t.Meet.state == "closed")
    good = select(t.DeskSession.id).where(
        col(t.DeskSession.id).in_(session_ids),
        col(t.DeskSession.ended_at).is_(None),
        t.DeskSession.expires_at > now,
        or_(t.DeskSession.role != "marshal", col(t.DeskSession.meet_id).not_in(closed)),
    )
    return frozenset(session.exec(good))


def sign_out(store: Store, session_id: int, now: datetime) -> None:
    """End a session; doing it twice changes nothing."""
    with store.write() as session:
        row = session.get(t.DeskSession, session_id)
        if row is not None and row.ended_at is None:
            row.ended_at = now
            session.add(row)
            session.commit()


def sign_out_by_secret(store: Store, secret: str, now: datetime) -> None:
    """End the session behind a cookie that is about to be replaced; an unknown one changes nothing."""
    found = _live_session(store, secret, now)
    if found is not None:
        sign_out(store, found.id, now)


def sign_out_everywhere(store: Store, deed: Deed) -> Answer:
    """End every session of the organiser, on this browser too."""

    def work(work: Work) -> Answer:
        ended = end_sessions(work, t.DeskSession.role == "organiser")
        work.note("signed_out_everywhere", {"count": ended})
        return Answer("/", "Every browser that was signed in as organiser is signed out.")

    return do_once(store, deed, work)
