"""Reads one flat YAML mapping and keeps the line and column of each key.

Only the aircraft loader uses it. YAML 1.2, so `on` and `off` stay words.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from trainer.errors import FileError, FileProblem


class Mapping:
    """A YAML mapping that knows where each of its keys stands."""

    def __init__(self, path: str, data: CommentedMap) -> None:
        self.path = path
        self._data = data

    def __contains__(self, key: str) -> bool:
        return key in self._data

    def __getitem__(self, key: str) -> Any:
        return self._data[key]

    def place(self, key: str) -> tuple[int, int]:
        """Return line and column (both from 1) of a key's value."""
        line, column = self._data.lc.value(key)
        return line + 1, column + 1

    def key_problems(self, accepted: tuple[str, ...]) -> list[FileProblem]:
        """Return a problem for each unknown key and for each key that is not there."""
        problems: list[FileProblem] = []
        for key in self._data:
            if key not in accepted:
                line, column = self._data.lc.key(key)
                near = get_close_matches(str(key), accepted, n=1)
                hint = f"{near[0]} (nearest)" if near else ", ".join(accepted)
                problems.append(
                    FileProblem(self.path, line + 1, column + 1, f"found unknown key {key!r}", hint)
                )
        for key in accepted:
            if key not in self._data:
                problems.append(
                    FileProblem(self.path, 1, 1, f"key {key!r} is not there", f"{key}: a value")
                )
        return problems


def read_mapping(text: str, path: str) -> Mapping:
    """Parse text into a `Mapping`.

    Args:
        text: Content of the file.
        path: Name of the file, for messages.

    Raises:
        FileError: Not YAML, a key given twice, or not a mapping.
    """
    try:
        data = YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        found = f"found {error.problem or error.context or 'broken YAML'}"
        raise FileError([FileProblem(path, line, column, found, "YAML 1.2")]) from error
    except YAMLError as error:
        raise FileError([FileProblem(path, 1, 1, f"found {error}", "YAML 1.2")]) from error
    if not isinstance(data, CommentedMap):
        kind = "nothing" if data is None else type(data).__name__
        raise FileError([FileProblem(path, 1, 1, f"found {kind}", "a mapping of key: value")])
    return Mapping(path, data)
