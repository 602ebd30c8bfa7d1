"""Examples in docstrings are run, and the core has one for whatever others call."""

from __future__ import annotations

import ast
import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2] / "trainer"
WITH_EXAMPLES = sorted(
    ".".join(path.relative_to(ROOT.parent).with_suffix("").parts)
    for path in ROOT.rglob("*.py")
    if ">>> " in path.read_text("utf-8")
)
CORE = (
    "units", "document", "resources",
    "flight/atmosphere", "flight/airspeed", "flight/guidance_lateral", "flight/guidance_vertical",
    "charts/loader", "charts/installation", "charts/machine", "charts/explore", "charts/compare",
    "session/session", "session/start", "session/annunciation", "session/selectors",
    "session/faults",
    "lesson/loader", "lesson/runner",
    "assessment/answers/tutor", "assessment/diagnosis/diagnosis", "assessment/answers/prediction",
    "assessment/answers/confidence",
    "records/store", "records/attempt", "records/packet", "records/card", "records/signing",
)  # fmt: skip


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_do_what_they_say(name, monkeypatch, tmp_path):
    monkeypatch.setenv("MODE_TRAINER_DATA", str(tmp_path))
    # What has no example isn't gone to: each visit looks at every file that Python has read.
    result = doctest.testmod(
        importlib.import_module(name), optionflags=doctest.FAIL_FAST, exclude_empty=True
    )
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("name", CORE)
def test_what_the_core_offers_has_an_example(name):
    tree = ast.parse((ROOT / f"{name}.py").read_text("utf-8"))
    assert [one.name for one in tree.body if is_offered(one) and not has_example(one)] == []


def is_offered(node: ast.stmt) -> bool:
    """True for public functions, and for classes with methods of their own that aren't errors."""
    if isinstance(node, ast.FunctionDef):
        return not node.name.startswith("_")
    if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
        return False
    methods = [one.name for one in node.body if isinstance(one, ast.FunctionDef)]
    return not node.name.endswith("Error") and any(not one.startswith("_") for one in methods)


def has_example(node: ast.stmt) -> bool:
    """True if its docstring, or that of one of its methods, has an example."""
    inner = [one for one in ast.walk(node) if isinstance(one, ast.FunctionDef | ast.ClassDef)]
    return any(">>> " in (ast.get_docstring(one) or "") for one in inner)
