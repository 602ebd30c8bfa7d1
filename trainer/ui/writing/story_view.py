"""The flight of a lesson being written, drawn along its time: modes as bars, moments as marks.

Each kind of mark has a shape of its own; the one in hand has a line through all lanes.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from trainer.charts.spec import ChartSpec
from trainer.lesson.story import Span, Story
from trainer.ui.lesson.practice_words import clock_words
from trainer.ui.look.theme import LIGHT, SMALL_PX, Theme
from trainer.ui.look.words import CELL_TITLES, QUIET_STATES, StripWords, words_of_chart
from trainer.ui.writing.write_words import MarkKind, mark_kind, moment_line

LANES = ("engagement", "lateral_active", "lateral_armed", "vertical_active", "vertical_armed")
LEFT_PX, RIGHT_PX, LANE_PX, MARKS_PX, AXIS_PX = 104.0, 14.0, 15.0, 26.0, 15.0
MARK_PX = 6.0
_REACH_PX, _DRAG_PX = 9.0, 5.0
_TICKS_S = (5, 10, 15, 30, 60, 120, 300, 600)
_TICK_ROOM_PX = 64.0
_STALE = 0.45
LEGEND = "▽ key   ◇ setting   ▲ fault   □ narration   ? question   ○ by itself   | wait until"


class StoryView(QWidget):
    """Shows a `Story`; `chosen` and `moved` say what is done with the mouse or the arrow keys."""

    chosen = Signal(int)
    """Place of a moment in the story."""
    moved = Signal(int, float)
    """A moment dragged, and how far [s]."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Timeline of the lesson")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self._theme: Theme = LIGHT
        self._story: Story | None = None
        self._chart: ChartSpec | None = None
        self._words = StripWords({})
        self.place = -1
        """Place of the moment in hand; -1: none."""
        self.is_stale = False
        self._grabbed: tuple[int, float] | None = None
        self._dragged_px = 0.0

    def sizeHint(self) -> QSize:
        """Return the height that all lanes need."""
        return QSize(640, round(MARKS_PX + len(LANES) * LANE_PX + AXIS_PX + 4))

    def set_theme(self, theme: Theme) -> None:
        """Use another theme."""
        self._theme = theme
        self.update()

    def show_story(
        self, story: Story | None, chart: ChartSpec | None, *, is_stale: bool = False
    ) -> None:
        """Show a flight; None: there is none. `is_stale`: it is that before the last change."""
        self.is_stale = is_stale
        if is_stale:
            self.update()
            return
        self._story, self._chart = story, chart
        self._words = words_of_chart(chart) if chart is not None else StripWords({})
        self.update()

    def show_place(self, place: int) -> None:
        """Show which moment is in hand."""
        self.place = place
        story = self._story
        is_there = story is not None and self._chart and 0 <= place < len(story.moments)
        words = moment_line(story.moments[place], story, self._chart) if is_there else ""
        self.setAccessibleDescription(words)
        self.update()

    def x_of(self, t_s: float) -> float:
        """Return where a moment stands [px]."""
        end_s = self._story.ended_s if self._story is not None else 0.0
        room_px = self.width() - LEFT_PX - RIGHT_PX
        return LEFT_PX + room_px * (t_s / end_s if end_s else 0.0)

    def place_at(self, x_px: float, y_px: float) -> int:
        """Return the place of the moment nearest to a point, or -1: none near."""
        if self._story is None:
            return -1
        best, nearest = -1, _REACH_PX
        for place, (x, y, _) in enumerate(self._marks()):
            far = abs(x - x_px) + (abs(y - y_px) if y_px < MARKS_PX else 0.0)
            if far <= nearest:
                best, nearest = place, far
        return best

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        font = QFont(self.font())
        font.setPixelSize(SMALL_PX)
        painter.setFont(font)
        self._paint_lanes(painter)
        painter.setOpacity(_STALE if self.is_stale else 1.0)
        if self._story is not None and self._story.ended_s:
            self._paint_axis(painter)
            for span in self._story.spans:
                self._paint_span(painter, span)
            self._paint_marks(painter)
        painter.setOpacity(1.0)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._theme.accent), 1.6))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the moment at the mouse, and hold it."""
        place = self.place_at(event.position().x(), event.position().y())
        if place >= 0 and event.button() == Qt.MouseButton.LeftButton and not self.is_stale:
            self.chosen.emit(place)
            self._grabbed, self._dragged_px = (place, event.position().x()), 0.0

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag what is held."""
        if self._grabbed is not None:
            self._dragged_px = event.position().x() - self._grabbed[1]
            self.update()

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        """Let go of what was dragged, where it is now."""
        grabbed, self._grabbed = self._grabbed, None
        moved_px, self._dragged_px = self._dragged_px, 0.0
        if grabbed is None or self._story is None or abs(moved_px) < _DRAG_PX:
            return
        room_px = self.width() - LEFT_PX - RIGHT_PX
        self.moved.emit(grabbed[0], moved_px / room_px * self._story.ended_s)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right go to the moment before and after; Home and End to the ends."""
        count = len(self._story.moments) if self._story is not None else 0
        places = {
            Qt.Key.Key_Left: self.place - 1,
            Qt.Key.Key_Right: self.place + 1,
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: count - 1,
        }
        if event.key() in places and not event.modifiers() and count and not self.is_stale:
            self.chosen.emit(max(0, min(count - 1, places[event.key()])))
        else:
            super().keyPressEvent(event)

    def event(self, event: object) -> bool:
        """Say what the mouse points at."""
        if isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self._tip(event), self)
            return True
        return super().event(event)

    def _tip(self, event: QHelpEvent) -> str:
        story = self._story
        if story is None or self._chart is None:
            return ""
        place = self.place_at(event.pos().x(), event.pos().y())
        if place >= 0:
            return moment_line(story.moments[place], story, self._chart)
        lane = int((event.pos().y() - MARKS_PX) // LANE_PX)
        for span in story.spans:
            is_here = self.x_of(span.start_s) <= event.pos().x() <= self.x_of(span.end_s)
            if is_here and 0 <= lane < len(LANES) and span.cell == LANES[lane]:
                return f"{CELL_TITLES[span.cell]}: {self._words.content(span.cell, span.content)}"
        return ""

    def _paint_lanes(self, painter: QPainter) -> None:
        painter.fillRect(self.rect(), QColor(self._theme.field))
        titles = ["Steps", *(CELL_TITLES[cell] for cell in LANES)]
        tops = [0.0, *(MARKS_PX + number * LANE_PX for number in range(len(LANES)))]
        heights = [MARKS_PX, *([LANE_PX] * len(LANES))]
        for title, top, height in zip(titles, tops, heights, strict=True):
            painter.setPen(QColor(self._theme.quiet_ink))
            area = QRectF(6, top, LEFT_PX - 10, height)
            painter.drawText(area, int(Qt.AlignmentFlag.AlignVCenter), title)
            painter.setPen(QColor(self._theme.line))
            painter.drawLine(QPointF(LEFT_PX, top + height), QPointF(self.width(), top + height))

    def _paint_axis(self, painter: QPainter) -> None:
        assert self._story is not None
        end_s = self._story.ended_s
        room_px = self.width() - LEFT_PX - RIGHT_PX
        step_s = next((s for s in _TICKS_S if s / end_s * room_px >= _TICK_ROOM_PX), _TICKS_S[-1])
        top = MARKS_PX + len(LANES) * LANE_PX
        painter.setPen(QColor(self._theme.quiet_ink))
        for number in range(int(end_s // step_s) + 1):
            x = self.x_of(number * step_s)
            painter.drawLine(QPointF(x, top), QPointF(x, top + 3))
            room = QRectF(x + 3, top, _TICK_ROOM_PX, AXIS_PX)
            words = clock_words(number * step_s)
            if x + 3 + painter.fontMetrics().horizontalAdvance(words) > self.width():
                continue
            painter.drawText(room, int(Qt.AlignmentFlag.AlignVCenter), words)

    def _paint_span(self, painter: QPainter, span: Span) -> None:
        if span.cell not in LANES or span.content in (*QUIET_STATES, "no_guidance", ()):
            return
        theme = self._theme
        is_armed = span.cell.endswith("_armed")
        x = self.x_of(span.start_s)
        area = QRectF(
            x, MARKS_PX + LANES.index(span.cell) * LANE_PX + 1.5, self.x_of(span.end_s) - x,
            LANE_PX - 3,
        )  # fmt: skip
        painter.setPen(QPen(QColor(theme.accent if is_armed else theme.field), 1.0))
        painter.setBrush(QColor(theme.field if is_armed else theme.accent))
        painter.drawRect(area)
        words = self._words.content(span.cell, span.content)
        if painter.fontMetrics().horizontalAdvance(words) + 6 <= area.width():
            painter.setPen(QColor(theme.ink if is_armed else theme.accent_ink))
            painter.drawText(area.adjusted(3, 0, 0, 0), int(Qt.AlignmentFlag.AlignVCenter), words)

    def _marks(self) -> list[tuple[float, float, MarkKind]]:
        """Return where each moment's mark stands, and what it is; marks near others give way."""
        story = self._story
        assert story is not None
        found: list[tuple[float, float, MarkKind]] = []
        gap_px = 2 * MARK_PX + 1
        last_px = [-gap_px, -gap_px]
        for moment in story.moments:
            x = self.x_of(moment.t_s)
            row = next((n for n in (0, 1) if x - last_px[n] >= gap_px), last_px.index(min(last_px)))
            last_px[row] = x = max(x, last_px[row] + gap_px)
            found.append((x, MARKS_PX * (0.74, 0.26)[row], mark_kind(moment, story)))
        return found

    def _paint_marks(self, painter: QPainter) -> None:
        assert self._story is not None
        for place, (x, y, kind) in enumerate(self._marks()):
            if place == self.place:
                self._paint_cursor(painter, self.x_of(self._story.moments[place].t_s))
            is_held = self._grabbed is not None and self._grabbed[0] == place
            self._paint_mark(painter, x + (self._dragged_px if is_held else 0.0), y, kind, place)

    def _paint_cursor(self, painter: QPainter, x: float) -> None:
        painter.setPen(QPen(QColor(self._theme.ink), 1.2, Qt.PenStyle.DashLine))
        bottom = MARKS_PX + len(LANES) * LANE_PX
        painter.drawLine(QPointF(x + self._dragged_px, 2), QPointF(x + self._dragged_px, bottom))

    def _paint_mark(
        self, painter: QPainter, x: float, y: float, kind: MarkKind, place: int
    ) -> None:
        theme = self._theme
        is_chosen = place == self.place
        painter.setPen(QPen(QColor(theme.ink), 1.4))
        painter.setBrush(QColor(theme.accent if is_chosen else theme.field))
        m = MARK_PX * (0.95 if is_chosen else 0.8)
        shapes = {
            "key": [(-m, -m), (m, -m), (0, m)],
            "set": [(0, -m), (m, 0), (0, m), (-m, 0)],
            "fault": [(-m, m), (m, m), (0, -m)],
            "say": [(-m, -m * 0.8), (m, -m * 0.8), (m, m * 0.8), (-m, m * 0.8)],
        }
        if kind == "fault" and not is_chosen:
            painter.setBrush(QColor(theme.ink))
        if kind in shapes:
            painter.drawPolygon(QPolygonF([QPointF(x + dx, y + dy) for dx, dy in shapes[kind]]))
        elif kind == "wait":
            painter.drawLine(QPointF(x, y - m), QPointF(x, y + m))
        else:
            radius = m + (1.5 if kind == "question" else 0.0)
            painter.drawEllipse(QPointF(x, y), radius, radius)
        if kind == "question":
            painter.setPen(QColor(theme.accent_ink if is_chosen else theme.ink))
            area = QRectF(x - 8, y - 8, 16, 16)
            painter.drawText(area, int(Qt.AlignmentFlag.AlignCenter), "?")
