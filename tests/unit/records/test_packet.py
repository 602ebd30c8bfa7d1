from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.records import packet as module
from trainer.records.error import PacketError
from trainer.records.packet import read_file_bytes, read_packet, write_packet
from trainer.records.signing import SigningKey

_KEY = SigningKey.from_seed(b"K" * 32)
_DATA = write_packet("result", {"a": 1, "b": "é"}, _KEY)


def _edited(change: Callable[[dict[str, Any]], object]) -> bytes:
    envelope = json.loads(_DATA)
    change(envelope)
    return json.dumps(envelope).encode()


@given(st.dictionaries(st.text(), st.integers() | st.text() | st.none() | st.booleans()))
def test_what_is_written_is_read(payload: dict[str, Any]) -> None:
    clean = json.loads(json.dumps(payload).encode("utf-8", "replace"))
    packet = read_packet(write_packet("assignment", clean, _KEY), "assignment")
    assert packet.payload == clean
    assert packet.signer == _KEY.public_key


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "cut short"),
        (_DATA[:-20], "cut short"),
        (b"\xff" + _DATA, "UTF-8"),
        (b"[]", "must be an object"),
        (b'{"format": "other"}', "not an exchange file"),
        (b"[" * 100_000, "JSON"),
        (_edited(lambda e: e.update(version=2)), "exchange version 2; accepted: 1"),
        (_edited(lambda e: e.update(version=True)), "exchange version"),
        (_edited(lambda e: e.update(extra=1)), "unknown: extra"),
        (_edited(lambda e: e.pop("signer")), "missing or unknown: signer"),
        (_edited(lambda e: e.update(payload=e["payload"].replace("1", "2"))), "edited on the way"),
        (_edited(lambda e: e.update(kind="assignment")), "edited on the way"),
        (_edited(lambda e: e.update(signature="AAAA")), "64 bytes"),
        (_edited(lambda e: e.update(signature="!")), "not base 64"),
        (_edited(lambda e: e.update(signer=e["signature"][:42] + "E=")), "forged|32 bytes"),
        (_edited(lambda e: e.update(payload={})), "payload must be a text"),
        (_edited(lambda e: e.update(kind="spell")), "kind must be one of"),
        (_DATA.replace(b'"version"', b'"kind": "result",\n "version"'), "twice"),
        (b'{"a": NaN}', "NaN is no number"),
    ],
)
def test_file_that_is_not_exactly_right_is_refused_with_the_reason(data: bytes, word: str) -> None:
    with pytest.raises(PacketError, match=word):
        read_packet(data, "result")


def test_forged_content_with_a_right_hash_is_refused() -> None:
    def forge(envelope: dict[str, Any]) -> None:
        envelope["payload"] = '{"a":2}'
        envelope["sha256"] = module._hash("result", '{"a":2}')

    with pytest.raises(PacketError, match="forged"):
        read_packet(_edited(forge), "result")


def test_genuine_file_of_another_kind_is_refused() -> None:
    with pytest.raises(PacketError, match="this is a result file; accepted here: assignment"):
        read_packet(_DATA, "assignment")


def test_oversized_file_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "LARGEST_BYTES", 100)
    path = tmp_path / "big"
    path.write_bytes(_DATA)
    with pytest.raises(PacketError, match="accepted: at most 100"):
        read_file_bytes(path)
    with pytest.raises(PacketError, match="accepted: at most 100"):
        read_packet(_DATA, "result")


def test_missing_file_is_a_clear_error(tmp_path: Path) -> None:
    with pytest.raises(PacketError, match="can't be read"):
        read_file_bytes(tmp_path / "none")
