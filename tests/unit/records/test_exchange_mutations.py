"""Damaged and edited exchange files: each is refused, or means exactly what the original did."""

from __future__ import annotations

import base64
import json
import random
from typing import Any

from trainer.errors import TrainerError
from trainer.records import packet as module
from trainer.records.club_import import apply_result, preview_result
from trainer.records.result import add_outcome

_NOW = "2026-03-10T12:00:00Z"
_PIECES = (b"true", b"false", b"null", b"0", b"9", b'"', b"\\", b"{", b"]", b",", b"\x00", b"\xff")


def mutated(data: bytes, chance: random.Random) -> bytes:
    """Return the data with one to three random changes of a random sort."""
    for _ in range(chance.randint(1, 3)):
        at, length = chance.randrange(len(data)), chance.randint(1, 40)
        match chance.randrange(8):
            case 0:
                data = data[:at] + bytes([data[at] ^ (1 << chance.randrange(8))]) + data[at + 1 :]
            case 1:
                data = data[:at] + data[at + length :]
            case 2:
                data = data[: max(1, at)]
            case 3:
                data = data[:at] + chance.choice(_PIECES) + data[at:]
            case 4:
                data = data[:at] + data[at : at + length] + data[at:]
            case 5:
                other = chance.randrange(len(data))
                data = data[:at] + data[other : other + length] + data[at + length :]
            case 6:
                data = data[:at] + chance.randbytes(length) + data[at + length :]
            case _:
                data = data.replace(b"1", b"2", 1) if chance.random() < 0.5 else data + b" "
        data = data or b"{"
    return data


def _try_many(club: Any, make_outcome: Any, count: int, seed: int) -> tuple[int, int]:
    add_outcome(club.store, "Robin Vale", make_outcome())
    data = club.result()
    original = preview_result(club.book, data, club.key.public_key, _NOW)
    before = list(club.book.database._connection.iterdump())
    chance = random.Random(seed)
    refused = harmless = 0
    for _ in range(count):
        try:
            preview = preview_result(club.book, mutated(data, chance), club.key.public_key, _NOW)
        except TrainerError:
            refused += 1
        else:
            assert preview == original
            harmless += 1
    assert list(club.book.database._connection.iterdump()) == before
    return refused, harmless


def test_ten_thousand_mutated_files_are_refused_or_harmless(club: Any, make_outcome: Any) -> None:
    refused, harmless = _try_many(club, make_outcome, 10_000, seed=2)
    assert refused > 9_000
    assert refused + harmless == 10_000


def test_payloads_mutated_before_signing_are_refused_or_taken_whole(
    club: Any, make_outcome: Any
) -> None:
    """A member can sign anything: whatever they sign must not break the book."""
    add_outcome(club.store, "Robin Vale", make_outcome())
    payload = json.loads(club.result())["payload"].encode()
    chance = random.Random(3)
    taken = 0
    for _ in range(3_000):
        text = mutated(payload, chance).decode("utf-8", "replace")
        envelope = {
            "format": module.FORMAT,
            "version": 1,
            "kind": "result",
            "payload": text,
            "sha256": module._hash("result", text),
            "signer": base64.b64encode(club.member_key.public_key).decode(),
            "signature": "",
        }
        signature = club.member_key.sign(module._signed("result", text))
        envelope["signature"] = base64.b64encode(signature).decode()
        try:
            preview = preview_result(
                club.book, json.dumps(envelope).encode(), club.key.public_key, _NOW
            )
            apply_result(club.book, preview, _NOW)
            taken += 1
        except TrainerError:
            continue
    club.book.database.check()
    assert club.book.database.read("PRAGMA foreign_key_check") == []
    assert 0 < taken < 1_500
