"""The README's commands and the packages it names are those that the program and CI use."""

import re
from pathlib import Path

from trainer.ui.start import DEBIAN_LINE

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
CI = (ROOT / ".ci" / "run").read_text("utf-8")


def test_there_are_two_commands_and_each_makes_its_own_environment():
    commands = re.findall(r"```sh\n(.*?)\n```", README, re.S)
    assert len(commands) == 2
    assert all(one.startswith("python3 -m venv .venv && ") for one in commands)
    assert commands[0].endswith("mode-trainer")
    assert commands[1].endswith("pytest -n auto")


def test_the_packages_of_the_start_message_stand_in_the_readme_and_in_ci():
    needed = DEBIAN_LINE.removeprefix("apt-get install ").split()
    words = {word.strip("`.,") for word in README.split()}
    assert [name for name in needed if name not in words] == []
    assert [name for name in needed if name not in CI] == []


def test_the_readme_opens_with_the_job_and_carries_the_cautions():
    paragraphs = README.split("\n\n")
    assert paragraphs[1].startswith("A flying club")
    for words in ("not an approved device", "No time may be logged", "placeholders"):
        assert words in README


def test_every_page_that_the_readme_names_is_there():
    for target in re.findall(r"\]\(([^)]+)\)", README):
        assert (ROOT / target).exists(), target


def test_each_capability_takes_one_line():
    section = README.split("## What it does\n")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line]
    assert len(lines) > 8
    assert all(line.startswith("- **") and len(line) <= 105 for line in lines)


def test_its_picture_is_one_that_the_script_takes():
    from tests.helpers.guide_pictures import NAMES

    (picture,) = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert Path(picture).stem in NAMES
