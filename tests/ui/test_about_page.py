"""The page 'About': version, cautions, and every library with its licence; found in the guide."""

from __future__ import annotations

from pathlib import Path

from pytestqt.qtbot import QtBot

from trainer.parts import parts, program_version
from trainer.ui.window.about_page import ABOUT, about_text
from trainer.ui.window.help_window import HelpWindow


def test_it_holds_version_cautions_and_every_licence(tmp_path: Path) -> None:
    text = about_text(tmp_path)
    for words in (program_version(), "not an approved device", "No time may be logged",
                  "placeholders until an instructor", "never uses the network", "MIT License",
                  str(tmp_path)):  # fmt: skip
        assert words in text
    for part in parts():
        assert f"| {part.name} | {part.version} | {part.licence} |" in text


def test_it_is_reached_from_the_help(qtbot: QtBot) -> None:
    window = HelpWindow()
    qtbot.addWidget(window)
    window.show_page()
    window.find.setText("LGPL shiboken6")
    titles = [window.list.item(row).text() for row in range(window.list.count())]
    assert titles == ["About this program"]
    window.find.setText("")
    window.list.setCurrentRow(window.list.count() - 1)
    assert window.page == ABOUT
    assert "PySide6_Essentials" in window.text.toPlainText()
    window.go_back()
    assert window.page != ABOUT
