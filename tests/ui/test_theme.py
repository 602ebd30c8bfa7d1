"""Every theme is legible in every pairing that the window uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from trainer.session.contrast import contrast_ratio
from trainer.ui.look.theme import (
    BODY_PX,
    GRID_PX,
    LARGE_PX,
    LIGHT,
    SMALL_PX,
    THEMES,
    TITLE_PX,
    Theme,
    graphic_pairs,
    style_sheet,
    text_pairs,
)
from trainer.ui.look.view import path_pen

UI = Path(__file__).resolve().parents[2] / "trainer" / "ui"
GAP = re.compile(r"set(?:Spacing|ContentsMargins|HorizontalSpacing|VerticalSpacing)\(([\d, ]+)\)")


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
def test_words_have_the_contrast_of_wcag(theme: Theme) -> None:
    # [DSP-02] 4.5:1; the high-contrast theme reaches 7:1 (WCAG 2.2, 1.4.6, from memory).
    least = 7.0 if theme.appearance == "high_contrast" else 4.5
    for ink, ground in text_pairs(theme):
        assert contrast_ratio(ink, ground) >= least, f"{ink} on {ground}"


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
def test_shapes_have_the_contrast_of_wcag(theme: Theme) -> None:
    # [DSP-03] 3:1
    for shape, ground in graphic_pairs(theme):
        assert contrast_ratio(shape, ground) >= 3.0, f"{shape} on {ground}"


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
def test_style_sheet_balances_and_uses_only_the_theme(theme: Theme) -> None:
    sheet = style_sheet(theme)
    assert sheet.count("{") == sheet.count("}")
    used = {word.strip(" ;") for word in sheet.split() if word.startswith("#") and "{" not in word}
    colours = {getattr(theme, name) for name in theme.__slots__}
    assert {word for word in used if len(word) == 7} <= colours


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
def test_course_line_has_no_colour_meaning_and_a_dash_of_its_own(theme: Theme) -> None:
    red, green, blue = (int(theme.path[place : place + 2], 16) for place in (1, 3, 5))
    assert max(red, green, blue) - min(red, green, blue) <= 12  # grey: no hue to be read as a code
    assert contrast_ratio(theme.path, theme.panel) >= 3.0  # [DSP-03]
    pen = path_pen(theme)
    others = (Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine, Qt.PenStyle.DotLine)
    assert pen.style() == Qt.PenStyle.CustomDashLine
    assert pen.dashPattern() not in [
        QPen(QColor("black"), 2.0, style).dashPattern() for style in others
    ]


def test_every_gap_is_on_the_grid() -> None:
    off: dict[str, list[str]] = {}
    looked_at = 0
    for path in sorted(UI.rglob("*.py")):
        for match in GAP.finditer(path.read_text(encoding="utf-8")):
            looked_at += 1
            gaps = [int(one) for one in match[1].split(",")]
            if any(gap % GRID_PX and gap != GRID_PX // 2 for gap in gaps):
                off.setdefault(path.name, []).append(match[0])
    assert off == {}
    assert looked_at > 100


def test_type_has_the_sizes_of_the_scale() -> None:
    sizes = {int(size) for size in re.findall(r"font-size: (\d+)px", style_sheet(LIGHT))}
    assert sizes <= {SMALL_PX, BODY_PX, LARGE_PX, TITLE_PX}
