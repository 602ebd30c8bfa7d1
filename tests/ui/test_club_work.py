"""The lead's longer jobs, without a window."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

import pytest

from tests.helpers.club import NOW, SHIP, World, build_attempt, build_world
from trainer.app import Workspace
from trainer.errors import TrainerError
from trainer.ui.club.club_desk import ClubDesk
from trainer.ui.club.club_work import REPORTS, ReportKind, ReportOrder, write_order


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    return build_world(tmp_path_factory.mktemp("club"), Workspace())


def order(kind: Any) -> ReportOrder:
    return ReportOrder(kind, SHIP, 1, (), (), {})


def test_every_kind_that_is_offered_is_made_or_refused_with_words(
    world: World, tmp_path: Path
) -> None:
    assert set(REPORTS) == set(get_args(ReportKind))
    titles = set()
    for kind in ("brief", "summary"):
        target = tmp_path / f"{kind}.txt"
        write_order(world.book_path, order(kind), NOW, "1", target)
        titles.add(target.read_text("utf-8").splitlines()[0])
    assert len(titles) == 2
    with pytest.raises(TrainerError, match="has not completed"):
        write_order(world.book_path, order("certificate"), NOW, "1", tmp_path / "record.txt")


def test_an_aircraft_whose_file_is_not_here_has_a_brief_that_says_so(
    world: World, tmp_path: Path
) -> None:
    folder = tmp_path / "records"
    desk = ClubDesk(folder, Workspace())
    desk.open(world.book_path)
    made = desk.order("brief", SHIP, 1)
    assert made.limits is not None
    assert made.suspect is not None
    unasked = replace(build_attempt("Bo Hill", 1, "go_around_lateral"), item_id="somewhere/key")
    assert made.suspect([unasked]) in (None, ())
    desk.workspace.installations.pop(SHIP)
    made = desk.order("brief", SHIP, 1)
    assert made.limits is None
    write_order(world.book_path, made, NOW, "1", tmp_path / "brief.txt")
    desk.close()
    text = " ".join((tmp_path / "brief.txt").read_text("utf-8").split())
    assert "Whether an instructor has signed the limits isn't known here" in text


def test_a_kind_that_nothing_makes_is_no_other_document(world: World, tmp_path: Path) -> None:
    target = tmp_path / "ending.txt"
    with pytest.raises(ValueError, match="'ending'"):
        write_order(world.book_path, order("ending"), NOW, "1", target)
    assert not target.exists()
