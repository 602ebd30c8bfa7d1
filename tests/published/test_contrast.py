"""Contrast and palette against the published formula and figures.

Sources: [DSP-01] to [DSP-12], listed in SOURCES.md.
"""

from __future__ import annotations

import pytest

from trainer.session.contrast import (
    GRAPHIC_MINIMUM,
    OKABE_ITO,
    TEXT_MINIMUM,
    contrast_ratio,
    relative_luminance,
)
from trainer.session.strip_design import DARK_COLOURS, LIGHT_COLOURS, StripColours, contrast_pairs


def test_luminance_coefficients_are_those_of_wcag() -> None:
    # [DSP-01] L = 0.2126 R + 0.7152 G + 0.0722 B
    assert relative_luminance("#FF0000") == pytest.approx(0.2126)
    assert relative_luminance("#00FF00") == pytest.approx(0.7152)
    assert relative_luminance("#0000FF") == pytest.approx(0.0722)


def test_luminance_is_linear_below_the_threshold() -> None:
    # [DSP-01] 10/255 = 0.0392 <= 0.04045: c / 12.92; 11/255 = 0.0431 above it.
    assert relative_luminance("#0A0A0A") == pytest.approx(10 / 255 / 12.92)
    assert relative_luminance("#0B0B0B") == pytest.approx(((11 / 255 + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize(
    ("colour", "ground", "ratio", "tolerance"),
    [
        ("#000000", "#FFFFFF", 21.0000, 0.001),  # [DSP-06]
        ("#767676", "#FFFFFF", 4.5422, 0.001),  # [DSP-07]
        ("#777777", "#FFFFFF", 4.4781, 0.001),  # [DSP-07]
        ("#949494", "#FFFFFF", 3.0335, 0.001),  # [DSP-07]
        ("#959595", "#FFFFFF", 2.9953, 0.001),  # [DSP-07]
        ("#00FF00", "#000000", 15.304, 0.001),  # [DSP-08]
        ("#00FFFF", "#000000", 16.748, 0.001),  # [DSP-08]
        ("#FFFF00", "#000000", 19.556, 0.001),  # [DSP-08]
        ("#FF00FF", "#000000", 6.696, 0.001),  # [DSP-08]
        ("#FF0000", "#000000", 5.252, 0.001),  # [DSP-08]
        ("#0000FF", "#000000", 2.444, 0.001),  # [DSP-08]
        ("#FFBF00", "#000000", 12.704, 0.001),  # [DSP-08]
        ("#FF0000", "#FFFFFF", 3.998, 0.001),  # [DSP-09]
        ("#0000FF", "#FFFFFF", 8.592, 0.001),  # [DSP-09]
        ("#FFFF00", "#FFFFFF", 1.074, 0.001),  # [DSP-09]
    ],
)
def test_contrast_equals_published_figure(
    colour: str, ground: str, ratio: float, tolerance: float
) -> None:
    assert contrast_ratio(colour, ground) == pytest.approx(ratio, abs=tolerance)
    assert contrast_ratio(ground, colour) == contrast_ratio(colour, ground)


@pytest.mark.parametrize(
    ("name", "code", "on_black", "on_white"),
    [
        # [DSP-10] codes, [DSP-11] on black, [DSP-12] on white
        ("orange", "#E69F00", 9.32, 2.25),
        ("sky_blue", "#56B4E9", 9.10, 2.31),
        ("bluish_green", "#009E73", 6.14, 3.42),
        ("yellow", "#F0E442", 15.88, 1.32),
        ("blue", "#0072B2", 4.05, 5.19),
        ("vermillion", "#D55E00", 5.43, 3.87),
        ("reddish_purple", "#CC79A7", 6.86, 3.06),
    ],
)
def test_palette_equals_okabe_and_ito(
    name: str, code: str, on_black: float, on_white: float
) -> None:
    assert OKABE_ITO[name] == code
    assert contrast_ratio(code, "#000000") == pytest.approx(on_black, abs=0.01)
    assert contrast_ratio(code, "#FFFFFF") == pytest.approx(on_white, abs=0.01)


def test_least_contrasts_are_those_of_wcag() -> None:
    assert TEXT_MINIMUM == 4.5  # [DSP-02] 1.4.3 (AA)
    assert GRAPHIC_MINIMUM == 3.0  # [DSP-03] 1.4.11


@pytest.mark.parametrize(
    "colours", [pytest.param(LIGHT_COLOURS, id="light"), pytest.param(DARK_COLOURS, id="dark")]
)
def test_default_strip_is_legible(colours: StripColours) -> None:
    # [DSP-02] text 4.5:1; [DSP-03] shapes 3:1; no rounding: 2.999 fails.
    text = {"active_ink", "armed_ink", "alert_ink", "title", "empty"}
    pairs = contrast_pairs(colours)
    assert text | {"active_fill", "armed_outline", "alert_fill", "changed"} == {p[0] for p in pairs}
    for upper, lower, ratio, _ in pairs:
        assert ratio >= (4.5 if upper in text else 3.0), f"{upper} on {lower}: {ratio:.3f}"
