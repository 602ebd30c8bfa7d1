"""Every command has help, and the guide describes every command."""

import re
from importlib import import_module

import pytest

from trainer.cli.main import COMMANDS
from trainer.resources import guide_folder


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
def test_every_command_says_what_it_is_for(name):
    help_text = import_module(f"trainer.cli.{name}").HELP
    assert len(help_text.split()) > 2
