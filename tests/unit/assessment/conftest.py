"""Installations and their misconceptions, built once for these tests."""

from __future__ import annotations

import pytest

from tests.helpers.kept_bank import SOME_SCENES, kept_bank
from trainer.app import Workspace
from trainer.assessment.items.bank import Bank
from trainer.assessment.wrong_rules.library import Library, load_folder


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


@pytest.fixture(scope="session")
def bank() -> Bank:
    """A bank of some scenes, which is enough for most tests."""
    return kept_bank("ship_amber", SOME_SCENES)


@pytest.fixture(scope="session")
def whole_bank() -> Bank:
    return kept_bank("ship_amber")
