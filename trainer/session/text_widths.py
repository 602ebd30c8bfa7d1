"""How wide text is in the sans type of printed strips, without a window system.

The widths are those of the most common metric of sans types; fonts made to the same widths are on
every system. Where another font stands in, `strip_svg` still holds each text to this width.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

# Thousandths of the type's size for the signs from blank to tilde.
# Source: [AFM-SANS] (from memory; held against a registry library in the tests).
_PLAIN = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 "
    "556 556 556 556 556 556 556 556 556 556 278 278 584 584 584 556 "
    "1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 "
    "667 778 722 667 611 722 667 944 667 667 611 278 278 278 469 556 "
    "333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 "
    "556 556 333 500 278 556 500 722 500 500 500 334 260 334 584"
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 "
    "556 556 556 556 556 556 556 556 556 556 333 333 584 584 584 611 "
    "975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 "
    "667 778 722 667 611 722 667 944 667 667 611 333 278 333 584 556 "
    "333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 "
    "611 611 389 556 333 611 556 778 556 556 500 389 280 389 584"
)
_FIRST = " "
_WIDTHS = {False: [int(one) for one in _PLAIN.split()], True: [int(one) for one in _BOLD.split()]}
_OTHER = 1000
"""For a sign that isn't in the table: as wide as the type is high, so that nothing is cut."""


def text_width_px(text: str, size_px: float, is_bold: bool) -> float:
    """Return the width of a text [px].

    Args:
        text: On one line.
        size_px: Of the type [px].
        is_bold: Of the type.

    Example:
        >>> text_width_px("Roll", 10.0, False)
        17.22
    """
    return sum(_width(sign, is_bold) for sign in text) * size_px / 1000.0


@lru_cache(maxsize=1024)
def _width(sign: str, is_bold: bool) -> int:
    base = unicodedata.normalize("NFD", sign)[:1]
    place = ord(base) - ord(_FIRST) if base else -1
    widths = _WIDTHS[is_bold]
    return widths[place] if 0 <= place < len(widths) else _OTHER
