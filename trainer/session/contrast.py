"""Contrast of two colours, and what a colour looks like to those who see fewer colours.

Pure arithmetic on `#RRGGBB` text; knows nothing of strips or windows.
"""

from __future__ import annotations

import re
from typing import Literal

TEXT_MINIMUM = 4.5
"""Least contrast of text to its ground. Source: [DSP-02] WCAG 2.2, 1.4.3 (AA)."""
GRAPHIC_MINIMUM = 3.0
"""Least contrast of a shape to its ground. Source: [DSP-03] WCAG 2.2, 1.4.11."""

ColourVision = Literal["protanopia", "deuteranopia", "tritanopia"]
COLOUR_VISIONS: tuple[ColourVision, ...] = ("protanopia", "deuteranopia", "tritanopia")

OKABE_ITO = {
    "black": "#000000",
    "orange": "#E69F00",
    "sky_blue": "#56B4E9",
    "bluish_green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermillion": "#D55E00",
    "reddish_purple": "#CC79A7",
}
"""Palette that stays apart for most eyes. Source: [DSP-10] Okabe and Ito (2002, 2008)."""

_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}")

# Source: [MACHADO-2009] Machado, Oliveira, Fernandes, "A Physiologically-based Model for
# Simulation of Color Vision Deficiency", IEEE TVCG 15(6), severity 1.0 (from memory).
_DEFICIENCY: dict[ColourVision, tuple[tuple[float, float, float], ...]] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def is_colour(text: object) -> bool:
    """Return True for `#RRGGBB`.

    Example:
        >>> is_colour("#1A2B3C"), is_colour("blue")
        (True, False)
    """
    return isinstance(text, str) and _COLOUR.fullmatch(text) is not None


def linear_rgb(colour: str) -> tuple[float, float, float]:
    """Return red, green and blue of `#RRGGBB` as linear light, each 0 to 1.

    Raises:
        ValueError: If the text is not `#RRGGBB`.

    Source:
        [DSP-01] W3C WCAG 2.2, relative luminance.
    """
    if not is_colour(colour):
        raise ValueError(f"not a colour of the form #RRGGBB: {colour!r}")
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return _linear(red), _linear(green), _linear(blue)


def relative_luminance(colour: str) -> float:
    """Return the relative luminance of `#RRGGBB`, 0 (black) to 1 (white).

    Source:
        [DSP-01] W3C WCAG 2.2, relative luminance.

    Example:
        >>> relative_luminance("#FFFFFF")
        1.0
    """
    red, green, blue = linear_rgb(colour)
    return round(0.2126 * red + 0.7152 * green + 0.0722 * blue, 12)


def contrast_ratio(colour: str, other: str) -> float:
    """Return the contrast of two colours, 1 to 21; their order doesn't matter.

    Source:
        [DSP-01] W3C WCAG 2.2, contrast ratio.

    Example:
        >>> contrast_ratio("#000000", "#FFFFFF")
        21.0
    """
    low, high = sorted((relative_luminance(colour), relative_luminance(other)))
    return (high + 0.05) / (low + 0.05)


def as_seen_with(colour: str, vision: ColourVision) -> str:
    """Return the colour `#RRGGBB` that stands for what an eye without one cone type sees.

    Source:
        [MACHADO-2009], severity 1.0 (from memory).
    """
    light = linear_rgb(colour)
    seen = (
        sum(factor * part for factor, part in zip(row, light, strict=True))
        for row in _DEFICIENCY[vision]
    )
    return "#" + "".join(f"{round(255 * _gamma(min(1.0, max(0.0, part)))):02X}" for part in seen)


def colour_difference(colour: str, other: str) -> float:
    """Return how far two colours lie apart in CIELAB (CIE 1976), 0 for equal.

    About 2 is just seen side by side (common practice).

    Source:
        [CIE-1976] CIE 15, colour difference 1976, white D65 (from memory).
    """
    first, second = _lab(colour), _lab(other)
    return float(sum((a - b) ** 2 for a, b in zip(first, second, strict=True)) ** 0.5)


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)


def _gamma(part: float) -> float:
    return 12.92 * part if part <= 0.0031308 else float(1.055 * part ** (1 / 2.4) - 0.055)


def _lab(colour: str) -> tuple[float, float, float]:
    red, green, blue = linear_rgb(colour)
    x = (0.4124564 * red + 0.3575761 * green + 0.1804375 * blue) / 0.95047
    y = 0.2126729 * red + 0.7151522 * green + 0.0721750 * blue
    z = (0.0193339 * red + 0.1191920 * green + 0.9503041 * blue) / 1.08883
    fx, fy, fz = (_lab_part(part) for part in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def _lab_part(part: float) -> float:
    edge = 6 / 29
    return float(part ** (1 / 3)) if part > edge**3 else part / (3 * edge**2) + 4 / 29
