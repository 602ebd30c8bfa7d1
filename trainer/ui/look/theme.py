"""Colours and sizes by meaning, and the one style sheet made from them. No Qt here.

A widget asks for a meaning (`quiet_ink`, `right`, `caution`), never for a colour, and every
meaning also has a word, a shape or a place: none rests on colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.session.contrast import OKABE_ITO

Appearance = Literal["light", "dark", "high_contrast"]
APPEARANCES: tuple[Appearance, ...] = ("light", "dark", "high_contrast")
APPEARANCE_LABELS: dict[Appearance, str] = {
    "light": "Light",
    "dark": "Dark",
    "high_contrast": "High contrast",
}

PATH_DASHES = (7.0, 2.0, 1.5, 2.0)
"""Long, gap, short, gap of a course or glidepath, in widths of its line."""
GRID_PX = 4
"""Every gap is a multiple of this."""
SMALL_PX, BODY_PX, LARGE_PX, TITLE_PX = 11, 13, 15, 20
"""The type scale."""


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours by meaning, each `#RRGGBB`."""

    appearance: Appearance
    ground: str
    """Behind everything."""
    panel: str
    """A panel's ground."""
    field: str
    """A button's or field's ground."""
    pressed: str
    ink: str
    quiet_ink: str
    """Second-rank words; still readable as text."""
    line: str
    """Hair lines that part things; decoration."""
    edge: str
    """Borders of things that can be acted on."""
    accent: str
    """What to do next, and the focus ring."""
    accent_ink: str
    right: str
    wrong: str
    caution: str
    path: str
    """A course or glidepath in a view: the colour of words, which means nothing by itself; its
    long and short dashes tell it from everything else."""
    track: str
    """Where the aircraft has been."""
    aircraft: str
    cue: str
    """What the guidance asks for."""
    sky: str
    land: str

    @property
    def strip_scheme(self) -> Literal["light", "dark"]:
        """Which of a strip design's two sets of colours goes with this theme."""
        return "light" if self.appearance == "light" else "dark"


LIGHT = Theme(
    appearance="light",
    ground="#EEF0EC",
    panel="#FAFBF8",
    field="#FFFFFF",
    pressed="#DDE3E6",
    ink="#12161A",
    quiet_ink="#4E565E",
    line="#D3D8D4",
    edge="#7C858C",
    accent=OKABE_ITO["blue"],
    accent_ink="#FFFFFF",
    right="#00694C",
    wrong="#A23B00",
    caution="#7A5200",
    path="#12161A",
    track="#5E6770",
    aircraft="#12161A",
    cue=OKABE_ITO["blue"],
    sky="#DCE9F1",
    land="#E4DDCB",
)
DARK = Theme(
    appearance="dark",
    ground="#121517",
    panel="#1A1E21",
    field="#23282C",
    pressed="#343B41",
    ink="#EEF1F3",
    quiet_ink="#A9B2BA",
    line="#30373C",
    edge="#76818A",
    accent=OKABE_ITO["sky_blue"],
    accent_ink="#06121A",
    right="#3CC79B",
    wrong="#FF9A5C",
    caution=OKABE_ITO["yellow"],
    path="#EEF1F3",
    track="#929CA5",
    aircraft="#FFFFFF",
    cue=OKABE_ITO["sky_blue"],
    sky="#1C2C38",
    land="#2E2A20",
)
HIGH_CONTRAST = Theme(
    appearance="high_contrast",
    ground="#000000",
    panel="#000000",
    field="#000000",
    pressed="#333333",
    ink="#FFFFFF",
    quiet_ink="#FFFFFF",
    line="#8C8C8C",
    edge="#FFFFFF",
    accent=OKABE_ITO["sky_blue"],
    accent_ink="#000000",
    right="#4FE3B6",
    wrong="#FFB27A",
    caution=OKABE_ITO["yellow"],
    path="#FFFFFF",
    track="#D0D0D0",
    aircraft="#FFFFFF",
    cue=OKABE_ITO["sky_blue"],
    sky="#000000",
    land="#2A2A2A",
)
THEMES: dict[Appearance, Theme] = {"light": LIGHT, "dark": DARK, "high_contrast": HIGH_CONTRAST}


