"""The user's own keys for the aircraft's controls: which are free, and which are taken. No Qt."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.ui.practice.controls import Control, belongs_to_window


def key_problem(key: str, event: str, controls: tuple[Control, ...]) -> str:
    """Return why a key can't work a control, or an empty text."""
    if not key:
        return "No key was pressed."
    if belongs_to_window(key):
        return f"{key} belongs to the window; choose a letter, a digit or another single key."
    for control in controls:
        if control.key == key and control.event != event:
            return f"{key} works {control.label} already; change that one first."
    return ""


def with_key(keys: Mapping[str, str], event: str, key: str) -> dict[str, str]:
    """Return the user's keys with one changed."""
    return {**keys, event: key}
