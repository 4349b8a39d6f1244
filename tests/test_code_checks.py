"""The code's own checks, run with the tests so that one command covers all: types, lint, layers."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

# A module may import from its own layer and from the layers named here, never from those above it.
LAYERS = {
    "top": {"top", "simulate", "web", "paper", "drawings", "flows", "store", "rules", "spectrum", "review", "data"},
    "web": {"web", "paper", "drawings", "flows", "store", "rules", "spectrum", "review", "data"},
    "paper": {"paper", "drawings", "flows", "rules", "spectrum"},
    "simulate": {"simulate", "flows", "rules", "spectrum", "data"},
    "flows": {"flows", "store", "rules", "spectrum", "review", "data"},
    "store": {"store", "rules", "spectrum"},
    "data": {"data", "spectrum"},
    "drawings": {"drawings", "review", "rules", "spectrum"},
    "rules": {"rules"},
    "review": {"review", "spectrum", "rules"},
    "spectrum": {"spectrum"},
}
# What a page may ask of the store: the store itself, handed on to flows; never tables or queries.
WEB_MAY_IMPORT_FROM_STORE = {"meetapp.store.engine", "meetapp.store.engine.Store"}
PURE = ("rules", "spectrum", "review", "drawings")
MODULES = sorted((ROOT / "meetapp").rglob("*.py"))


def layer_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 and parts[1] in LAYERS else "top"


def module_name(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def imports_of(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{name.name}" for name in node.names} | {node.module}
    return found


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_arrows_point_down_only(path: Path) -> None:
    layer = layer_of(module_name(path))
    ours = {name for name in imports_of(path) if name.startswith("meetapp.")}
    upward = {name for name in ours if layer_of(name) not in LAYERS[layer] and name != "meetapp.__version__"}
    assert upward == set()
    if layer == "simulate":
        of_flows = {name for name in ours if name.startswith("meetapp.flows")}
        assert {name for name in of_flows if "meet_file_shape" not in name} <= {"meetapp.flows.files"}
    if layer == "web":
        stores = {name for name in ours if name.startswith("meetapp.store")}
        assert stores - WEB_MAY_IMPORT_FROM_STORE == set()


@pytest.mark.parametrize(
    "path", [path for path in MODULES if layer_of(module_name(path)) in PURE], ids=module_name
)
def test_pure_layers_import_the_standard_library_only(path: Path) -> None:
    tops = {name.split(".")[0] for name in imports_of(path)}
    assert tops - set(sys.stdlib_module_names) - {"meetapp"} == set()
    assert not tops & {"random", "time", "logging", "sqlite3", "os", "socket", "pathlib"}


@pytest.mark.parametrize("command", [["ruff", "check", "."], ["mypy"]], ids=["ruff", "mypy"])
def test_the_code_passes(command: list[str]) -> None:
    run = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr


def test_coroutines_of_tests_run_apart() -> None:
    """Where browser tests ran before, a loop runs in the thread of the tests, and a second one there is refused."""
    files = [path for path in (ROOT / "tests").rglob("test_*.py") if path != Path(__file__)]
    assert [path.name for path in files if "asyncio.run(" in path.read_text(encoding="utf-8")] == []
