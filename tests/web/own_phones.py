"""Phones of pilots for the tests of their pages."""

from collections.abc import Callable

from tests.surfer import Surfer
from tests.world import World


def phone_of(name: str, surfer: Callable[[], Surfer], world: World) -> Surfer:
    """A phone on which this pilot claimed their name; it shows the own page."""
    phone = surfer()
    phone.open(f"/join/{world.pilots[name]}")
    phone.press(f"Yes, I am {name}")
    phone.open("/my")
    assert phone.path == "/my", phone.text
    return phone


def post_as(person: Surfer, path: str, **typed: str) -> int:
    """Post straight to an address with this browser's form token; gives the status, keeps the page."""
    form = next(form for form in person.page.find_all("form") if form.find("input", {"name": "csrf_token"}))
    hidden = dict(person.fields(form))
    data = {"csrf_token": hidden["csrf_token"], "operation_key": f"key of {path} {sorted(typed.items())}"[:64]} | typed
    person._keep(person.client.post(path, data=data))
    return person.status
