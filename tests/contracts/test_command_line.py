"""Every command has help, and the guide describes every command."""

import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from trainer.cli.main import COMMANDS, main
from trainer.resources import guide_folder

ROOT = Path(__file__).resolve().parents[2]


def test_every_command_is_documented():
    text = (guide_folder() / "command-line.md").read_text(encoding="utf-8")
    assert [name for name in COMMANDS if f"\n## {name}\n" not in text] == []


def test_the_overview_of_the_guide_leads_to_every_command_and_to_nothing_else():
    text = (guide_folder() / "command-line.md").read_text(encoding="utf-8")
    overview = text[text.index("| to | command |") : text.index("\n## ")]
    linked = re.findall(r"\[([\w -]+)\]\(#([\w-]+)\)", overview)
    assert {name.split()[0] for name, _ in linked} == set(COMMANDS)
    assert all(name.replace(" ", "-") == place for name, place in linked)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_is_for(name, capsys):
    assert len(COMMANDS[name].help.split()) > 2
    with pytest.raises(SystemExit) as caught:
        main([name, "--help"])
    assert caught.value.code == 0
    assert COMMANDS[name].help in " ".join(capsys.readouterr().out.split())


def test_every_module_of_the_command_line_that_is_a_command_is_listed():
    folder = Path(import_module("trainer.cli").__file__).parent
    modules = {
        path.stem for path in folder.glob("*.py") if "\ndef execute(" in path.read_text("utf-8")
    }
    assert modules == set(COMMANDS)


def test_the_help_lists_every_command_with_what_it_is_for(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["--help"])
    assert caught.value.code == 0
    told = " ".join(capsys.readouterr().out.split())
    assert [name for name in COMMANDS if f"{name} {COMMANDS[name].help}" not in told] == []


def imported_by(*words):
    """Return the modules that a start of the program with these words imports."""
    code = (
        "import sys\nfrom trainer.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "print('modules', *sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True, cwd=ROOT
    )
    first, *modules = done.stdout.splitlines()[-1].split()
    assert first == "modules"
    return set(modules)


HEAVY = {
    "PySide6", "cryptography", "fsrs", "jinja2", "numpy", "pyqtgraph", "sqlite3", "trainer.app",
    "trainer.assessment", "trainer.records", "trainer.report", "trainer.ui", "typst",
}  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [("--version",), ("--help",), ("rune",), ("run", "1", "--until-s", "1"), ("run", "--help"),
     ("key", "--help"), ("export", "--help")],
    ids=" ".join,
)  # fmt: skip
def test_what_a_command_does_not_need_is_not_imported(words):
    needed = {"trainer.assessment"} if words[0] == "key" else set()
    assert imported_by(*words) & HEAVY == needed


@pytest.mark.parametrize("words", [("--version",), ("--help",), ("rune",)], ids=" ".join)
def test_who_asks_for_no_command_imports_none(words):
    own = {name for name in imported_by(*words) if name.startswith("trainer.cli.")}
    assert own == {"trainer.cli.main", "trainer.cli.output"}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_imports_no_other(name):
    own = {f"trainer.cli.{one}" for one in COMMANDS} & imported_by(name, "--help")
    assert own == {f"trainer.cli.{name}"}


def test_the_bar_would_tell():
    assert {"cryptography", "sqlite3", "trainer.records"} <= imported_by(
        "records", "--help"
    ) & HEAVY
