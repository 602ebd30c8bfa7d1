"""The user guide, shown inside the program."""

from __future__ import annotations

from PySide6.QtCore import QUrl
from PySide6.QtWidgets import QDialog, QHBoxLayout, QListWidget, QTextBrowser, QWidget

from trainer.resources import guide_folder


def guide_pages() -> list[tuple[str, str]]:
    """Return (file name, title) of every page; the title is the page's first heading."""
    pages = []
    for path in sorted(guide_folder().glob("*.md")):
        first = path.read_text(encoding="utf-8").splitlines()[:1]
        title = first[0].lstrip("# ").strip() if first else path.stem
        pages.append((path.name, title or path.stem))
    return pages


class HelpWindow(QDialog):
    """Pages on the left, the page in hand on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Guide")
        self.resize(900, 640)
        self._pages = guide_pages()
        self.list = QListWidget()
        self.list.setAccessibleName("Pages")
        self.list.addItems([title for _, title in self._pages])
        self.list.setFixedWidth(220)
        self.text = QTextBrowser()
        self.text.setAccessibleName("Page")
        self.text.setSearchPaths([str(guide_folder())])
        self.text.setOpenExternalLinks(False)
        row = QHBoxLayout(self)
        row.addWidget(self.list)
        row.addWidget(self.text, 1)
        self.list.currentRowChanged.connect(self._show)

    def show_page(self, name: str) -> None:
        """Show a page, or the first if there is none of that name."""
        names = [page for page, _ in self._pages]
        self.list.setCurrentRow(names.index(name) if name in names else 0)
        self.show()
        self.raise_()

    def _show(self, row: int) -> None:
        if 0 <= row < len(self._pages):
            self.text.setSource(QUrl.fromLocalFile(str(guide_folder() / self._pages[row][0])))
