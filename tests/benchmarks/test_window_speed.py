"""Budgets of the window: first paint, and one frame with every view on.

First paint: 1.5 s at most, and at most three times that of an empty window started in the same
run. A frame at 60 a second: step, refresh and paint within 8 ms in 99 of 100.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

FIRST_PAINT_S = 1.5
TIMES_EMPTY = 3.0
FRAME_P99_S = 0.008
_EMPTY = """
import os
from PySide6.QtWidgets import QApplication, QMainWindow
class Window(QMainWindow):
    painted = False
    def paintEvent(self, event):
        self.painted = True
app = QApplication([])
window = Window()
window.resize(1280, 780)
window.show()
while not window.painted:
    app.processEvents()
os._exit(0)
"""
_OURS = """
import os
from trainer.ui.start import build
app, window = build()
window.show()
while not window.has_painted:
    app.processEvents()
os._exit(0)
"""


def start_s(code: str, folder: Path) -> float:
    """Return the time from starting Python to the first paint [s]."""
    began_s = time.perf_counter()
    environment = os.environ | {"MODE_TRAINER_DATA": str(folder)}
    command = [sys.executable, "-c", code]
    subprocess.run(command, check=True, cwd=Path(__file__).parents[2], env=environment)
    return time.perf_counter() - began_s


def test_first_paint(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    start_s(_EMPTY, tmp_path)  # warms the disk for both
    empty_s = statistics.median(start_s(_EMPTY, tmp_path) for _ in range(5))
    benchmark.pedantic(start_s, args=(_OURS, tmp_path), rounds=5)
    ours_s = benchmark.stats.stats.median
    benchmark.extra_info.update(empty_window_s=empty_s, times_empty=ours_s / empty_s)
    assert ours_s <= FIRST_PAINT_S
    assert ours_s <= TIMES_EMPTY * empty_s


# The processor's own time: what else the machine does isn't the window's.
@pytest.mark.benchmark(timer=time.process_time)
def test_frame(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    pytest.importorskip("PySide6.QtWidgets")
    from PySide6.QtWidgets import QApplication

    from trainer.ui.practice.situations import SITUATIONS
    from trainer.ui.start import open_workspace
    from trainer.ui.window.main_window import MainWindow

    app = QApplication.instance() or QApplication([])
    window = MainWindow(tmp_path, open_workspace)
    window.show()
    window.load()
    start = next(s.start for s in SITUATIONS if s.id == "approach")
    window.open_free("ship_amber", start, 0)
    window.driver.stop_clock()
    window.proceed()
    window.practice.press("approach")
    for _ in range(2000):  # a track of some length to draw
        window.practice.tick(0.2)

    def frame() -> None:
        window.driver.advance(1 / 60)
        app.processEvents()

    benchmark.pedantic(frame, rounds=600, warmup_rounds=30)
    times_s = sorted(benchmark.stats.stats.data)
    p99_s = times_s[int(len(times_s) * 0.99)]
    benchmark.extra_info["p99_s"] = p99_s
    window.close()
    assert p99_s <= FRAME_P99_S
