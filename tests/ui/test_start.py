"""Starting: nothing of Qt is loaded too early, and a missing library is named with its cure."""

from __future__ import annotations

import subprocess
import sys

import pytest
from PySide6.QtWidgets import QApplication

from trainer.ui.start import (
    DEBIAN_LINE,
    binding_problem,
    main,
    missing_library_message,
    screen_problem,
)


def test_importing_the_package_loads_nothing_of_qt() -> None:
    code = "import trainer.ui, trainer.ui.start, sys; print([m for m in sys.modules if 'Qt' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_window_is_up_before_flights_charts_and_lessons_are_loaded() -> None:
    code = "import trainer.ui.window.main_window, sys; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert "trainer.ui.lesson.lesson_chooser" in loaded
    later = ("trainer.flight", "trainer.charts", "trainer.lesson", "trainer.assessment", "ruamel")
    assert [one for one in loaded if one.startswith(later)] == []


def test_missing_system_library_is_named_with_the_packages_that_mend_it() -> None:
    error = ImportError("libEGL.so.1: cannot open shared object file: No such file or directory")
    message = missing_library_message(error)
    assert "libEGL.so.1" in message
    assert DEBIAN_LINE in message


def test_missing_binding_is_named() -> None:
    message = missing_library_message(ModuleNotFoundError("No module", name="PySide6"))
    assert "pip install PySide6" in message


def test_missing_screen_library_is_found_before_qt_ends_the_program() -> None:
    def load(name: str) -> object:
        if name == "libxcb-cursor.so.0":
            raise OSError(f"{name}: cannot open shared object file")
        return object()

    problem = screen_problem({"DISPLAY": ":0"}, "linux", load)
    assert "libxcb-cursor.so.0" in problem
    assert "libxcb-cursor0" in problem


@pytest.mark.parametrize(
    ("environment", "platform"),
    [
        ({"DISPLAY": ":0"}, "linux"),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux"),
        ({"QT_QPA_PLATFORM": "offscreen"}, "linux"),
        ({}, "darwin"),
        ({}, "win32"),
    ],
)
def test_nothing_is_said_where_a_window_can_open(
    environment: dict[str, str], platform: str
) -> None:
    assert screen_problem(environment, platform, lambda _name: object()) == ""


def test_no_screen_is_said_and_ends_with_two(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert main([]) == 2
    assert "no screen" in capsys.readouterr().err


def test_binding_that_works_is_taken(qapp: QApplication) -> None:
    assert binding_problem(lambda: qapp.setApplicationName("x")) == ""


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None can't be lost any more")
def test_binding_that_gives_none_away_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    counts = iter((9000, 8900))
    monkeypatch.setattr(sys, "getrefcount", lambda _value: next(counts))
    assert "PySide6-Essentials<6.12" in binding_problem(lambda: None)
