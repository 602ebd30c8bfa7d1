"""Pictures of a check and of due practice for the guide, with a small item bank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.helpers.club import NOW
from tests.helpers.small_bank import SHIP, keep_small_bank, small_bank
from trainer.assessment.answers.prediction import Prediction
from trainer.session.annunciation import Annunciation

if TYPE_CHECKING:
    from tests.helpers.guide_pictures import GuidePictures

_WRONG = (2, 4)
_LATER = "2026-03-20T12:00:00Z"


def take_check(pictures: GuidePictures) -> None:
    """Take an item in the middle of being answered, the outcome, and what is due days later."""
    window = pictures.window
    rooms, workspace = window.desk.rooms, window.desk.workspace
    keep_small_bank(workspace.user_folder)
    workspace._banks[SHIP] = (workspace.library(SHIP), small_bank())
    rooms.show_check()
    door = rooms.check_door
    door.desk.now = lambda: NOW
    window.name_member("Bo Hill")
    rooms.show_check()
    intro = door.intro
    words = [intro.purpose.itemText(n) for n in range(intro.purpose.count())]
    intro.purpose.setCurrentIndex(next(n for n, one in enumerate(words) if "Amber, stage" in one))
    intro.form.setCurrentIndex(intro.form.findData("B"))
    intro.confirm.setChecked(True)
    intro.begin.click()
    pictures.wait_for(rooms.banks.background)
    number = 0
    while window.pages.currentWidget() is door.item:
        number += 1
        if number == 1:
            builder = door.item.page.builder
            half = builder.draft.nothing_changes().without_cell("vertical_armed")
            builder._set(half)
            pictures.take("check")
        _answer(door, right=number not in _WRONG, is_sure=number != _WRONG[0])
    pictures.wait_for(rooms.banks.background)
    pictures.take("outcome")
    rooms.show_due()
    rooms.due_door.desk._now = lambda: _LATER
    rooms.show_due()
    pictures.take("due")
    window.show_lessons()


def _answer(door: object, *, right: bool, is_sure: bool) -> None:
    item = door.item.taken.item
    others: list[Annunciation] = [one for one in item.answers.values() if one != item.true]
    said = item.true if right or not others else others[0]
    builder = door.item.page.builder
    builder.submitted.emit(Prediction(said, "sure" if is_sure else "guess"))
