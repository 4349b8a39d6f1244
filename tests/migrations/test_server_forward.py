"""A database on a server: nothing brings it forward by itself, `migrate` does, once."""

import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from meetapp.cli import main
from meetapp.config import DATABASE_URL, data_folder
from meetapp.store.engine import open_engine
from meetapp.store.forward import CantOpen, alembic_config, newest_revision
from meetapp.store.server_database import check_server, migrate_server
from tests.migrations.test_migrations import put_rows

pytestmark = pytest.mark.postgres
MIGRATIONS = data_folder("migrations")
REVISIONS = [script.revision for script in ScriptDirectory(str(MIGRATIONS)).walk_revisions()]


def at_revision(url: str, revision: str) -> None:
    config = alembic_config(MIGRATIONS)
    engine = open_engine(url)
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()


def tables_of(url: str) -> list[str]:
    engine = open_engine(url)
    names = inspect(engine).get_table_names()
    engine.dispose()
    return names


def test_serve_says_what_to_do_and_touches_nothing(
    postgres_url: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(DATABASE_URL, postgres_url)
    assert main(["serve", "--port", "0", "--workers", "2"]) == 1
    assert "has no tables yet. Run 'meetapp migrate' once" in capsys.readouterr().err
    assert tables_of(postgres_url) == []
    at_revision(postgres_url, "0001")
    before = tables_of(postgres_url)
    assert main(["serve", "--port", "0", "--workers", "2"]) == 1
    assert "from an older version. Stop meetapp everywhere, run 'meetapp migrate' once" in capsys.readouterr().err
    assert tables_of(postgres_url) == before
    assert main(["migrate"]) == 0
    assert newest_revision(MIGRATIONS) in capsys.readouterr().out
    check_server(postgres_url, MIGRATIONS)


@pytest.mark.parametrize("revision", REVISIONS)
def test_what_is_in_an_older_database_is_kept(postgres_url: str, revision: str) -> None:
    at_revision(postgres_url, revision)
    engine = open_engine(postgres_url)
    with engine.begin() as connection:
        put = put_rows(connection)
    assert "loan" in put
    assert migrate_server(postgres_url, MIGRATIONS) == (revision != newest_revision(MIGRATIONS))
    with engine.connect() as connection:
        for table, row in put.items():
            kept = connection.execute(text(f"SELECT {', '.join(row)} FROM {table}")).one()
            assert [plain(value) for value in kept] == [plain(value) for value in row.values()]
    engine.dispose()


def plain(value: object) -> str:
    """A value as text: a time without its zone, whichever side it comes from."""
    return re.sub(r"(\d\d:\d\d:\d\d)(\.0+)?(\+00:00)?$", r"\1", str(value))


def test_two_who_migrate_at_once_do_it_once(postgres_url: str) -> None:
    with ThreadPoolExecutor(2) as pool:
        done = list(pool.map(lambda _: migrate_server(postgres_url, MIGRATIONS), range(2)))
    assert any(done)
    check_server(postgres_url, MIGRATIONS)


def test_a_newer_version_s_database_is_refused(postgres_url: str) -> None:
    migrate_server(postgres_url, MIGRATIONS)
    engine = open_engine(postgres_url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '8888'"))
    engine.dispose()
    for use in (check_server, migrate_server):
        with pytest.raises(CantOpen, match="written by a newer version"):
            use(postgres_url, MIGRATIONS)
