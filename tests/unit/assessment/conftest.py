"""Installations and their misconceptions, built once for these tests."""

from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.assessment.library import Library, load_folder


@pytest.fixture(scope="session")
def workspace() -> Workspace:
    return Workspace()


@pytest.fixture(scope="session")
def amber(workspace: Workspace) -> Library:
    return fitted(workspace, "ship_amber")


@pytest.fixture(scope="session")
def slate(workspace: Workspace) -> Library:
    return fitted(workspace, "ship_slate")


def fitted(workspace: Workspace, name: str) -> Library:
    logic = workspace.logic(name)
    return Library(logic, load_folder(workspace.charts_folder, logic.installation.generic))
