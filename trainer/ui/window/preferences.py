"""What the program remembers between starts: a small file in the user's data folder. No Qt here."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from trainer.errors import TrainerError
from trainer.text_file import read_text
from trainer.ui.look.theme import APPEARANCES, Appearance

FILE_NAME = "preferences.json"
_LARGEST = {"volume_percent": 100, "width_px": 20_000, "height_px": 20_000}
_LONGEST_TEXT = 500


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


def load_preferences(folder: Path) -> Preferences:
    """Return what is remembered; what is missing or spoilt takes the default.

    A spoilt file loses nothing that matters, so it is no reason not to start.
    """
    try:
        data: Any = json.loads(read_text(folder / FILE_NAME))
    except (TrainerError, ValueError, RecursionError):
        return Preferences()
    default = Preferences()
    if not isinstance(data, dict):
        return default
    values = {
        item.name: data[item.name]
        for item in fields(Preferences)
        if type(data.get(item.name)) is type(getattr(default, item.name))
        and _is_usable(item.name, data[item.name])
    }
    if values.get("appearance") not in APPEARANCES:
        values.pop("appearance", None)
    keys = values.get("keys", {})
    values["keys"] = {
        event: key
        for event, key in keys.items()
        if isinstance(key, str) and _is_usable("", key) and _is_usable("", event)
    }
    return Preferences(**values)


def _is_usable(name: str, value: object) -> bool:
    """False for numbers that no window can have, and for text that can't be shown or written."""
    if isinstance(value, str):
        return len(value) <= _LONGEST_TEXT and (value.isprintable() or not value)
    return name not in _LARGEST or 0 <= value <= _LARGEST[name]


def save_preferences(folder: Path, preferences: Preferences) -> None:
    """Write what is to be remembered; a folder that can't be written to is let be."""
    text = json.dumps(asdict(preferences), indent=1, ensure_ascii=False)
    beside = folder / f"{FILE_NAME}.new"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(text.encode("utf-8", "replace"))
        beside.replace(folder / FILE_NAME)
    except OSError:
        return
