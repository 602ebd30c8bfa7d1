"""The guide inside the program: pages found, turned to, searched, and true to the window."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import QRect, Qt, QUrl
from PySide6.QtGui import QImage, QPainter, QShortcut
from pytestqt.qtbot import QtBot

from tests.helpers.guide_pictures import NAMES, SIZE_PX, take_pictures
from trainer.resources import guide_folder
from trainer.session.strip_design_file import parse_strip_design
from trainer.ui.look.notice_box import NOTICE_KEY
from trainer.ui.practice.controls import PREFERRED_KEYS
from trainer.ui.window.about_page import ABOUT
from trainer.ui.window.help_window import INDEX, HelpWindow, guide_pages
from trainer.ui.window.top_bar import TopBar

PAGE = (guide_folder() / "practice-window.md").read_text(encoding="utf-8")
PICTURES = guide_folder() / "pictures"
_TYPED = {"write": QRect(498, 258, 648, 300)}
"""Where a text of many lines is typed: Qt releases differ by two pixels a line."""


@pytest.fixture
def window(qtbot: QtBot) -> HelpWindow:
    made = HelpWindow()
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show_page()
    return made


def listed(window: HelpWindow) -> list[str]:
    return [window.list.item(row).text() for row in range(window.list.count())]


def test_every_page_is_listed_once_in_the_order_of_the_index() -> None:
    names = [page.name for page in guide_pages()]
    assert names[0] == INDEX
    files = [path.name for path in guide_folder().glob("*.md")]
    assert names[-1] == ABOUT  # written when it is shown; no file
    assert sorted(names[:-1]) == sorted(files)
    index = (guide_folder() / INDEX).read_text("utf-8")
    places = [index.index(f"({name})") for name in names[1:-1]]
    assert places == sorted(places)


def test_the_index_is_shown_first_and_pages_by_name(window: HelpWindow) -> None:
    assert window.page == INDEX
    window.show_page("practice-window.md")
    assert "Building the strip" in window.text.toPlainText()
    window.show_page("absent.md")
    assert window.page == INDEX


def test_a_page_is_chosen_by_arrow_keys_and_headings_are_passed_over(
    qtbot: QtBot, window: HelpWindow
) -> None:
    assert listed(window)[:3] == ["Overview", "Begin here", "For the member"]
    qtbot.keyClick(window.list, Qt.Key.Key_Down)
    assert window.page == "for-the-member.md"
    assert window.text.toPlainText().startswith("For the member")
    qtbot.keyClick(window.list, Qt.Key.Key_End)
    qtbot.keyClick(window.list, Qt.Key.Key_Home)
    assert window.page == INDEX


def test_links_lead_to_pages_and_headings_and_back_again(window: HelpWindow) -> None:
    window.text.anchorClicked.emit(QUrl("command-line.md#report"))
    assert window.page == "command-line.md"
    assert window.list.currentItem().text() == "The command line"
    place = window.text.verticalScrollBar().value()
    assert place > 1000
    window.text.anchorClicked.emit(QUrl("#run"))
    assert window.page == "command-line.md"
    assert window.text.verticalScrollBar().value() < place
    window.back.click()
    assert window.text.verticalScrollBar().value() == place
    window.back.click()
    assert window.page == INDEX
    assert not window.back.isEnabled()


def test_links_out_of_the_guide_are_not_followed(window: HelpWindow) -> None:
    window.text.anchorClicked.emit(QUrl("https://example.org/other.html"))
    window.text.anchorClicked.emit(QUrl("file:///etc/passwd"))
    assert window.page == INDEX


def test_words_are_found_in_all_pages(qtbot: QtBot, window: HelpWindow) -> None:
    qtbot.keyClicks(window.find, "altitude loss")
    assert "The words of the trade" in listed(window)
    assert len(listed(window)) < len(guide_pages())
    assert window.found.isVisible()
    window.find.clear()
    qtbot.keyClicks(window.find, "no such word anywhere")
    assert listed(window) == []
    assert window.found.text() == "No pages with these words"
    window.find.clear()
    assert "Begin here" in listed(window)


def test_no_page_takes_over_the_look_of_the_one_before(window: HelpWindow) -> None:
    window.show_page("for-the-member.md")
    window.show_page("sources.md")
    block = window.text.document().begin()
    while block.isValid() and (block.blockFormat().headingLevel() or not block.text()):
        block = block.next()
    assert block.charFormat().fontWeight() < 600


def test_pictures_fit_the_page_whatever_its_width(qtbot: QtBot, window: HelpWindow) -> None:
    window.show_page("for-the-member.md")
    for width in (760, 1180):
        window.resize(width, 640)
        bar = window.text.horizontalScrollBar()
        qtbot.waitUntil(lambda bar=bar: bar.maximum() == 0)
        assert window.page == "for-the-member.md"


def test_pictures_are_those_of_the_script_used_and_small() -> None:
    assert {path.stem for path in PICTURES.iterdir()} == set(NAMES)
    pages = "\n".join(path.read_text("utf-8") for path in guide_folder().glob("*.md"))
    for name in NAMES:
        assert f"pictures/{name}.png" in pages
        path = PICTURES / f"{name}.png"
        assert path.stat().st_size < 150_000
        image = QImage(str(path))
        assert (image.width(), image.height()) == SIZE_PX


@pytest.mark.long
def test_pictures_are_as_the_window_is_now(qtbot: QtBot, tmp_path: Path) -> None:
    """Compared small, so that another machine's fonts don't count; a moved panel does."""
    take_pictures(tmp_path)
    for name in NAMES:
        hidden = _TYPED.get(name)
        now, then = (thumbnail(folder / f"{name}.png", hidden) for folder in (tmp_path, PICTURES))
        far = [abs(a - b) for a, b in zip(now, then, strict=True)]
        assert sum(far) / len(far) < 2.0, f"{name}: run python -m tests.helpers.guide_pictures"


def thumbnail(path: Path, hidden: QRect | None) -> list[int]:
    """Return the grey levels of a picture at an eighth of its size, a part of it painted over."""
    image = QImage(str(path)).convertToFormat(QImage.Format.Format_RGB32)
    if hidden is not None:
        painter = QPainter(image)
        painter.fillRect(hidden, Qt.GlobalColor.white)
        painter.end()
    small = image.scaled(
        SIZE_PX[0] // 8,
        SIZE_PX[1] // 8,
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    ).convertToFormat(QImage.Format.Format_Grayscale8)
    return [
        small.pixelColor(x, y).red() for y in range(small.height()) for x in range(small.width())
    ]


def test_every_key_of_the_bar_is_in_the_guide(qtbot: QtBot) -> None:
    bar = TopBar()
    qtbot.addWidget(bar)
    keys = {shortcut.key().toString() for shortcut in bar.findChildren(QShortcut)} | {NOTICE_KEY}
    section = PAGE.split("## Keys of the window")[1].split("##")[0]
    rows = " ".join(re.findall(r"^\| ([^|]*) \|", section, re.MULTILINE))
    assert keys - set(re.findall(r"F\d+|Ctrl\+[A-Z]", rows)) == set()


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
