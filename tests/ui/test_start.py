"""Starting: nothing of Qt is loaded too early, and a missing library is named with its cure."""

from __future__ import annotations

import subprocess
import sys

from trainer.ui.start import DEBIAN_LINE, missing_library_message


def test_importing_the_package_loads_nothing_of_qt() -> None:
    code = "import trainer.ui, trainer.ui.start, sys; print([m for m in sys.modules if 'Qt' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_missing_system_library_is_named_with_the_packages_that_mend_it() -> None:
    error = ImportError("libEGL.so.1: cannot open shared object file: No such file or directory")
    message = missing_library_message(error)
    assert "libEGL.so.1" in message
    assert DEBIAN_LINE in message


def test_missing_binding_is_named() -> None:
    message = missing_library_message(ModuleNotFoundError("No module", name="PySide6"))
    assert "pip install PySide6" in message
