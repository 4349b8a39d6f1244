"""Whatever is kept over writes to other tables names every table that it was read from."""

from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.sql.visitors import iterate

from meetapp.store.kept import Kept
from tests.busy_club import BusyClub, ServedClub
from tests.surfer import Surfer

PAGES = {
    "marshal": ("/desk", "/desk/heats", "/desk/check-in", "/desk/count", "/desk/journal", "/desk/paper", "/board"),
    "Bo": ("/my", "/my/live?seen=x", "/live/pilot/now?shows=x"),
    "Ed": ("/my",),
    "organiser": ("/organiser", "/organiser/pilots"),
}


def test_what_is_kept_names_all_tables_behind_it(
    served_club: ServedClub, club: BusyClub, monkeypatch: pytest.MonkeyPatch
) -> None:
    served_club.put_back()
    named: list[tuple[object, frozenset[str]]] = []
    wrong: set[tuple[object, str]] = set()
    seen: set[object] = set()

    def anew(_self: Kept, _moment: int, key: object, make: Any, tables: frozenset[str] | None = None) -> object:
        if tables is None:
            return make()
        named.append((key, tables))
        seen.add(key if isinstance(key, str) else key[0])  # type: ignore[index]
        try:
            return make()
        finally:
            named.pop()

    def note(_conn: Any, _cursor: Any, _statement: str, _values: Any, context: Any, _many: bool) -> None:
        if context.compiled is not None:
            read = {each.name for each in iterate(context.compiled.statement) if each.__visit_name__ == "table"}
            wrong.update((key, table) for key, tables in named for table in read - tables)

    monkeypatch.setattr(Kept, "get", anew)
    event.listen(served_club.store.engine, "before_cursor_execute", note)
    try:
        for who, pages in PAGES.items():
            phone = Surfer(served_club.app)
            phone.client.cookies.update(club.cookies[who])
            for page in pages:
                phone.open(page)
                assert phone.status == 200, page
    finally:
        event.remove(served_club.store.engine, "before_cursor_execute", note)
    assert not wrong
    assert seen >= {"plans", "kinds", "people", "site", "tokens", "line", "pauses", "sharing", "session", "frame"}
    assert seen >= {"open meet", "last entry", "has heats", "running pause", "alarms"}
