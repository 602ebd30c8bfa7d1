"""The user guide, shown inside the program: groups of pages, links, a way back, a search."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt, QTimer, QUrl
from PySide6.QtGui import (
    QImage,
    QKeySequence,
    QResizeEvent,
    QShortcut,
    QTextBlock,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
)
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidgetItem,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from trainer.folders import data_folder
from trainer.resources import guide_folder
from trainer.ui.look.headed_list import HeadedList
from trainer.ui.look.kit import button, label, make_heading, show_whole_rows
from trainer.ui.look.theme import LARGE_PX
from trainer.ui.window.about_page import ABOUT, TITLE, about_text

INDEX = "index.md"
_LINK = re.compile(r"^(?:- |\|[^|\n]+\| )\[([^\]]+)\]\(([\w-]+\.md)\)", re.MULTILINE)
_MARGIN_PX = 16
_BETWEEN_PX = 8
_ABOVE_HEADING_PX = 20
_LINE_HEIGHT_PERCENT = 120.0


@dataclass(frozen=True, slots=True)
class GuidePage:
    """A page of the guide: its file, the index's words for it, the heading it stands under."""

    name: str
    title: str
    group: str


def guide_pages(folder: Path | None = None) -> list[GuidePage]:
    """Return the pages in the order of the index, each once, the index first.

    Args:
        folder: Folder of the guide; None: the program's own.
    """
    folder = folder or guide_folder()
    index = (folder / INDEX).read_text(encoding="utf-8")
    pages = [GuidePage(INDEX, "Overview", "")]
    for section in re.split(r"^## ", index, flags=re.MULTILINE)[1:]:
        heading = section.splitlines()[0]
        for words, name in _LINK.findall(section):
            if all(page.name != name for page in pages):
                pages.append(GuidePage(name, words, heading))
    return [*pages, GuidePage(ABOUT, TITLE, pages[-1].group)]


def page_text(name: str) -> str:
    """Return a page as Markdown."""
    if name == ABOUT:
        return about_text(data_folder())
    return (guide_folder() / name).read_text(encoding="utf-8")


def anchor_of(heading: str) -> str:
    """Return the anchor by which links name a heading.

    Example:
        >>> anchor_of("Look, and sound")
        'look-and-sound'
    """
    return re.sub(r"[^\w -]", "", heading.lower()).strip().replace(" ", "-")


