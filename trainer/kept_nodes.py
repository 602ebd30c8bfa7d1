"""The nodes of large files that were read before, kept on the disk: parsing takes most of a start.

What is kept is named by the digest of the text, so a changed file is simply another one, and holds
nothing but what the parser said: every check of a reader is made each time. It is JSON, which can
give no more than lists, texts and numbers, behind a digest of its own. Whatever is wrong with it,
or with the folder, only means that the text is parsed as if nothing had been kept.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Callable
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

import ruamel.yaml

from trainer.errors import TrainerError
from trainer.folders import cache_folder
from trainer.text_file import read_bytes, write_whole
from trainer.yaml_node import Node, from_plain_form, plain_form

LEAST_KEPT = 4_000
"""Characters of the smallest text that is kept: others are parsed in a few milliseconds."""
MOST_BYTES = 20_000_000
"""Of all that is kept; the oldest goes first."""
_MOST_OF_ONE = 10_000_000
_FORM = f"1, ruamel.yaml {ruamel.yaml.__version__}"
"""Part of each name: what another parser or another plain form left is never read."""


def kept_or_parsed(text: str, parse: Callable[[str], Node | None]) -> Node | None:
    """Return the top node of a text: as it was kept, or parsed and, if it may be, kept.

    Args:
        text: All of a file.
        parse: Gives the node, and raises what is wrong; the text isn't kept then.
    """
    folder = _folder() if len(text) >= LEAST_KEPT else None
    if folder is None:
        return parse(text)
    path = folder / f"{_digest(f'{_FORM} {text}'.encode())}.json"
    node = _read(path)
    if node is None:
        node = parse(text)
        if node is not None:
            _write(path, node)
    return node


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _folder() -> Path | None:
    """Return the folder in which nodes are kept; None where there is none to be trusted."""
    folder = cache_folder() / "yaml"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return folder if _is_only_mine(folder) else None
    except OSError:
        return None


def _is_only_mine(folder: Path) -> bool:
    """False if somebody else could have put into the folder what would then be taught."""
    if os.name != "posix":
        return True  # a user's own folders are theirs alone there
    found = folder.stat()
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _read(path: Path) -> Node | None:
    try:
        digest, _, body = read_bytes(path, _MOST_OF_ONE).partition(b"\n")
        return from_plain_form(json.loads(body)) if digest == _digest(body).encode() else None
    except (TrainerError, ValueError, TypeError, RecursionError):
        return None


def _write(path: Path, node: Node) -> None:
    """Keep a node, and no more than may be kept; a fault is nobody's business."""
    with suppress(TrainerError, OSError, ValueError, RecursionError):
        body = json.dumps(plain_form(node), separators=(",", ":")).encode()
        _make_room(path.parent, len(body))
        write_whole(path, _digest(body).encode() + b"\n" + body)


def _make_room(folder: Path, size: int) -> None:
    found = sorted((one.stat().st_mtime_ns, one.stat().st_size, one) for one in folder.iterdir())
    free = MOST_BYTES - size - sum(bytes_of_one for _, bytes_of_one, _ in found)
    for _, bytes_of_one, path in found:
        if free >= 0:
            return
        path.unlink(missing_ok=True)
        free += bytes_of_one
