"""Python's search for garbage, set aside while a lot is made that all stays."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collecting() -> Iterator[None]:
    """Make objects without looking for unreachable cycles among them; afterwards as before.

    An exploration keeps millions of tuples that hold no cycle, and going through them again and
    again takes a third of its time (Ship Slate: 47 s of processor time with, 32 s without).

    Example:
        >>> with no_collecting():
        ...     gc.isenabled()
        False
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
