"""The guide inside the program: pages found, the right one opened, and true to the window."""

from __future__ import annotations

import re

from PySide6.QtGui import QShortcut
from pytestqt.qtbot import QtBot

from trainer.resources import guide_folder
from trainer.session.strip_design_file import parse_strip_design
from trainer.ui.controls import PREFERRED_KEYS
from trainer.ui.help_window import HelpWindow, guide_pages
from trainer.ui.notice_box import NOTICE_KEY
from trainer.ui.top_bar import TopBar

PAGE = (guide_folder() / "practice-window.md").read_text(encoding="utf-8")


def test_pages_have_titles(qtbot: QtBot) -> None:
    assert ("practice-window.md", "The practice window") in guide_pages()
    window = HelpWindow()
    qtbot.addWidget(window)
    window.show_page("practice-window.md")
    assert "Building the strip" in window.text.toPlainText()
    window.show_page("absent.md")
    assert window.text.toPlainText()


def test_picture_of_the_guide_is_there_and_small() -> None:
    picture = guide_folder() / "pictures" / "lesson.png"
    assert 10_000 < picture.stat().st_size < 250_000


def test_every_key_of_the_bar_is_in_the_guide(qtbot: QtBot) -> None:
    bar = TopBar()
    qtbot.addWidget(bar)
    keys = {shortcut.key().toString() for shortcut in bar.findChildren(QShortcut)} | {NOTICE_KEY}
    section = PAGE.split("## Keys of the window")[1].split("##")[0]
    rows = " ".join(re.findall(r"^\| ([^|]*) \|", section, re.MULTILINE))
    assert keys == set(re.findall(r"F\d+|Ctrl\+[IB]", rows))


def test_usual_keys_of_the_aircraft_are_as_the_guide_says() -> None:
    section = PAGE.split("## Keys of the aircraft")[1].split("##")[0].replace("\n", " ")
    told = dict(re.findall(r"\b([A-Z]) ([a-z][a-z-]+(?: [a-z]+)?)", section))
    for event, key in PREFERRED_KEYS.items():
        word = {
            "disconnect": "quick disconnect", "heading_select": "heading",
            "course_track": "course", "go_around": "go-around",
        }.get(event, event.replace("_", " "))  # fmt: skip
        if len(key) == 1 and key not in "TZM":
            assert told[key].startswith(word), (key, told[key], word)


def test_design_file_of_the_guide_is_accepted() -> None:
    (text,) = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    design = parse_strip_design(text)
    assert (design.name, design.scale) == ("Tall strip", 1.25)
