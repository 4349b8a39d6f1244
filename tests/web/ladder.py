"""Steps that the tests of changing routes share: post to any address from an open page, send one form twice."""

import re
from typing import Any
from urllib.parse import urljoin
from uuid import uuid4

from sqlmodel import Session, col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer


def post(person: Surfer, path: str, **fields: Any) -> None:
    """Post to an address with a fresh operation key and this browser's own form token."""
    token = re.search(r'name="csrf_token" value="(\w+)"', person.client.get("/sign-in").text)
    assert token is not None
    data = {"csrf_token": token[1], "operation_key": str(uuid4()), **fields}
    person._keep(person.client.post(path, data=data))


def press_twice(person: Surfer, button: str, **typed: Any) -> tuple[str, str]:
    """Send the form with this button twice, as a resend does, and tell where each answer led."""
    form, pressed = person.form_with(button)
    data: dict[str, list[str]] = {}
    for name, value in person.fields(form):
        data.setdefault(name, []).append(value)
    if pressed.get("name"):
        data[str(pressed["name"])] = [str(pressed.get("value", ""))]
    for name, value in typed.items():
        data[name] = [str(each) for each in value] if isinstance(value, (list, tuple)) else [str(value)]
    action = urljoin(str(person.response.url), str(form["action"]))
    answers = [person.client.post(action, data=data, follow_redirects=False) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303], answers[0].text[-1500:]
    person.open(answers[-1].headers["location"])
    return answers[0].headers["location"], answers[1].headers["location"]


def field_value(person: Surfer, name: str) -> str:
    """What a field of the page holds now."""
    field = person.page.find(attrs={"name": name})
    assert field is not None, f"no field {name}"
    if field.name == "textarea":
        return field.get_text().strip("\n")
    if field.name == "select":
        chosen = field.find("option", selected=True)
        return str(chosen["value"]) if chosen else ""
    if field.get("type") == "radio":
        checked = person.page.find("input", {"name": name, "checked": True})
        return str(checked["value"]) if checked else ""
    return str(field.get("value", ""))


def opens_for_the_organiser_only(marshal: Surfer, stranger: Surfer, path: str) -> None:
    """A marshal is told that it isn't theirs, and who isn't signed in is asked to sign in."""
    marshal.open(path)
    assert marshal.status == 403
    stranger.open(path)
    assert stranger.path == "/sign-in"


def journal_kinds(store: Store) -> list[str]:
    """The kinds of every journal line, in order."""
    with store.read() as session:
        return list(session.exec(select(t.JournalLine.kind).order_by(col(t.JournalLine.id))))


def loans_of(session: Session, pilot_id: int) -> list[t.Loan]:
    """Every loan of a pilot that counts, in order."""
    loans = select(t.Loan).where(t.Loan.pilot_id == pilot_id, col(t.Loan.voided_at).is_(None))
    return list(session.exec(loans.order_by(col(t.Loan.out_at), col(t.Loan.id))))
