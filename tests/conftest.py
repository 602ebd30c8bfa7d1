"""What all tests share: the same examples every time, and one worker for what belongs together."""

from __future__ import annotations

import gc
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")


def pytest_collection_finish() -> None:
    """Spare the collector what stays to the end: modules and thousands of collected tests."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give each worker its own half of the tests, and the idle one what is left of the other's.

    Dealt out by turns, both workers would build every bank, window and chart that tests share.
    """
    if config.getoption("dist") != "load":
        return None  # somebody has asked for another way
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log)
