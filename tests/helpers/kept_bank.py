"""Item banks of the ships that come with the program, made once for all processes of a test run.

What makes a bank is tested by making one; everybody else only needs one to look at.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import cache

from tests.helpers.run_folder import kept_in_run
from trainer.app import Workspace
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.items.scene import scenes
from trainer.records.check_bank_file import bank_key

SOME_SCENES = (
    "levelling", "climbing", "level_higher_selected", "off_course_climbing", "meeting_approach",
    "below_path_higher_selected", "on_path", "low_on_path", "low_climb", "fading", "steep_bank",
    "slow_climb",
)  # fmt: skip
"""Enough scenes for most tests: everything that a check asks about comes up in them."""


def kept_bank(ship: str, scene_ids: tuple[str, ...] | None = None, **limits: int) -> Bank:
    """Return the item bank of a ship, from the run's folder if another process has made it.

    Args:
        ship: Id of the installation.
        scene_ids: The scenes that it is made of; None: all.
        limits: Further limits of `build_bank`, such as `sequences`.
    """
    return replace(_kept(ship, scene_ids, tuple(sorted(limits.items()))))


@cache
def _kept(
    ship: str, scene_ids: tuple[str, ...] | None, limits: tuple[tuple[str, int], ...]
) -> Bank:
    workspace = Workspace()
    name = "-".join([ship, *(scene_ids or ("all",)), *(f"{k}_{v}" for k, v in limits)])
    return kept_in_run(
        f"{name}-{program_key()}", lambda: _computed(workspace, ship, scene_ids, dict(limits))
    )


def _computed(
    workspace: Workspace, ship: str, scene_ids: tuple[str, ...] | None, limits: dict[str, int]
) -> Bank:
    flights = tuple(
        scene
        for scene in scenes(workspace.installation(ship))
        if scene_ids is None or scene.id in scene_ids
    )
    return build_bank(
        workspace.library(ship), lambda start: workspace.begin(ship, start), flights, **limits
    )


@cache
def program_key() -> str:
    """Return a key of the program's text, its charts and its ships."""
    workspace = Workspace()
    paths = workspace.installation_paths.values()
    keys = [bank_key(workspace.charts_folder, path) for path in paths]
    return hashlib.sha256(" ".join(keys).encode()).hexdigest()[:16]