def text_pairs(theme: Theme) -> tuple[tuple[str, str], ...]:
    """Return (ink, ground) for each pair in which words are read."""
    inks = (theme.ink, theme.quiet_ink, theme.right, theme.wrong, theme.caution)
    grounds = (theme.ground, theme.panel, theme.field)
    pairs = tuple((ink, ground) for ink in inks for ground in grounds)
    return (*pairs, (theme.accent_ink, theme.accent), (theme.ink, theme.pressed))


def graphic_pairs(theme: Theme) -> tuple[tuple[str, str], ...]:
    """Return (shape, ground) for each pair in which a shape must be seen."""
    drawn = (theme.path, theme.track, theme.aircraft, theme.cue)
    views = tuple((shape, ground) for shape in drawn for ground in (theme.panel,))
    edges = tuple((theme.edge, ground) for ground in (theme.ground, theme.panel, theme.field))
    return (*views, *edges, (theme.accent, theme.panel), (theme.accent, theme.ground))


def style_sheet(theme: Theme) -> str:
    """Return the style sheet of the whole window."""
    return "\n".join((_base(theme), _buttons(theme), _fields(theme), _lists(theme)))


def _base(theme: Theme) -> str:
    return f"""
QWidget {{ color: {theme.ink}; font-size: {BODY_PX}px; }}
QMainWindow, QDialog, QWidget#page {{ background: {theme.ground}; }}
QFrame#panel {{ background: {theme.panel}; border: 1px solid {theme.line}; border-radius: 6px; }}
QScrollArea, QScrollArea > QWidget > QWidget#plain, QWidget#plain {{ background: transparent;
  border: none; }}
QLabel {{ background: transparent; border: none; }}
QLabel[role="title"] {{ font-size: {TITLE_PX}px; font-weight: 600; }}
QLabel[role="heading"] {{ font-size: {LARGE_PX}px; font-weight: 600; }}
QLabel[role="group"] {{ font-size: {SMALL_PX}px; font-weight: 600; color: {theme.quiet_ink}; }}
QLabel[role="quiet"] {{ font-size: {SMALL_PX}px; color: {theme.quiet_ink}; }}
QLabel[role="told"] {{ font-weight: 600; }}
QLabel[role="number"] {{ font-size: {LARGE_PX}px; font-weight: 600; }}
QLabel[role="right"] {{ color: {theme.right}; font-weight: 600; }}
QLabel[role="wrong"] {{ color: {theme.wrong}; font-weight: 600; }}
QLabel[role="caution"] {{ color: {theme.caution}; font-weight: 600; }}
QToolTip {{ background: {theme.field}; color: {theme.ink}; border: 1px solid {theme.edge}; }}
"""


def _buttons(theme: Theme) -> str:
    return f"""
QPushButton {{ background: {theme.field}; border: 1px solid {theme.edge}; border-radius: 5px;
  padding: 4px 10px; min-height: 18px; text-align: center; }}
QPushButton:hover {{ background: {theme.pressed}; }}
QPushButton:pressed, QPushButton:checked {{ background: {theme.pressed};
  border: 2px solid {theme.accent}; padding: 3px 9px; }}
QPushButton:focus {{ border: 2px solid {theme.accent}; padding: 3px 9px; }}
QPushButton:disabled {{ color: {theme.quiet_ink}; border: 1px dashed {theme.line}; }}
QPushButton[role="main"] {{ background: {theme.accent}; color: {theme.accent_ink};
  border: 2px solid {theme.accent}; font-weight: 600; padding: 4px 12px; }}
QPushButton[role="main"]:focus {{ border: 2px solid {theme.ink}; }}
QPushButton[role="main"]:disabled {{ background: {theme.field}; color: {theme.quiet_ink};
  border: 1px dashed {theme.edge}; }}
QPushButton[role="word"] {{ text-align: left; padding: 2px 6px; }}
QPushButton[role="word"]:focus {{ padding: 1px 5px; }}
QPushButton[role="step"] {{ padding: 1px 2px; min-width: 18px; }}
"""


