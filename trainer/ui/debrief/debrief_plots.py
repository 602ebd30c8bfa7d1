"""The plots of a debrief: curves above, bands of modes and marks below, one time axis."""

from __future__ import annotations

import math
from pathlib import Path

import pyqtgraph as pg
from PySide6.QtCore import QBuffer, QIODevice, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPainter
from PySide6.QtWidgets import QGraphicsRectItem, QVBoxLayout, QWidget

from trainer.ui.debrief.timeline import CURVES, LANES, MARK_LABELS, MarkKind, Timeline
from trainer.ui.lesson.practice_words import clock_words
from trainer.ui.look.kit import label
from trainer.ui.look.theme import LIGHT, SMALL_PX, Theme
from trainer.ui.look.words import CELL_TITLES

SYMBOLS: dict[MarkKind, str] = {
    "key": "t",
    "automatic": "o",
    "reversion": "d",
    "refused": "x",
    "right": "+",
    "wrong": "s",
}
"""A shape for each kind of mark, so that none rests on colour alone."""
LEGEND = "▽ key   ○ by itself   ◇ reversion   × refused   + call right   □ call not so"
_AXIS_PX = 100
LEAST_RANGE = {
    "altitude_ft": 200.0, "heading_deg": 10.0, "airspeed_kt": 10.0, "course_deviation": 0.2,
}  # fmt: skip
"""Field -> least height of its plot, so that a steady flight isn't drawn as an unsteady one."""
_MARKS_Y, _CALLS_Y = 0.0, -1.0


class ClockAxis(pg.AxisItem):
    """Time as minutes and seconds."""

    def tickStrings(self, values: list[float], _scale: float, _spacing: float) -> list[str]:
        """Return the words at the ticks."""
        return [clock_words(max(0.0, value)) for value in values]


