"""A window of its own for the statechart, so that it can stand beside what flies."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QCloseEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QVBoxLayout, QWidget

from trainer.charts.diagram import lay_out
from trainer.charts.diagram_svg import to_svg
from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.provenance import limits_warning
from trainer.lesson.coverage import Coverage
from trainer.session.session import Session
from trainer.ui.look.kit import button, label
from trainer.ui.look.theme import LIGHT, Theme, style_sheet
from trainer.ui.views.statechart_view import ZOOM_STEP, StatechartView
from trainer.ui.window.background import Background

_LOOK_MS = 120
HINT = "Wheel, + and - zoom, drag or arrows move, 0 shows the whole. Point at a part to read it."


class StatechartWindow(QWidget):
    """Follows what flies; without a flight it shows an aircraft's chart at rest."""

    said = Signal(str)
    news = Signal(str)

    def __init__(
        self, live: Callable[[], Session | None], cover: Callable[[str], Coverage] | None = None
    ) -> None:
        """Make the window.

        Args:
            live: Returns the session that flies now, if one does.
            cover: Flies the lessons of an installation, by id, and returns what they exercise;
                done in a thread. None: that isn't offered.
        """
        super().__init__()
        self.setObjectName("page")
        self._live = live
        self._cover = cover
        self._coverage: Coverage | None = None
        self.background = Background(self)
        self._theme: Theme = LIGHT
        self._installation: Installation | None = None
        self._shown: tuple[str, Configuration | None] | None = None
        self.view = StatechartView()
        self.state = label("", "quiet", wraps=True)
        self.scale = label("100 %", "number")
        self.closer = button("+", "step", name="Zoom in")
        self.wider = button("\N{MINUS SIGN}", "step", name="Zoom out")
        self.all = button("Whole  0", name="Show the whole")
        self.export = button("Save as SVG…")
        self.lessons = button("Lessons' coverage", hint="How many lessons exercise each state")
        self.lessons.setCheckable(True)
        self.lessons.setVisible(cover is not None)
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_MS)
        self._timer.timeout.connect(self.look)
        self._lay_out()
        self.view.zoomed.connect(lambda percent: self.scale.setText(f"{percent} %"))
        self.closer.clicked.connect(lambda: self.view.zoom_by(ZOOM_STEP))
        self.wider.clicked.connect(lambda: self.view.zoom_by(1.0 / ZOOM_STEP))
        self.all.clicked.connect(self.view.show_all)
        self.export.clicked.connect(self._ask_path)
        self.lessons.toggled.connect(lambda _on: self._show_or_fly())
        for keys in ("Esc", "Ctrl+K"):
            QShortcut(QKeySequence(keys), self).activated.connect(self.close)

    def show_installation(self, installation: Installation) -> None:
        """Show an aircraft's chart; live while that aircraft flies."""
        self._installation = installation
        self._shown = None
        self.look()
        self.show()
        self.raise_()
        self.activateWindow()
        self.view.setFocus()
        self._timer.start()

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        self.setStyleSheet(style_sheet(theme) + f"QWidget#page {{ background: {theme.ground}; }}")
        self.view.set_theme(theme)

    def look(self) -> None:
        """Take up what flies now; done by a timer while the window is open."""
        session = self._live()
        if session is not None:
            self._installation = session.installation
        installation = self._installation
        if installation is None:
            return
        configuration = session.configuration if session is not None else None
        state = (installation.id, configuration)
        if state == self._shown:
            return
        self._shown = state
        self.setWindowTitle(f"Statechart: {installation.title}")
        if self.lessons.isChecked():
            self._show_coverage(installation)
            return
        self.view.show_diagram(lay_out(installation.chart, configuration, installation.title))
        what = "The states that are active now are filled." if configuration else "Nothing flies."
        warning = limits_warning(installation)
        self.state.setText(f"{what}  {warning}".strip())

    def _show_or_fly(self) -> None:
        self._shown = None
        self.look()

    def _show_coverage(self, installation: Installation) -> None:
        """Show what the lessons exercise; fly them first if that isn't done."""
        coverage = self._coverage
        if coverage is None or coverage.installation != installation.id:
            self._fly_lessons(installation.id)
            return
        picture = lay_out(installation.chart, None, installation.title)
        self.view.show_diagram(coverage.counted(picture))
        (states, of_states), (rules, of_rules) = coverage.count("state"), coverage.count("rule")
        self.state.setText(
            f"The lessons exercise {states} of {of_states} states and {rules} of {of_rules} rules."
        )

    def _fly_lessons(self, name: str) -> None:
        cover = self._cover
        if cover is None or self.background.is_busy:
            return
        self.state.setText("Flying the lessons…")
        self.background.run(lambda _progress: cover(name), self._take_coverage, self._tell)

    def _take_coverage(self, coverage: Coverage) -> None:
        self._coverage = coverage
        self._show_or_fly()

    def write_svg(self, path: Path) -> None:
        """Write the picture as it is now."""
        if self.view.diagram is None:
            return
        try:
            path.write_text(to_svg(self.view.diagram), encoding="utf-8")
        except OSError as error:
            self._tell(f"{path}: not written ({error})")
        else:
            self.state.setText(f"Saved: {path}")
            self.news.emit(f"Saved: {path}")

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop looking."""
        self._timer.stop()
        self.background.close()
        super().closeEvent(event)

    def _tell(self, words: str) -> None:
        self.state.setText(words)
        self.said.emit(words)

    def _ask_path(self) -> None:
        name = self._installation.id if self._installation is not None else "statechart"
        chosen, _ = QFileDialog.getSaveFileName(
            self, "Save the picture", f"{name}.svg", "Picture (*.svg)"
        )
        if chosen:
            self.write_svg(Path(chosen).with_suffix(".svg"))

    def _lay_out(self) -> None:
        self.resize(1280, 760)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 4)
        column.setSpacing(4)
        row = QHBoxLayout()
        row.addWidget(label(HINT, "quiet"), 1)
        for widget in (self.wider, self.scale, self.closer, self.all, self.lessons, self.export):
            row.addWidget(widget)
        column.addLayout(row)
        column.addWidget(self.view, 1)
        column.addWidget(self.state)
