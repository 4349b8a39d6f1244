"""Starting on a database: what is brought forward, what is copied first, what is refused and left untouched."""

import hashlib
import shutil
import socket
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import pytest

from meetapp.cli import main
from meetapp.config import data_folder
from meetapp.serving import listen
from meetapp.store.forward import CantOpen, bring_file_forward, file_revision, newest_revision

MIGRATIONS = data_folder("migrations")
NOW = datetime(2026, 6, 14, 12, tzinfo=UTC)


def fingerprint(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


class Refusal(NamedTuple):
    """How the program ended that would not serve."""

    returncode: int | str | None
    stderr: str


Serve = Callable[..., Refusal]


@pytest.fixture
def serve(capsys: pytest.CaptureFixture[str]) -> Serve:
    """Run `meetapp serve` with these arguments, which keep it from serving."""

    def run(*arguments: str) -> Refusal:
        code: int | str | None
        try:
            code = main(["serve", "--host", "127.0.0.1", *arguments])
        except SystemExit as end:
            code = end.code
        return Refusal(code, capsys.readouterr().err)

    return run


def test_a_new_file_gets_the_newest_tables_and_no_copy(tmp_path: Path) -> None:
    path = tmp_path / "new folder" / "club.db"
    assert bring_file_forward(path, MIGRATIONS, NOW) is None
    assert file_revision(path, MIGRATIONS) == newest_revision(MIGRATIONS)


def test_a_file_that_is_up_to_date_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOW)
    before = fingerprint(path)
    assert bring_file_forward(path, MIGRATIONS, NOW) is None
    assert fingerprint(path) == before


def test_an_old_file_is_copied_before_it_is_brought_forward(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOW)
    later = Path(shutil.copytree(MIGRATIONS, tmp_path / "later migrations"))
    (later / "versions" / "9999_later.py").write_text(
        "from alembic import op\nimport sqlalchemy as sa\n"
        f"revision = '9999'\ndown_revision = '{newest_revision(MIGRATIONS)}'\nbranch_labels = depends_on = None\n"
        "def upgrade():\n    op.add_column('pilot', sa.Column('later', sa.String(), nullable=True))\n"
    )
    copy = bring_file_forward(path, later, NOW)
    assert copy is not None
    assert copy.exists()
    assert file_revision(copy, MIGRATIONS) == newest_revision(MIGRATIONS)
    with closing(sqlite3.connect(path)) as connection:
        assert "later" in [row[1] for row in connection.execute("PRAGMA table_info(pilot)")]


def test_a_migration_that_fails_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOW)
    broken = Path(shutil.copytree(MIGRATIONS, tmp_path / "broken"))
    (broken / "versions" / "9999_broken.py").write_text(
        "from alembic import op\n"
        f"revision = '9999'\ndown_revision = '{newest_revision(MIGRATIONS)}'\nbranch_labels = depends_on = None\n"
        "def upgrade():\n    op.execute('DROP TABLE pass_offer')\n    op.execute('SELECT nothing FROM nowhere')\n"
    )
    with pytest.raises(CantOpen, match="it is as it was"):
        bring_file_forward(path, broken, NOW)
    assert file_revision(path, MIGRATIONS) == newest_revision(MIGRATIONS)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT count(*) FROM pass_offer").fetchone() == (0,)


def test_no_database_is_refused_and_not_touched(tmp_path: Path, serve: Serve) -> None:
    path = tmp_path / "holiday.jpg"
    path.write_bytes(b"not a database at all, but long enough to look at" * 40)
    before = fingerprint(path)
    run = serve("--port", "0", "--database", str(path))
    assert run.returncode == 1
    assert "is no database that can be read" in run.stderr
    assert len(run.stderr.strip().splitlines()) == 1
    assert fingerprint(path) == before


def test_another_program_s_database_is_refused_and_not_touched(tmp_path: Path, serve: Serve) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
        connection.commit()
    before = fingerprint(path)
    run = serve("--port", "0", "--database", str(path))
    assert run.returncode == 1
    assert "not one of meetapp" in run.stderr
    assert fingerprint(path) == before


def test_a_newer_version_s_database_is_refused_and_not_touched(tmp_path: Path, serve: Serve) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOW)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '8888'")
        connection.commit()
    before = fingerprint(path)
    run = serve("--port", "0", "--database", str(path))
    assert run.returncode == 1
    assert "newer version" in run.stderr
    assert fingerprint(path) == before


def test_a_folder_that_cannot_be_written_is_refused(tmp_path: Path, serve: Serve) -> None:
    # A file where the folder should be: refused for every user, root too.
    (tmp_path / "file").write_text("in the way")
    run = serve("--port", "0", "--database", str(tmp_path / "file" / "club.db"))
    assert run.returncode == 1
    assert "can't be written" in run.stderr
    assert len(run.stderr.strip().splitlines()) == 1


def test_a_port_in_use_is_refused_before_the_database_is_made(tmp_path: Path, serve: Serve) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        run = serve("--port", str(port), "--database", str(tmp_path / "club.db"))
    assert run.returncode == 1
    assert f"Port {port} is in use by another program" in run.stderr
    assert not (tmp_path / "club.db").exists()


@pytest.mark.parametrize("port", ["70000", "-1", "http", "8o22"])
def test_a_port_that_is_none_is_bad_input(port: str, serve: Serve) -> None:
    run = serve(f"--port={port}")
    assert run.returncode == 2
    assert "is no port" in run.stderr


def test_listening_says_what_to_do_when_the_host_is_not_ours() -> None:
    with pytest.raises(CantOpen, match="Choose another"):
        listen("203.0.113.7", 0)
