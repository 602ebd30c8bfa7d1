"""The layers, typing and style that DEVELOPERS.md promises, held by their own tools."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )


def test_imports_go_down_only():
    from importlinter.cli import lint_imports

    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == 0


@pytest.mark.parametrize("command", [("ruff", "check", "."), ("ruff", "format", "--check", ".")])
def test_style(command):
    result = run(*command)
    assert result.returncode == 0, result.stdout


@pytest.mark.long
def test_strict_typing():
    result = run("mypy")
    assert result.returncode == 0, result.stdout


def test_top_level_holds_nothing_else():
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    allowed |= {"trainer", "statecharts", "tests", "lessons"}
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.splitlines()
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} <= allowed


@pytest.mark.parametrize("package", ["assessment", "ui"])
def test_every_folder_stands_in_the_table_with_what_is_there(package):
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = page.split(f"| folder of `trainer/{package}` |")[1].split("\n\n")[0]
    named = set(re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE))
    folders = {path.parent.name for path in (ROOT / "trainer" / package).glob("*/__init__.py")}
    assert named == folders


def test_functions_stay_short():
    lengths = {}
    for path in (ROOT / "trainer").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                lengths[f"{path.relative_to(ROOT)}:{node.name}:{node.lineno}"] = own_lines(node)
    assert {name: length for name, length in lengths.items() if length > 40} == {}
    ordered = sorted(lengths.values())
    assert ordered[int(0.9 * len(ordered))] <= 30


def own_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Return the lines of a function without its docstring."""
    first = node.body[0]
    is_documented = ast.get_docstring(node, clean=False) is not None
    words = first.end_lineno - first.lineno + 1 if is_documented else 0
    return node.end_lineno - node.lineno + 1 - words


_CLOCK_AND_CHANCE = {
    ("time", "time"), ("time", "monotonic"), ("time", "perf_counter"), ("time", "sleep"),
    ("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today"),
    ("uuid", "uuid1"), ("uuid", "uuid4"), ("os", "urandom"),
    *(("random", name) for name in ("random", "choice", "choices", "shuffle", "sample", "randint",
                                    "uniform", "gauss", "SystemRandom")),
}  # fmt: skip


def asks_clock_or_chance(source):
    """Names that a module calls for the time of day, to sleep, or for chance without a seed."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of = node.func.value
            owner = of.id if isinstance(of, ast.Name) else getattr(of, "attr", "")
            if (owner, node.func.attr) in _CLOCK_AND_CHANCE:
                found.add(f"{owner}.{node.func.attr}")
            if (owner, node.func.attr) == ("random", "Random") and not node.args:
                found.add("random.Random")
        if isinstance(node, ast.ImportFrom) and node.module in ("time", "random", "secrets"):
            found.add(f"from {node.module}")
        if isinstance(node, ast.Import) and any(one.name == "secrets" for one in node.names):
            found.add("secrets")
    return found


def test_only_the_window_and_the_commands_ask_a_clock_or_chance():
    assert asks_clock_or_chance("import time\ntime.sleep(1)") == {"time.sleep"}
    assert asks_clock_or_chance("datetime.datetime.now()") == {"datetime.now"}
    assert asks_clock_or_chance("random.Random()") == {"random.Random"}
    assert not asks_clock_or_chance("random.Random(3).random()")
    found = {}
    for path in sorted((ROOT / "trainer").rglob("*.py")):
        inside = path.relative_to(ROOT / "trainer").as_posix()
        if not inside.startswith(("ui/", "cli/")):
            asked = asks_clock_or_chance(path.read_text(encoding="utf-8"))
            found |= {inside: asked} if asked else {}
    assert found == {"records/check_sitting.py": {"uuid.uuid4"}}
