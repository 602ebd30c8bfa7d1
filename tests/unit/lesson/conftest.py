from __future__ import annotations

import pytest

from trainer.app import Workspace
from trainer.document import parse_document
from trainer.lesson.loader import read_lesson

TEXT = """\
format: lesson/1
title: A short one
installation: ship_amber
objectives: [Say what the director key does.]
start:
  altitude_ft: 3000
  heading_deg: 90
  airspeed_kt: 105
  navigation:
    - {id: quillmoor, kind: beacon, label: Beacon Quillmoor, course_deg: 90, east_nm: 8}
  selected: {altitude_ft: 3000, heading_deg: 90}
steps:
  - say: You fly by hand.
  - wait: 2
  - predict: {kind: after_key, key: director}
  - set: {selected_altitude_ft: 4000}
  - wait_until: {armed: [altitude], within_s: 5}
  - predict: {kind: next_change, within_s: 5}
"""


@pytest.fixture(scope="session")
def workspace():
    return Workspace()


@pytest.fixture(scope="session")
def text():
    return TEXT


@pytest.fixture
def read(workspace):
    def read_text(text):
        return read_lesson(parse_document(text, "my.yaml"), "my", workspace.charts)

    return read_text


@pytest.fixture
def run(workspace, read):
    def start(text):
        return workspace.start_lesson_without_trainee(read(text))

    return start


STEPS_AT = TEXT.index("steps:\n")


@pytest.fixture
def with_steps(text):
    """Return a lesson text with other steps; an optional start is put in the start's place."""

    def build(steps, start=None, installation="ship_amber"):
        head = TEXT[:STEPS_AT].replace("ship_amber", installation)
        if start is not None:
            begin = head.index("start:\n")
            head = head[:begin] + "start:\n" + start
        return head + "steps:\n" + steps

    return build
