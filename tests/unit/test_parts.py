"""The libraries that the program is made of, with their licences, as they say themselves."""

from __future__ import annotations

import tomllib
from email.message import Message
from importlib.metadata import Distribution
from pathlib import Path
from typing import Any

import pytest

from trainer.parts import licence_of, parts

PROJECT = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))


class Library(Distribution):
    """A library with the metadata it is given."""

    def __init__(self, **fields: Any) -> None:
        self._message = Message()
        for name, values in fields.items():
            for value in values if isinstance(values, list) else [values]:
                self._message[name.replace("_", "-")] = value

    @property
    def metadata(self) -> Any:
        return self._message

    def read_text(self, _name: str) -> None:
        return None

    def locate_file(self, path: Any) -> Path:
        return Path(path)


def plain(name: str) -> str:
    return name.lower().replace("_", "-")


def test_every_dependency_is_there_with_version_and_licence():
    found = {plain(part.name): part for part in parts()}
    for line in PROJECT["project"]["dependencies"]:
        name = plain(line.split(">")[0].strip())
        assert found[name].version
        assert "not told" not in found[name].licence


def test_what_dependencies_need_is_there_and_tests_are_not():
    names = {plain(part.name) for part in parts()}
    assert {"shiboken6", "markupsafe", "cffi"} <= names
    assert not names & {"pytest", "hypothesis", "ruff"}


@pytest.mark.parametrize(
    ("fields", "licence"),
    [
        ({"License_Expression": "MIT", "License": "a long text"}, "MIT"),
        ({"Classifier": ["License :: OSI Approved :: MIT License", "Topic :: X"]}, "MIT License"),
        ({"Classifier": ["License :: OSI Approved"], "License": "BSD\nall of it"}, "BSD"),
        ({}, "not told by the library"),
    ],
)
def test_a_licence_is_found_wherever_a_library_puts_it(fields: dict[str, Any], licence: str):
    assert licence_of(Library(**fields)) == licence
