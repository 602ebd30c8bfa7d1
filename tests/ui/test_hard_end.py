"""An end that no handler meets leaves a report at the next start; a proper end leaves nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from trainer.trouble import FOLDER
from trainer.ui.window.hard_end import FILE_NAME, HardEnd

ROOT = Path(__file__).resolve().parents[2]
_DIES = """
import os, signal, sys
from pathlib import Path
from trainer.ui.window.hard_end import HardEnd
with HardEnd(Path(sys.argv[1])):
    os.kill(os.getpid(), signal.SIGSEGV)
"""


@pytest.fixture(autouse=True)
def _python_as_before():
    """The test's own faulthandler is put back."""
    import faulthandler

    was = faulthandler.is_enabled()
    yield
    if was:
        faulthandler.enable(sys.__stderr__)


@pytest.mark.skipif(sys.platform == "win32", reason="ends itself by a signal")
def test_it_is_reported_at_the_next_start(tmp_path: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", _DIES, str(tmp_path)]
    done = subprocess.run(command, check=False, env=environment, capture_output=True)
    assert done.returncode < 0
    with HardEnd(tmp_path) as last:
        text = last.report.read_text("utf-8")
    assert "Segmentation fault" in text
    assert str(ROOT) not in text
    with HardEnd(tmp_path) as last:
        assert last.report is None


def test_a_proper_end_leaves_nothing(tmp_path: Path) -> None:
    with HardEnd(tmp_path) as last:
        assert last.report is None
        assert (tmp_path / FOLDER / FILE_NAME).exists()
    assert not list((tmp_path / FOLDER).iterdir())


def test_a_folder_that_takes_no_file_is_no_reason_not_to_start(tmp_path: Path) -> None:
    (tmp_path / FOLDER).write_text("a file in the way")
    with HardEnd(tmp_path) as last:
        assert last.report is None
