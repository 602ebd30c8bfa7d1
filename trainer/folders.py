"""Where the user's own data lie on this computer, and what is only kept to be fast."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_cache_path, user_data_path

DATA_VARIABLE = "MODE_TRAINER_DATA"
CACHE_VARIABLE = "MODE_TRAINER_CACHE"
_NAME = "mode-logic-trainer"


def data_folder() -> Path:
    """Return the folder of the user's data; MODE_TRAINER_DATA overrides it.

    Example:
        >>> os.environ[DATA_VARIABLE] = "/tmp/of-a-member"
        >>> data_folder().as_posix()
        '/tmp/of-a-member'
    """
    if override := os.environ.get(DATA_VARIABLE):
        return Path(override)
    return user_data_path(_NAME, appauthor=False)


def cache_folder() -> Path:
    """Return the folder of what can be computed again; MODE_TRAINER_CACHE overrides it.

    Where MODE_TRAINER_DATA names the data folder it lies in there, so that nothing of the program
    is left elsewhere on the computer.

    Example:
        >>> os.environ[CACHE_VARIABLE], os.environ[DATA_VARIABLE] = "", "/tmp/of-a-member"
        >>> cache_folder().as_posix()
        '/tmp/of-a-member/cache'
    """
    if override := os.environ.get(CACHE_VARIABLE):
        return Path(override)
    if os.environ.get(DATA_VARIABLE):
        return data_folder() / "cache"
    return user_cache_path(_NAME, appauthor=False)
