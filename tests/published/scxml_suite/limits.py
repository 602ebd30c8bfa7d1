"""Time and memory limits around engines that can loop for ever.

One of the reference engines never comes back from an eventless transition whose condition names
an unknown datum, and takes all memory meanwhile; a test that met it must fail, not hang.
"""

from __future__ import annotations

import resource
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

MEMORY_BYTES = 1 << 30


class OutOfTimeError(BaseException):
    """No answer in time. Not an Exception: an engine turns those into events and goes on."""


def _address_space_bytes() -> int:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    return pages * resource.getpagesize()


@contextmanager
def limited(seconds: float, extra_bytes: int = MEMORY_BYTES) -> Iterator[None]:
    """Raise OutOfTimeError after so many seconds of computing, MemoryError past so much memory."""

    def expired(_number: int, _frame: FrameType | None) -> None:
        raise OutOfTimeError(f"no answer within {seconds:g} s")

    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    before = signal.signal(signal.SIGVTALRM, expired)
    resource.setrlimit(resource.RLIMIT_AS, (_address_space_bytes() + extra_bytes, hard))
    # Again every second, in case the first one is raised where it is lost.
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds, 1.0)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, before)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))
