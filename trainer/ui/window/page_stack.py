"""The pages of the window. The keyboard stays in the page that is shown."""

from __future__ import annotations

from PySide6.QtWidgets import QStackedWidget


class PageStack(QStackedWidget):
    """Holds the focus in a page whose widget in focus is hidden or switched off.

    Qt hands it to the next widget of the window, which may be a button of the top bar; a second
    Enter would press that one and leave the page. The page itself takes it: there Enter does the
    page's main thing, or nothing, and Tab goes on from its first widget.
    """

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: A002 - Qt's own name
        """Move the focus by Tab as ever; keep it in the page where its widget was taken away."""
        page, focused = self.currentWidget(), self.window().focusWidget()
        is_lost = (
            focused is not None
            and self.isAncestorOf(focused)
            and not (focused.isVisible() and focused.isEnabled())
        )
        if is_lost and page is not None and page.isVisible():
            page.setFocus()
            return True
        return super().focusNextPrevChild(next)