def _fields(theme: Theme) -> str:
    return f"""
QLineEdit {{ background: {theme.field}; border: 1px solid {theme.edge};
  border-radius: 5px; padding: 3px 8px; min-height: 20px; }}
QLineEdit:focus {{ border: 2px solid {theme.accent}; padding: 2px 7px; }}
QPlainTextEdit {{ background: {theme.field}; border: 1px solid {theme.edge};
  border-radius: 5px; padding: 2px; selection-background-color: {theme.accent};
  selection-color: {theme.accent_ink}; }}
QPlainTextEdit:focus {{ border: 2px solid {theme.accent}; padding: 1px; }}
QComboBox {{ background: {theme.field}; border: 1px solid {theme.edge}; border-radius: 5px;
  padding: 3px 8px; min-height: 20px; }}
QComboBox:focus {{ border: 2px solid {theme.accent}; padding: 2px 7px; }}
QComboBox::drop-down {{ border: none; width: 22px; }}
QComboBox QAbstractItemView {{ background: {theme.field}; color: {theme.ink};
  border: 1px solid {theme.edge}; selection-background-color: {theme.accent};
  selection-color: {theme.accent_ink}; }}
QRadioButton::indicator, QCheckBox::indicator {{ width: 12px; height: 12px;
  border: 1px solid {theme.edge}; background: {theme.field}; }}
QRadioButton::indicator {{ border-radius: 7px; }}
QCheckBox::indicator {{ border-radius: 3px; }}
QRadioButton::indicator:checked, QCheckBox::indicator:checked {{ background: {theme.accent};
  border: 1px solid {theme.ink}; }}
QRadioButton:focus, QCheckBox:focus {{ text-decoration: underline; }}
QSlider {{ min-height: 20px; }}
QSlider::groove:horizontal {{ height: 4px; background: {theme.line}; border-radius: 2px; }}
QSlider::sub-page:horizontal {{ height: 4px; background: {theme.accent}; border-radius: 2px; }}
QSlider::handle:horizontal {{ width: 10px; margin: -6px 0; background: {theme.field};
  border: 2px solid {theme.ink}; border-radius: 7px; }}
QSlider::handle:horizontal:focus {{ background: {theme.accent}; }}
"""


def _lists(theme: Theme) -> str:
    return f"""
QListWidget, QTableWidget, QTableView, QTextBrowser {{ background: {theme.panel};
  border: 1px solid {theme.line}; border-radius: 6px; gridline-color: {theme.line}; outline: 0; }}
QListWidget::item {{ padding: 8px 10px; border-bottom: 1px solid {theme.line}; }}
QListWidget#compact::item {{ padding: 3px 6px; }}
QListWidget::item:disabled {{ background: {theme.ground}; color: {theme.ink}; }}
QListWidget::item:selected, QTableWidget::item:selected {{ background: {theme.accent};
  color: {theme.accent_ink}; }}
QTableWidget::item {{ padding: 2px 8px; }}
QListWidget:focus, QTableWidget:focus, QTextBrowser:focus {{ border: 2px solid {theme.accent}; }}
QHeaderView::section {{ background: {theme.panel}; color: {theme.quiet_ink}; border: none;
  border-bottom: 1px solid {theme.edge}; padding: 4px 11px; font-weight: 600; text-align: left; }}
QHeaderView {{ background: {theme.panel}; }}
QHeaderView::section:vertical {{ border-bottom: 1px solid {theme.line}; }}
QListWidget::indicator {{ width: 13px; height: 13px; border: 1px solid {theme.edge};
  border-radius: 3px; background: {theme.field}; }}
QTableCornerButton::section {{ background: {theme.panel}; border: none; }}
QTabWidget::pane {{ background: {theme.panel}; border: 1px solid {theme.line};
  border-radius: 6px; }}
QTabBar::tab {{ background: {theme.ground}; border: 1px solid {theme.line}; padding: 5px 14px;
  border-top-left-radius: 5px; border-top-right-radius: 5px; }}
QTabBar::tab:selected {{ background: {theme.panel}; border-bottom: 3px solid {theme.accent};
  font-weight: 600; }}
QTabBar::tab:focus {{ text-decoration: underline; }}
QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 10px; margin: 0; }}
QScrollBar::handle {{ background: {theme.edge}; border-radius: 4px; min-height: 24px;
  min-width: 24px; margin: 1px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
"""
