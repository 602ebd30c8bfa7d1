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


def test_modules_stay_small():
    sizes = {
        path: len(path.read_text(encoding="utf-8").splitlines())
        for path in (ROOT / "trainer").rglob("*.py")
    }
    assert {str(path): size for path, size in sizes.items() if size > 400} == {}
    ordered = sorted(sizes.values())
    assert ordered[len(ordered) // 2] <= 150


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
