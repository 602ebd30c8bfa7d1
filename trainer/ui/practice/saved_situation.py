"""Situations of the trainee's own: a moment of a flight, kept as a file to begin from again. No Qt.

The `start` section is that of a lesson, so a situation can be pasted into one.
"""

from __future__ import annotations

import io
import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from trainer.document import read_document
from trainer.errors import TrainerError
from trainer.flight.types import InitialCondition, NavigationSource
from trainer.lesson.start_reader import read_start
from trainer.session.faults import faults_of
from trainer.session.session import Session
from trainer.session.situation import Selected, Start, StartModes

FORMAT = "situation/1"
FOLDER = "situations"
_SOURCE_KEYS = (
    "id",
    "kind",
    "label",
    "course_deg",
    "north_nm",
    "east_nm",
    "elevation_ft",
    "range_nm",
)


class SituationFileError(TrainerError):
    """A situation that can't be kept."""


@dataclass(frozen=True, slots=True)
class SavedSituation:
    """A named start in an aircraft."""

    title: str
    installation: str
    start: Start
    path: Path


def start_of(session: Session, faults: tuple[str, ...] | None = None) -> Start:
    """Return the start that puts an aircraft where a session is now.

    The turbulence's course isn't part of it.

    Args:
        session: The session.
        faults: Malfunctions to be kept; None: all that are in force.
    """
    flight, references = session.flight, session.references
    sample, shown = flight.sample(), session.annunciation
    on_ground = sample.on_ground
    return Start(
        InitialCondition(
            altitude_ft=sample.altitude_ft,
            heading_deg=sample.heading_deg,
            airspeed_kt=sample.airspeed_kt,
            vertical_speed_fpm=sample.vertical_speed_fpm,
            bank_deg=sample.bank_deg,
            pitch_deg=None if on_ground else sample.pitch_deg,
            north_nm=sample.north_nm,
            east_nm=sample.east_nm,
            power_percent=sample.power_percent,
            on_ground=on_ground,
        ),
        flight.environment,
        StartModes(
            "autopilot" if shown.engagement.startswith("autopilot") else shown.engagement,
            shown.lateral.active,
            shown.vertical.active,
            tuple(sorted((*shown.lateral.armed, *shown.vertical.armed))),
        ),
        Selected(
            references.selected_altitude_ft,
            references.selected_heading_deg,
            references.selected_course_deg,
            references.source_id,
            references.vertical_speed_fpm if shown.vertical.active == "vertical_speed" else None,
            references.airspeed_kt if shown.vertical.active == "airspeed_hold" else None,
        ),
        tuple(flight.sources.values()),
        faults_of(flight) if faults is None else faults,
    )


def dump_situation(title: str, installation: str, start: Start) -> str:
    """Return a situation as YAML text."""
    initial = {name: getattr(start.initial, name) for name in InitialCondition.__slots__}
    environment = start.environment
    data: dict[str, Any] = {
        "format": FORMAT,
        "title": title,
        "installation": installation,
        "start": {
            **_plain(initial),
            "wind": {
                "from_deg": environment.wind.from_deg,
                "speed_kt": environment.wind.speed_kt,
            },
            "altimeter_setting_hpa": environment.altimeter_setting_hpa,
            "isa_deviation_c": environment.isa_deviation_k,
            "ground_elevation_ft": environment.ground_elevation_ft,
            "turbulence_kt": environment.turbulence,
            "navigation": [_source(source) for source in start.sources],
            "selected": _plain({n: getattr(start.selected, n) for n in Selected.__slots__}),
            "modes": {
                "engagement": start.modes.engagement,
                "lateral": start.modes.lateral,
                "vertical": start.modes.vertical,
                "armed": list(start.modes.armed),
            },
            **({"faults": list(start.faults)} if start.faults else {}),
        },
    }
    stream = io.StringIO()
    yaml = YAML(typ="safe")
    yaml.default_flow_style = False
    yaml.sort_base_mapping_type_on_output = False
    yaml.allow_unicode = True
    yaml.dump(data, stream)
    return stream.getvalue()


def load_situation(path: Path, installations: Collection[str]) -> SavedSituation:
    """Return the situation of a file.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    title = top.text("title")
    installation = top.text("installation", choices=installations)
    entry = top.mapping("start")
    start = read_start(entry) if entry is not None else Start()
    top.finish()
    top.document.raise_if_problems()
    return SavedSituation(title, installation, start, path)


class SituationShelf:
    """The trainee's situations: files in one folder.

    Attributes:
        problems: What is wrong with files in the folder, found by the last `situations`.
    """

    def __init__(self, folder: Path, installations: Collection[str]) -> None:
        self._folder = folder / FOLDER
        self._installations = installations
        self.problems: list[str] = []

    def situations(self) -> list[SavedSituation]:
        """Return all readable situations, in the order of their files."""
        self.problems = []
        found = []
        for path in sorted(self._folder.glob("*.yaml")):
            try:
                found.append(load_situation(path, self._installations))
            except TrainerError as error:
                self.problems.append(str(error))
        return found

    def keep(self, title: str, session: Session, faults: tuple[str, ...] | None = None) -> Path:
        """Write the present moment of a session; nothing is ever overwritten.

        Args:
            title: Its name.
            session: The session.
            faults: Malfunctions to be kept; None: all that are in force.

        Raises:
            SituationFileError: The folder can't be written to.
        """
        stem = re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-") or "situation"
        path = self._folder / f"{stem}.yaml"
        number = 2
        while path.exists():
            path = self._folder / f"{stem}-{number}.yaml"
            number += 1
        text = dump_situation(title, session.installation.id, start_of(session, faults))
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        except OSError as error:
            raise SituationFileError(f"{path}: not written ({error}); mend the folder") from error
        return path


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    """Return the values that say something, numbers without a tail of noise."""
    return {
        name: round(value, 6) if isinstance(value, float) else value
        for name, value in values.items()
        if value not in (None, "")
    }


def _source(source: NavigationSource) -> dict[str, Any]:
    data = _plain({name: getattr(source, name) for name in _SOURCE_KEYS})
    if source.glidepath_deg is not None:
        data["glidepath_deg"] = source.glidepath_deg
    return data
