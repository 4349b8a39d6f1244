"""The documents keep up with the code."""

import re
import tomllib
from pathlib import Path

from meetapp.cli import main

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_ci_runs_the_test_command_of_the_readme() -> None:
    commands = re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)
    assert len(commands) == 2
    assert commands[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_every_command_in_the_readme_exists(capsys) -> None:  # type: ignore[no-untyped-def]
    for command in sorted(set(re.findall(r"meetapp ([a-z-]+)", README)) - {"looks"}):
        assert main([command, "--help"]) == 0, command
    capsys.readouterr()


def test_every_folder_and_dependency_is_explained() -> None:
    for folder in (ROOT / "meetapp").iterdir():
        if folder.is_dir() and (folder / "__init__.py").exists():
            assert f"meetapp/{folder.name}/" in DEVELOPERS, folder.name
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for wanted in [*project["dependencies"], *project["optional-dependencies"]["test"]]:
        name = re.match(r"[a-z0-9-]+", wanted)
        assert name
        assert name.group(0) in DEVELOPERS.lower(), wanted


def test_only_the_agreed_things_stand_at_the_top() -> None:
    texts = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    folders = {"meetapp", "templates", "static", "migrations", "tests"}
    tracked = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert tracked - texts - folders - {"meetapp.egg-info", "build", "dist", "shots", "uv.lock"} == set()
