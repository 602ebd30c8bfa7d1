from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from trainer.errors import MissingFileError
from trainer.report.delivery import FORMS, form_of, render, write_report
from trainer.text_file import write_whole


@pytest.mark.parametrize(
    ("name", "start"), [("a.txt", b"CHECKOUT"), ("a.HTML", b"<!DOCTYPE"), ("a.pdf", b"%PDF")]
)
def test_report_is_written_in_the_form_of_its_ending(
    reports: dict[str, Any], tmp_path: Path, name: str, start: bytes
) -> None:
    write_report(reports["brief"], tmp_path / name)
    assert (tmp_path / name).read_bytes().startswith(start)
    assert [entry.name for entry in tmp_path.glob("a.*")] == [name]


def test_unknown_forms_are_refused_with_those_accepted(reports: dict[str, Any]) -> None:
    with pytest.raises(MissingFileError, match=r"accepted: \.txt, \.html"):
        form_of(Path("a.docx"))
    with pytest.raises(ValueError, match="accepted: text, html, pdf"):
        render(reports["brief"], "ink")
    assert all(render(reports["brief"], form) for form in FORMS)


def test_file_that_cannot_be_written_stays_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "kept").write_text("x")
    with pytest.raises(MissingFileError, match="can't be written"):
        write_whole(tmp_path / "folder", b"data")
    with pytest.raises(MissingFileError, match="can't be written"):
        write_whole(tmp_path / "none" / "a", b"data")
    assert [entry.name for entry in tmp_path.iterdir()] == ["folder"]
