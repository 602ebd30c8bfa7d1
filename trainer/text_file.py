"""Reads a whole file within bounds, and writes one whole or not at all."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

from trainer.errors import MissingFileError

MAXIMUM_BYTES = 500_000
"""Of a text that people write; the largest that comes with the program has a fifth of that."""


def read_bytes(path: Path, limit: int = MAXIMUM_BYTES, accepted: str = "a file") -> bytes:
    """Return a file's content.

    Args:
        path: The file; a link is followed to a plain file, and to nothing else.
        limit: Most bytes that are read.
        accepted: What should be there, for the message.

    Raises:
        MissingFileError: There is no such file, it is something else (a folder, a device, a pipe),
            it can't be read, or it is too large.

    Example:
        >>> read_bytes(Path(__file__))[:14]
        b'\"\"\"Reads a who'
    """
    try:
        found = os.stat(path)
        if not stat.S_ISREG(found.st_mode):
            raise MissingFileError(path, "can't be read (no plain file)", accepted)
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise MissingFileError(path, f"can't be read ({why})", accepted) from error
    if len(data) > limit:
        size = max(found.st_size, len(data))
        raise MissingFileError(path, f"{size} bytes", f"at most {limit} bytes")
    return data


def read_text(path: Path, limit: int = MAXIMUM_BYTES, accepted: str = "a text file") -> str:
    """Return a file's text.

    Args:
        path: The file.
        limit: Most bytes that are read.
        accepted: What should be there, for the message.

    Raises:
        MissingFileError: As `read_bytes`, or it isn't UTF-8.

    Example:
        >>> read_text(Path(__file__)).splitlines()[2]
        'from __future__ import annotations'
    """
    data = read_bytes(path, limit, accepted)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise MissingFileError(
            path, f"line {line}, byte {error.start} isn't UTF-8", "UTF-8 text"
        ) from error


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole, or as it was before.

    Args:
        path: The file; a link in its place is replaced, never followed.
        data: All of its content.

    Raises:
        MissingFileError: It can't be written; the message says why.
    """
    partial = path.with_name(f"{path.name}.{os.getpid()}.partial")
    try:
        partial.unlink(missing_ok=True)
        with partial.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        partial.replace(path)
    except OSError as error:
        raise MissingFileError(path, f"can't be written ({error.strerror})") from error
    finally:
        with suppress(OSError):
            partial.unlink()
