"""What the program remembers between starts: a small file in the user's data folder. No Qt here."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from trainer.ui.theme import APPEARANCES, Appearance

FILE_NAME = "preferences.json"
FOLDER_VARIABLE = "MODE_TRAINER_DATA"


@dataclass(frozen=True, slots=True)
class Preferences:
    """All that is remembered."""

    member: str = "Me"
    appearance: Appearance = "light"
    is_still: bool = False
    """Reduced motion: nothing pulses."""
    last_lesson: str = ""
    strip_design: str = ""
    """Name of the strip design in use; empty: the default."""
    keys: dict[str, str] = field(default_factory=dict)
    """The user's own keys: event -> key."""
    volume_percent: int = 50
    """0: nothing is heard."""
    has_capture_tone: bool = True
    width_px: int = 0
    """Size of the window; 0: the usual one."""
    height_px: int = 0
    is_maximised: bool = False


def user_folder() -> Path:
    """Return the folder of the user's data.

    The same as `records.store.data_folder`, which would load all of the records before the first
    paint; a test holds the two together.
    """
    if override := os.environ.get(FOLDER_VARIABLE):
        return Path(override)
    from platformdirs import user_data_path

    return user_data_path("mode-logic-trainer", appauthor=False)


def load_preferences(folder: Path) -> Preferences:
    """Return what is remembered; what is missing or spoilt takes the default.

    A spoilt file loses nothing that matters, so it is no reason not to start.
    """
    try:
        data: Any = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return Preferences()
    default = Preferences()
    if not isinstance(data, dict):
        return default
    values = {
        item.name: data[item.name]
        for item in fields(Preferences)
        if type(data.get(item.name)) is type(getattr(default, item.name))
    }
    if values.get("appearance") not in APPEARANCES:
        values.pop("appearance", None)
    keys = values.get("keys", {})
    values["keys"] = {e: k for e, k in keys.items() if isinstance(k, str)}
    return Preferences(**values)


def save_preferences(folder: Path, preferences: Preferences) -> None:
    """Write what is to be remembered; a folder that can't be written to is let be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        text = json.dumps(asdict(preferences), indent=1, ensure_ascii=False)
        (folder / FILE_NAME).write_text(text, encoding="utf-8")
    except OSError:
        return