class DebriefPlots(QWidget):
    """Shows a timeline; `moment_chosen` carries the time of a click."""

    moment_chosen = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Timeline")
        self._theme = LIGHT
        self._timeline: Timeline | None = None
        self.canvas = pg.GraphicsLayoutWidget()
        self.canvas.setAccessibleName("Timeline plots")
        self.cursors: list[pg.InfiniteLine] = []
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.canvas, 1)
        layout.addWidget(label(LEGEND, "quiet"))
        self.canvas.scene().sigMouseClicked.connect(self._clicked)

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        if self._timeline is not None:
            self.show_timeline(self._timeline)

    def show_timeline(self, timeline: Timeline) -> None:
        """Draw a timeline."""
        self._timeline = timeline
        self.canvas.clear()
        self.canvas.setBackground(self._theme.panel)
        self.cursors = []
        plots: list[pg.PlotItem] = []
        for name, title, unit in CURVES:
            times, values = timeline.curve(name)
            if all(map(math.isnan, values)):
                continue  # no signal at any time: an empty plot would only take room
            plot = self._add_plot(len(plots), title, unit)
            pen = pg.mkPen(self._theme.cue, width=1.6 * self.devicePixelRatioF())
            plot.plot(times, values, pen=pen, connect="finite", antialias=True)
            low, high = _in_view(values, LEAST_RANGE[name])
            plot.setYRange(low, high, padding=0.05)
            plots.append(plot)
        bands = self._add_plot(len(plots), "", "")
        plots.append(bands)
        self._draw_bands(bands, timeline)
        self._draw_marks(bands, timeline)
        layout = self.canvas.ci.layout
        for row in range(len(CURVES) + 1):
            layout.setRowStretchFactor(row, 2 if row < len(plots) - 1 else 0)
        layout.setRowStretchFactor(len(plots) - 1, 4)
        for plot in plots[1:]:
            plot.setXLink(plots[0])
        plots[0].setXRange(0.0, max(timeline.end_s, 10.0), padding=0.01)

    def show_moment(self, t_s: float) -> None:
        """Put the cursor at a moment."""
        for cursor in self.cursors:
            cursor.setValue(t_s)

    def export(self, path: Path) -> None:
        """Write the plots as SVG or PNG, by the file name's ending.

        Raises:
            OSError: The file can't be written.
        """
        picture = QBuffer()
        picture.open(QIODevice.OpenModeFlag.WriteOnly)
        if path.suffix == ".svg":
            from PySide6.QtSvg import QSvgGenerator

            generator = QSvgGenerator()
            generator.setOutputDevice(picture)
            generator.setSize(self.canvas.size())
            generator.setViewBox(self.canvas.rect())
            generator.setTitle("Debrief")
            painter = QPainter(generator)
            self.canvas.render(painter)
            painter.end()
        else:
            self.canvas.grab().save(picture, "PNG")
        path.write_bytes(bytes(picture.data()))

    def _add_plot(self, row: int, title: str, unit: str) -> pg.PlotItem:
        axes = {"bottom": ClockAxis("bottom")}
        plot = self.canvas.addPlot(row=row, col=0, axisItems=axes)
        plot.setMenuEnabled(False)
        plot.hideButtons()
        plot.setMouseEnabled(x=True, y=False)
        plot.showGrid(x=True, y=True, alpha=0.15)
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        for name in ("left", "bottom"):
            axis = plot.getAxis(name)
            axis.setPen(pg.mkPen(self._theme.line))
            axis.setTextPen(pg.mkPen(self._theme.quiet_ink))
            axis.setTickFont(font)
        axis = plot.getAxis("left")
        axis.setWidth(_AXIS_PX)
        axis.enableAutoSIPrefix(False)
        if title:
            plot.getAxis("bottom").setStyle(showValues=False)
            style = {"color": self._theme.quiet_ink, "font-size": f"{SMALL_PX}px"}
            plot.setLabel("left", f"{title}<br>{unit}", **style)
        cursor = pg.InfiniteLine(
            0.0, pen=pg.mkPen(self._theme.accent, width=1.5 * self.devicePixelRatioF())
        )
        plot.addItem(cursor)
        self.cursors.append(cursor)
        return plot

    def _draw_bands(self, plot: pg.PlotItem, timeline: Timeline) -> None:
        theme = self._theme
        rows = {cell: len(LANES) - place for place, cell in enumerate(LANES)}
        for band in timeline.bands:
            y = rows[band.cell]
            length_s = band.end_s - band.start_s
            item = QGraphicsRectItem(QRectF(band.start_s, y - 0.38, length_s, 0.76))
            is_armed = band.cell.endswith("_armed")
            item.setPen(pg.mkPen(theme.accent if is_armed else theme.panel, width=1.2))
            item.setBrush(QColor(theme.panel if is_armed else theme.accent))
            item.setToolTip(f"{CELL_TITLES[band.cell]}: {band.label}")
            plot.addItem(item)
            ink = theme.ink if is_armed else theme.accent_ink
            words = pg.TextItem(band.label, color=ink, anchor=(0, 0.5))
            font = QFont(self.font())
            font.setPixelSize(SMALL_PX)
            words.setFont(font)
            words.setPos(band.start_s, y)
            plot.addItem(words)
            words.setVisible(length_s > timeline.end_s * 0.011 * len(band.label))
        ticks = [(y, CELL_TITLES[cell]) for cell, y in rows.items()]
        axis = plot.getAxis("left")
        axis.setStyle(hideOverlappingLabels=False)
        axis.setTicks([[*ticks, (_MARKS_Y, "Keys, changes"), (_CALLS_Y, "Calls")]])
        plot.setYRange(_CALLS_Y - 0.6, len(LANES) + 0.5, padding=0)

    def _draw_marks(self, plot: pg.PlotItem, timeline: Timeline) -> None:
        theme = self._theme
        colours = {"right": theme.right, "wrong": theme.wrong, "refused": theme.caution}
        for kind in MARK_LABELS:
            times = [mark.t_s for mark in timeline.marks if mark.kind == kind]
            if times:
                colour = colours.get(kind, theme.ink)
                plot.addItem(
                    pg.ScatterPlotItem(
                        times,
                        [_CALLS_Y if kind in ("right", "wrong") else _MARKS_Y] * len(times),
                        symbol=SYMBOLS[kind],
                        size=11,
                        pen=pg.mkPen(colour, width=1.4),
                        brush=QColor(theme.panel),
                    )
                )

    def _clicked(self, event: object) -> None:
        if event.button() != Qt.MouseButton.LeftButton:
            return
        for item in self.canvas.ci.items:
            if isinstance(item, pg.PlotItem) and item.sceneBoundingRect().contains(
                event.scenePos()
            ):
                self.moment_chosen.emit(item.vb.mapSceneToView(event.scenePos()).x())
                return


def _in_view(values: list[float], least: float) -> tuple[float, float]:
    """Return the lowest and highest value to be seen, gaps left out.

    Example:
        >>> _in_view([60.0, 60.0], 10.0)
        (55.0, 65.0)
    """
    there = [value for value in values if not math.isnan(value)]
    low, high = min(there), max(there)
    missing = max(0.0, least - (high - low)) / 2
    return low - missing, high + missing
