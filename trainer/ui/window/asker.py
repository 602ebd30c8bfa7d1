"""Asks the user for files and for a yes: the one place where dialogs of the system open."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget


class Asker:
    """Opens dialogs over a window; tests put another one in its place."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def save_file(self, title: str, name: str, kinds: str) -> Path | None:
        """Return where to write a file, or None if the user thinks better of it.

        Args:
            title: What is written.
            name: Suggested name.
            kinds: Qt's list of kinds, for example `PDF (*.pdf);;HTML (*.html)`.
        """
        path, _ = QFileDialog.getSaveFileName(self._parent, title, name, kinds)
        return Path(path) if path else None

    def open_file(self, title: str, kinds: str, folder: Path | None = None) -> Path | None:
        """Return a file that is there, or None."""
        path, _ = QFileDialog.getOpenFileName(self._parent, title, str(folder or ""), kinds)
        return Path(path) if path else None

    def open_files(self, title: str, kinds: str) -> list[Path]:
        """Return some files that are there; none if the user thinks better of it."""
        paths, _ = QFileDialog.getOpenFileNames(self._parent, title, "", kinds)
        return [Path(path) for path in paths]

    def confirm(self, title: str, words: str, yes: str) -> bool:
        """Return whether the user wants what can't be undone; 'no' is what Enter gives."""
        box = QMessageBox(QMessageBox.Icon.Warning, title, words, parent=self._parent)
        accept = box.addButton(yes, QMessageBox.ButtonRole.AcceptRole)
        box.setDefaultButton(box.addButton("Keep as it is", QMessageBox.ButtonRole.RejectRole))
        box.exec()
        return box.clickedButton() is accept
