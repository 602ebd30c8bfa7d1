"""The situations from which generated lessons set out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from trainer.document import read_document
from trainer.lesson.spec import Start
from trainer.lesson.start_reader import read_source, read_start

FORMAT = "scenes/1"
SCENES_PATH = Path(__file__).with_name("scenes.yaml")


@dataclass(frozen=True, slots=True)
class Scene:
    """A situation with its words."""

    id: str
    title: str
    words: str
    start: Start


def load_scenes(path: Path = SCENES_PATH) -> tuple[Scene, ...]:
    """Return the scenes of a file, in file order.

    Raises:
        FileError: Something in the file isn't accepted.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    sources = tuple(read_source(entry) for entry in top.entries("navigation"))
    section = top.mapping("scenes")
    found = []
    for name, entry in section.children() if section is not None else ():
        inner = entry.mapping("start")
        start = read_start(inner, sources) if inner is not None else Start()
        found.append(Scene(name, entry.text("title"), entry.text("words"), start))
        entry.finish()
    top.finish()
    top.document.raise_if_problems()
    return tuple(replace(scene, words=" ".join(scene.words.split())) for scene in found)
