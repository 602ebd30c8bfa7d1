"""What all tests share: the same examples every time, and one worker for what belongs together."""

from __future__ import annotations

import gc
import os
import shutil
import tempfile
from typing import Any

import pytest
from hypothesis import settings

from tests.helpers.run_folder import FOLDER_VARIABLE

settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")

_OWN_FOLDER = pytest.StashKey[str]()


def pytest_configure(config: pytest.Config) -> None:
    """Give the run a folder for what its processes share; workers inherit the name."""
    if FOLDER_VARIABLE not in os.environ:
        config.stash[_OWN_FOLDER] = tempfile.mkdtemp(prefix="mode-trainer-tests-")
        os.environ[FOLDER_VARIABLE] = config.stash[_OWN_FOLDER]


def pytest_unconfigure(config: pytest.Config) -> None:
    """Take away the folder that this process has made."""
    if _OWN_FOLDER in config.stash:
        del os.environ[FOLDER_VARIABLE]
        shutil.rmtree(config.stash[_OWN_FOLDER], ignore_errors=True)


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
