"""Python's search for garbage, set aside while a lot is made that all stays."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collecting() -> Iterator[None]:
    """Make objects without looking for unreachable cycles among them; afterwards as before.

    An exploration keeps millions of tuples that hold no cycle: going through them again and again
    takes a quarter of its time (measured in `tests/benchmarks/test_logic_speed.py`).

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
