"""The program never uses the network: with every socket barred, window and commands work alike."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_BARRED = """
import socket, sys
tried = []
# What every way to the network begins with; Python itself makes no socket otherwise.
def bar(event, arguments):
    if event.startswith(("socket.", "http.", "urllib.", "ftplib.", "smtplib.", "ssl.")):
        if event not in ("socket.gethostname",):
            tried.append(event)
            raise OSError(f"the network was used: {event} {arguments}")
sys.addaudithook(bar)
"""
_COMMANDS = (
    _BARRED
    + """
import io, contextlib
from trainer.cli.main import main
from trainer.resources import resource_folder
lesson = str(resource_folder("lessons") / "01-first-flight.yaml")
for words in (
    ["run", lesson, "--json"], ["key", lesson, "--json"], ["records", "check"], ["--version"],
):
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        try:
            code = main(words)
        except SystemExit as ended:
            code = ended.code
    assert code in (0, 1), (words, code)
assert tried == [], tried
print("quiet")
"""
)
_WINDOW = (
    _BARRED
    + """
from trainer.ui.start import build
app, window = build()
window.show()
window.load()
desk = window.desk
for page in (window.show_attempts, window.show_free, window.show_settings, window.show_club,
             window.show_aircraft, window.show_designer, window.show_write, desk.show_help):
    page()
    app.processEvents()
for page in range(desk.help.list.count()):
    desk.help.list.setCurrentRow(page)
    app.processEvents()
window.open_lesson(desk.workspace.lessons()[0])
window.driver.stop_clock()
for _ in range(40):
    window.proceed()
    window.driver.advance(0.25)
window.show_debrief()
app.processEvents()
assert tried == [], tried
names = [name for name in sys.modules if name in ("PySide6.QtNetwork", "requests", "urllib3")]
assert names == [], names
window.close()
print("quiet")
"""
)


def run(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen",
        "MODE_TRAINER_DATA": str(folder),
    }  # fmt: skip
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=environment,
        timeout=300,
    )  # fmt: skip


@pytest.mark.parametrize("code", [_COMMANDS, _WINDOW], ids=["commands", "window"])
def test_nothing_of_the_network_is_used(code: str, tmp_path: Path) -> None:
    done = run(code, tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "quiet"


def test_the_bar_would_tell(tmp_path: Path) -> None:
    code = _BARRED + "socket.create_connection(('127.0.0.1', 9))"
    assert "the network was used" in run(code, tmp_path).stderr


def test_no_module_names_what_would_use_it() -> None:
    names = r"socket|ssl|http|urllib(?!\.parse)|ftplib|smtplib|asyncio|requests|xmlrpc"
    names += r"|PySide6\.QtNetwork"
    pattern = re.compile(rf"^\s*(?:import|from)\s+(?:{names})\b", re.MULTILINE)
    found = [
        str(path) for path in (ROOT / "trainer").rglob("*.py")
        if pattern.search(path.read_text("utf-8"))
    ]  # fmt: skip
    assert found == []
