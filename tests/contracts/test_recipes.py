"""The recipes of DEVELOPERS.md, followed word for word on a copy of the tree."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
TREE = ("trainer", "statecharts", "lessons", "tests", "pyproject.toml", "README.md",
        "DEVELOPERS.md", ".ci")  # fmt: skip
_STEP = re.compile(
    r"^(?:In `(?P<file>[^`]+)`, (?P<how>below|instead of) `(?P<line>[^\n]+)`"
    r"|In `(?P<tail>[^`]+)`, at the end"
    r"|A new file `(?P<new>[^`]+)`:"
    r"|(?P<then>Then):)\n\n```(?P<kind>\w+)\n(?P<text>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True)
class Recipe:
    """A section of the page that begins with 'How to add'."""

    title: str
    text: str

    @property
    def steps(self) -> list[re.Match[str]]:
        return list(_STEP.finditer(self.text))


RECIPES = [
    Recipe(title, text)
    for title, text in re.findall(r"^### (How to add [^\n]+)\n(.*?)(?=^##)", PAGE, re.S | re.M)
]


_HERE = {
    "mode-trainer": f"{sys.executable} -m trainer",
    "python": sys.executable,
    "ruff": f"{sys.executable} -m ruff",
}
"""What a recipe's programs are in the environment of the tests."""


def follow(step: re.Match[str], tree: Path) -> None:
    """Do what a step says; the line that it names is there exactly once."""
    text = step["text"]
    if step["then"]:
        command = re.sub(r"\.venv/bin/([a-z-]+)", lambda found: _HERE[found[1]], text)
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", command],
            cwd=tree, capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    elif step["new"]:
        assert not (tree / step["new"]).exists()
        (tree / step["new"]).write_text(text, "utf-8")
    elif step["tail"]:
        path = tree / step["tail"]
        path.write_text(path.read_text("utf-8") + text, "utf-8")
    else:
        path = tree / step["file"]
        lines = path.read_text("utf-8").splitlines(keepends=True)
        places = [n for n, line in enumerate(lines) if line.strip() == step["line"]]
        assert len(places) == 1, f"{step['file']}: {len(places)} lines read {step['line']!r}"
        place = places[0]
        lines[place : place + 1] = [text] if step["how"] == "instead of" else [lines[place], text]
        path.write_text("".join(lines), "utf-8")


def test_there_are_five_recipes_and_every_block_belongs_to_a_step():
    kinds = ("an option", "a mode", "a misconception", "a prompt kind", "a report")
    assert [one.title for one in RECIPES] == [f"How to add {kind}" for kind in kinds]
    for recipe in RECIPES:
        assert len(recipe.steps) == recipe.text.count("\n```\n"), recipe.title
        assert any(step["then"] for step in recipe.steps)


def copied(folder: Path) -> Path:
    """Copy what a recipe may change and run."""
    for name in TREE:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    return folder


def named(recipes: list[Recipe]) -> list[object]:
    return [pytest.param(one, id=one.title.split(" ", 3)[3].replace(" ", "-")) for one in recipes]


@pytest.mark.parametrize("recipe", named(RECIPES))
def test_each_step_of_a_recipe_finds_its_line(recipe, tmp_path):
    tree = copied(tmp_path)
    for step in recipe.steps:
        if not step["then"]:
            follow(step, tree)


@pytest.mark.long
@pytest.mark.parametrize("recipe", named(RECIPES))
def test_a_recipe_works_word_for_word(recipe, tmp_path):
    tree = copied(tmp_path)
    for step in recipe.steps:
        follow(step, tree)


def test_files_that_the_page_names_are_there():
    made = {step["new"] for recipe in RECIPES for step in recipe.steps}
    found = set(re.findall(r"`((?:trainer|tests|statecharts|lessons)/[\w./*-]+\.\w+)`", PAGE))
    assert len(found) > 20
    assert any("*" in one for one in found)
    assert [one for one in sorted(found - made) if not any(ROOT.glob(one))] == []
