"""What the parser said of a large file is kept; it is never more than that, nor trusted blindly."""

from __future__ import annotations

import json
import os
import stat
from hashlib import sha256
from pathlib import Path

import pytest

from trainer import document, kept_nodes
from trainer.charts.loader import load_chart
from trainer.document import read_document
from trainer.errors import FileError
from trainer.folders import CACHE_VARIABLE
from trainer.resources import resource_folder
from trainer.yaml_node import Node, compose, from_plain_form, plain_form

GENERIC = resource_folder("statecharts") / "generic.yaml"
LARGE = "words: " + "a" * kept_nodes.LEAST_KEPT + "\nnumber: 3\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "kept"))
    _forget()
    return tmp_path / "kept" / "yaml"


@pytest.fixture
def parsed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The texts that are parsed, as they are parsed."""
    texts: list[str] = []

    def compose_and_note(text: str) -> Node | None:
        texts.append(text)
        return compose(text)

    monkeypatch.setattr(document, "compose", compose_and_note)
    return texts


@pytest.fixture
def large(tmp_path: Path) -> Path:
    path = tmp_path / "large.yaml"
    path.write_text(LARGE, encoding="utf-8")
    return path


def _forget() -> None:
    """Forget what this process has read, as the next start does."""
    document._remembered.cache_clear()


def _number(path: Path) -> float:
    _forget()
    return read_document(path).number("number")


def _kept(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def _spoil(path: Path, body: bytes) -> None:
    """Put other content in the place of what is kept, with the digest that belongs to it."""
    path.write_bytes(sha256(body).hexdigest().encode() + b"\n" + body)


def _all(node: Node) -> list[tuple[str, str, object, int, int]]:
    """Return all that a node and the nodes in it say, in order."""
    inner = node.value if node.id == "sequence" else []
    if node.id == "mapping":
        inner = [part for pair in node.value for part in pair]
    text = node.value if node.id == "scalar" else len(inner)
    here = (node.id, node.kind, text, node.line, node.column)
    return [here, *(row for one in inner for row in _all(one))]


@pytest.mark.parametrize("path", sorted(resource_folder("statecharts").rglob("*.yaml")))
def test_nodes_come_back_as_they_were(path: Path) -> None:
    node = compose(path.read_text("utf-8"))
    assert node is not None
    assert _all(from_plain_form(json.loads(json.dumps(plain_form(node))))) == _all(node)


def test_a_large_file_is_parsed_once_for_all_starts(large: Path, parsed: list[str]) -> None:
    assert [_number(large), _number(large), _number(large)] == [3, 3, 3]
    assert parsed == [LARGE]


def test_a_chart_that_is_kept_is_the_chart(parsed: list[str]) -> None:
    charts = []
    for _ in range(2):
        _forget()
        load_chart.__globals__["_chart_of"].cache_clear()
        charts.append(load_chart(GENERIC))
    assert charts[0] == charts[1]
    assert charts[0] is not charts[1]
    assert len(parsed) == 1


def test_a_small_file_and_a_text_that_is_no_file_are_not_kept(folder: Path, tmp_path: Path) -> None:
    small = tmp_path / "small.yaml"
    small.write_text("number: 3\n", encoding="utf-8")
    assert _number(small) == 3
    document.parse_document(LARGE)
    assert not folder.exists()


def test_a_changed_file_is_read_again(large: Path, parsed: list[str]) -> None:
    assert _number(large) == 3
    large.write_text(LARGE.replace("number: 3", "number: 4"), encoding="utf-8")
    assert _number(large) == 4
    assert len(parsed) == 2


def test_what_another_parser_left_is_not_read(
    large: Path, parsed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert _number(large) == 3
    monkeypatch.setattr(kept_nodes, "_FORM", "1, ruamel.yaml 0.0")
    assert _number(large) == 3
    assert len(parsed) == 2


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x80\x04\x95no text",
        b"0" * 64 + b"\n[1, 1, []]",
        b"cos\nsystem\n(S'true'\ntR.",
    ],
)
def test_spoilt_content_is_parsed_again_and_mended(
    large: Path, folder: Path, parsed: list[str], content: bytes
) -> None:
    assert _number(large) == 3
    sound = _kept(folder).read_bytes()
    _kept(folder).write_bytes(content)
    assert _number(large) == 3
    assert len(parsed) == 2
    assert _kept(folder).read_bytes() == sound


def test_a_single_changed_letter_is_noticed(large: Path, folder: Path, parsed: list[str]) -> None:
    assert _number(large) == 3
    path = _kept(folder)
    path.write_bytes(path.read_bytes().replace(b'"3"', b'"4"'))
    assert _number(large) == 3
    assert len(parsed) == 2


@pytest.mark.parametrize(
    "body",
    [
        b"{}",
        b"[]",
        b"[1]",
        b"[1, 1, 3]",
        b"[1, 1, [[1, 1]], []]",
        b"null",
        b"[" * 5000,
        b"nonsense",
    ],
)
def test_content_of_another_form_is_parsed_again(
    large: Path, folder: Path, parsed: list[str], body: bytes
) -> None:
    assert _number(large) == 3
    _spoil(_kept(folder), body)
    assert _number(large) == 3
    assert len(parsed) == 2


def test_faults_of_a_chart_are_told_with_file_and_line_each_time(
    tmp_path: Path, parsed: list[str]
) -> None:
    text = GENERIC.read_text("utf-8")
    place = text.index("from: [")
    path = tmp_path / "generic.yaml"
    path.write_text(text[:place] + "form" + text[place + 4 :], encoding="utf-8")
    line = text.count("\n", 0, place) + 1
    said = []
    for _ in range(2):
        _forget()
        with pytest.raises(FileError) as caught:
            load_chart(path)
        said.append(str(caught.value))
    assert said[0] == said[1]
    assert f"{path}:{line}:" in said[0]
    assert "unknown key 'form'; accepted: from?" in said[0]
    assert len(parsed) == 1


def test_a_file_that_is_no_yaml_and_one_with_an_alias_are_not_kept(
    folder: Path, large: Path
) -> None:
    for tail in ("number: [\n", "a: &a [1]\nb: *a\n", "a: &a [*a]\n"):
        large.write_text(LARGE + tail, encoding="utf-8")
        for _ in range(2):
            with pytest.raises(FileError) as caught:
                _number(large)
            assert str(large) in str(caught.value)
    assert list(folder.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="other permissions")
@pytest.mark.parametrize("mode", [0o770, 0o707, 0o777])
def test_a_folder_that_others_may_write_is_neither_read_nor_written(
    large: Path, folder: Path, parsed: list[str], mode: int
) -> None:
    assert _number(large) == 3
    folder.chmod(mode)
    _spoil(_kept(folder), b'[1, 1, [[2, 1, "str", "number"]], [[2, 9, "int", "4"]]]')
    before = _kept(folder).read_bytes()
    assert _number(large) == 3
    assert len(parsed) == 2
    assert _kept(folder).read_bytes() == before


@pytest.mark.skipif(os.name != "posix", reason="other permissions")
def test_a_folder_of_somebody_else_is_neither_read_nor_written(
    large: Path, folder: Path, parsed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert _number(large) == 3
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert _number(large) == 3
    assert len(parsed) == 2


@pytest.mark.skipif(os.name != "posix", reason="other permissions")
def test_the_folder_is_made_for_the_user_alone(large: Path, folder: Path) -> None:
    assert _number(large) == 3
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_a_folder_that_cannot_be_made_does_no_harm(
    large: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path / "file"))
    assert _number(large) == 3


def test_a_folder_that_cannot_be_written_does_no_harm(
    large: Path, folder: Path, parsed: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(path: Path, *_: object, **__: object) -> None:
        raise OSError(30, "Read-only file system", str(path))

    # Root may write anywhere, so the file system's refusal is played.
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", _open_only_to_read(Path.open, refuse))
        assert [_number(large), _number(large)] == [3, 3]
        assert list(folder.iterdir()) == []
    assert len(parsed) == 2


def _open_only_to_read(real, refuse):
    def opened(path: Path, mode: str = "r", *words, **named):
        return refuse(path) if set(mode) & set("wxa+") else real(path, mode, *words, **named)

    return opened


def test_the_oldest_go_when_there_is_no_room(
    large: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _number(large)
    size = _kept(folder).stat().st_size
    monkeypatch.setattr(kept_nodes, "MOST_BYTES", 3 * size)
    names = []
    for number in range(4, 9):
        before = set(folder.iterdir())
        large.write_text(LARGE.replace("number: 3", f"number: {number}"), encoding="utf-8")
        assert _number(large) == number
        (new,) = set(folder.iterdir()) - before
        os.utime(new, ns=(number * 10**9, number * 10**9))
        names.append(new)
        assert sum(one.stat().st_size for one in folder.iterdir()) <= 3 * size
    # The first one was written last of all by its date, so of the others the two newest are left.
    assert set(names) & set(folder.iterdir()) == set(names[-2:])
