"""Explores an installation in a process of its own and prints its peak memory [MB].

Run by `test_logic_speed`: a process tells only the most that it ever held.
"""

from __future__ import annotations

import resource
import sys

from tests.helpers.charts import STATECHARTS
from trainer.charts.explore import explore
from trainer.charts.installation import load_installation
from trainer.charts.kernel import Kernel

if __name__ == "__main__":
    path = STATECHARTS / "installations" / f"{sys.argv[1]}.yaml"
    found = explore(Kernel(load_installation(path, STATECHARTS).chart))
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0  # it counts in kB
    print(len(found.settled), len(found.edges), f"{peak_mb:.0f}")  # noqa: T201