class GuideText(QTextBrowser):
    """A page; pictures never stand out beyond its width."""

    def __init__(self) -> None:
        super().__init__()
        self.page = ""
        self.setAccessibleName("Page")
        self.setOpenLinks(False)
        # A bar that comes and goes would change the width while a page is being laid out.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self._width_px = 0
        self._refit = QTimer(self)
        self._refit.setSingleShot(True)
        self._refit.timeout.connect(self._fit)
        font = self.font()
        font.setPixelSize(LARGE_PX)
        self.document().setDefaultFont(font)
        self.document().setDocumentMargin(_MARGIN_PX)

    def show_page(self, name: str) -> None:
        """Turn to a page."""
        self.page = name
        self._width_px = self.viewport().width()
        self.clear()
        # Otherwise the new page takes over the look of the old one's last words.
        self.setCurrentCharFormat(QTextCharFormat())
        self.setMarkdown(page_text(name))
        self._space_out()
        self.moveCursor(QTextCursor.MoveOperation.Start)

    def loadResource(self, kind: int, name: QUrl) -> Any:
        """Return a resource of the page; a wide picture made to fit."""
        if kind != QTextDocument.ResourceType.ImageResource:
            return super().loadResource(kind, name)
        image = QImage(str(guide_folder() / name.toString()))
        width = max(200, self.viewport().width() - 2 * _MARGIN_PX)
        if image.isNull() or image.width() <= width:
            return image
        scale = self.devicePixelRatioF()
        fitted = image.scaledToWidth(
            min(image.width(), round(width * scale)), Qt.TransformationMode.SmoothTransformation
        )
        fitted.setDevicePixelRatio(fitted.width() / width)
        return fitted

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the pictures to the new width, once the window has its size."""
        super().resizeEvent(event)
        self._refit.start()

    def _fit(self) -> None:
        if self.page and self.viewport().width() != self._width_px:
            place = self.verticalScrollBar().value()
            self.show_page(self.page)
            self.verticalScrollBar().setValue(place)

    def show_anchor(self, anchor: str) -> None:
        """Scroll to the heading of an anchor."""
        block = self.document().begin()
        while block.isValid():
            if block.blockFormat().headingLevel() and anchor_of(block.text()) == anchor:
                place = self.document().documentLayout().blockBoundingRect(block).top()
                self.verticalScrollBar().setValue(round(place))
                return
            block = block.next()

    def _space_out(self) -> None:
        cursor = QTextCursor(self.document())
        block = self.document().begin()
        while block.isValid():
            cursor.setPosition(block.position())
            if cursor.currentTable() is None:
                cursor.mergeBlockFormat(_room_of(block))
            block = block.next()


def _room_of(block: QTextBlock) -> QTextBlockFormat:
    """Return the room that a paragraph, list item, heading or line of code gets."""
    room = QTextBlockFormat()
    if block.blockFormat().nonBreakableLines():
        room.setLeftMargin(_MARGIN_PX)
        return room
    proportional = QTextBlockFormat.LineHeightTypes.ProportionalHeight.value
    room.setLineHeight(_LINE_HEIGHT_PERCENT, proportional)
    room.setBottomMargin(_BETWEEN_PX / 2 if block.textList() else _BETWEEN_PX)
    is_after_code = block.previous().blockFormat().nonBreakableLines()
    if block.blockFormat().headingLevel() > 1:
        room.setTopMargin(_ABOVE_HEADING_PX)
    elif is_after_code:
        room.setTopMargin(_BETWEEN_PX)
    return room


class HelpWindow(QDialog):
    """Pages on the left, the page in hand on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Guide")
        self.resize(1180, 740)
        self._pages = guide_pages()
        self._rows: list[GuidePage | None] = []
        self._past: list[tuple[str, int]] = []
        self.list = HeadedList()
        self.list.setAccessibleName("Pages")
        self.list.setFixedWidth(220)
        show_whole_rows(self.list)
        self.find = QLineEdit()
        self.find.setPlaceholderText("Find in the guide")
        self.find.setAccessibleName("Find in the guide")
        self.found = label("", "quiet", wraps=True)
        self.text = GuideText()
        self.back = button("Back  Alt+Left", name="Back")
        self.index = button("Overview  Alt+Home", name="Overview")
        self._lay_out()
        self._fill("")
        self._connect()

    @property
    def page(self) -> str:
        """File name of the page in hand."""
        return self.text.page

    def show_page(self, name: str = INDEX) -> None:
        """Show a page, or the index if there is none of that name."""
        self.open(name if any(page.name == name for page in self._pages) else INDEX)
        self.show()
        self.raise_()
        self.text.setFocus()

    def open(self, name: str, anchor: str = "", *, is_new: bool = True) -> None:
        """Turn to a page."""
        if is_new and self.page:
            self._past.append((self.page, self.text.verticalScrollBar().value()))
        if self.page != name:
            self.text.show_page(name)
            self._mark_words()
        self.list.blockSignals(True)
        names = [page.name if page else "" for page in self._rows]
        self.list.setCurrentRow(names.index(name) if name in names else -1)
        self.list.blockSignals(False)
        self.back.setEnabled(bool(self._past))
        if anchor:
            self.text.show_anchor(anchor)

    def go_back(self) -> None:
        """Return to the page before."""
        if self._past:
            name, place = self._past.pop()
            self.open(name, is_new=False)
            self.text.verticalScrollBar().setValue(place)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(self.find)
        left.addWidget(self.found)
        left.addWidget(self.list, 1)
        self.found.hide()
        buttons = QHBoxLayout()
        buttons.addWidget(self.back)
        buttons.addWidget(self.index)
        buttons.addStretch(1)
        right = QVBoxLayout()
        right.addLayout(buttons)
        right.addWidget(self.text, 1)
        row = QHBoxLayout(self)
        row.addLayout(left)
        row.addLayout(right, 1)

    def _connect(self) -> None:
        self.list.currentRowChanged.connect(self._choose)
        self.find.textChanged.connect(self._fill)
        self.back.clicked.connect(self.go_back)
        self.index.clicked.connect(lambda: self.open(INDEX))
        self.text.anchorClicked.connect(self._follow)
        for keys, act in (
            ("Alt+Left", self.back.click),
            ("Alt+Home", self.index.click),
            ("Ctrl+F", self.find.setFocus),
        ):
            QShortcut(QKeySequence(keys), self).activated.connect(act)

    def _fill(self, words: str) -> None:
        """List the pages in which all the words stand."""
        wanted = words.lower().split()
        self.list.blockSignals(True)
        self.list.clear()
        self._rows = []
        group = ""
        for page in self._pages:
            text = page_text(page.name).lower()
            if not all(word in text for word in wanted):
                continue
            if page.group != group and not wanted:
                item = QListWidgetItem(page.group)
                make_heading(item, self.list)
                self.list.addItem(item)
                self._rows.append(None)
            group = page.group
            self.list.addItem(QListWidgetItem(page.title))
            self._rows.append(page)
        names = [page.name if page else "" for page in self._rows]
        self.list.setCurrentRow(names.index(self.page) if self.page in names else -1)
        self.list.blockSignals(False)
        count = len(self._rows)
        self.found.setText(f"{count or 'No'} page{'' if count == 1 else 's'} with these words")
        self.found.setVisible(bool(wanted))
        self._mark_words()

    def _mark_words(self) -> None:
        """Scroll to the first of the words that are looked for."""
        for word in self.find.text().split()[:1]:
            self.text.find(word)

    def _choose(self, row: int) -> None:
        page = self._rows[row] if 0 <= row < len(self._rows) else None
        if page is not None:
            self.open(page.name)

    def _follow(self, url: QUrl) -> None:
        name = url.fileName() or self.page
        if any(page.name == name for page in self._pages):
            self.open(name, url.fragment())
