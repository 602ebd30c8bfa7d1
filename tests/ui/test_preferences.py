"""What is remembered survives a start, and a spoilt file is no reason not to start."""

from __future__ import annotations

from pathlib import Path

import pytest

from trainer.ui.window.preferences import (
    FILE_NAME,
    Preferences,
    load_preferences,
    save_preferences,
)


def test_preferences_read_back(tmp_path: Path) -> None:
    chosen = Preferences(
        "A. Member", "dark", True, "lesson", "Mine", {"director": "Q"}, 25, False, 1300, 800, True
    )
    save_preferences(tmp_path / "new", chosen)
    assert load_preferences(tmp_path / "new") == chosen


@pytest.mark.parametrize(
    "text",
    [
        '{"keys": {"director": 3}}',
        '{"width_px": "wide"}',
        "",
        "{",
        "[]",
        '{"appearance": "pink"}',
        '{"member": 3, "is_still": "yes"}',
    ],
)
def test_spoilt_file_takes_the_default(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    assert load_preferences(tmp_path) == Preferences()


def test_one_spoilt_value_loses_only_itself(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_text('{"member": "B", "appearance": 1}', encoding="utf-8")
    assert load_preferences(tmp_path) == Preferences(member="B")
