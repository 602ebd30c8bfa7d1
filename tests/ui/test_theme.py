"""Every theme is legible in every pairing that the window uses."""

from __future__ import annotations

import pytest

from trainer.session.contrast import contrast_ratio
from trainer.ui.theme import THEMES, Theme, graphic_pairs, style_sheet, text_pairs


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
