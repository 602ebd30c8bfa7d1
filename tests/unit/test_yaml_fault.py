"""A text that isn't YAML: the line that has to be mended is told, and how."""

from __future__ import annotations

import pytest

from trainer.document import parse_document
from trainer.errors import FileError


# Mistakes that hands make, each with the line on which one would mend it.
@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a: 1\nb: {c: 1, d: 2\ne: 3\n", "f.yaml:2:4: the '{' here isn't closed, or a comma is "
         "missing, before line 3; accepted: ',' between entries and a '}' after the last"),
        ("a: 1\nb: [1, 2\n\n\nc: 3\n", "f.yaml:2:4: the '[' here isn't closed, or a comma is "
         "missing, before line 5; accepted: ',' between entries and a ']' after the last"),
        ("a: 1\nb: {c: 1\n", "f.yaml:2:4: the '{' here isn't closed"),
        ("a: 1\nbank\nc: 2\n", "f.yaml:2:1: a line without ':'; accepted: key: value"),
        ("a: 1\nb: 'x\nc: 2\n", "f.yaml:2:4: the quote here isn't closed; accepted: a quote"),
        ("a: 1\n  b: 2\n", "f.yaml:2:4: a ':' where none can stand; accepted: text with ': '"),
        ("a: x: y\n", "f.yaml:1:5: a ':' where none can stand"),
        ("a:\n  b: 1\n c: 2\n", "f.yaml:3:2: indented otherwise than above; accepted: keys of"),
        ("a: 1\n\tb: 2\n", "f.yaml:2:1: found character '\\t' that cannot start any token; "
         "accepted: spaces"),
        ("a: @x\n", "f.yaml:1:4: found character '@' that cannot start any token; "
         "accepted: text that begins so in quotes"),
        ("a: }\n", "f.yaml:1:4: expected the node content, but found '}'; accepted: YAML 1.2"),
    ],
)  # fmt: skip
def test_the_place_to_mend_is_told(text: str, told: str) -> None:
    with pytest.raises(FileError) as caught:
        parse_document(text, "f.yaml")
    assert str(caught.value).startswith(told)
