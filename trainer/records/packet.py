"""Signed exchange files: one JSON object around a JSON text, its hash, signer and signature.

A file is refused at the first thing that is not exactly right; nothing is stored here.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, get_args

from trainer.errors import MissingFileError
from trainer.records.error import PacketError
from trainer.records.signing import SigningKey, is_signed
from trainer.text_file import read_bytes

FORMAT = "mode-logic-trainer exchange"
VERSION = 1
LARGEST_BYTES = 20_000_000
Kind = Literal["member_card", "book_card", "assignment", "result"]
_FIELDS = ("format", "version", "kind", "payload", "sha256", "signer", "signature")


@dataclass(frozen=True, slots=True)
class Packet:
    """A file whose hash and signature are right; who may sign it is the reader's to say."""

    kind: Kind
    payload: dict[str, Any]
    sha256: str
    """Hash of kind and payload: the file's identity, by which a replay is known."""
    signer: bytes


def write_packet(kind: Kind, payload: dict[str, Any], key: SigningKey) -> bytes:
    """Return the content of a signed exchange file.

    Example:
        >>> from trainer.records.signing import SigningKey
        >>> key = SigningKey.from_seed(bytes(32))
        >>> json.loads(write_packet("member_card", {"name": "Bo Hill"}, key))["kind"]
        'member_card'
    """
    text = json.dumps(payload, ensure_ascii=False, separators=(",", ":"))
    envelope = {
        "format": FORMAT,
        "version": VERSION,
        "kind": kind,
        "payload": text,
        "sha256": _hash(kind, text),
        "signer": base64.b64encode(key.public_key).decode(),
        "signature": base64.b64encode(key.sign(_signed(kind, text))).decode(),
    }
    return json.dumps(envelope, indent=1, ensure_ascii=False).encode() + b"\n"


def read_packet(data: bytes, kind: Kind) -> Packet:
    """Return the packet in a file's content, verified.

    Raises:
        PacketError: If it is too large, damaged, of another version or kind, or not signed
            by the key it names.

    Example:
        >>> from trainer.records.signing import SigningKey
        >>> key = SigningKey.from_seed(bytes(32))
        >>> data = write_packet("member_card", {"name": "Bo Hill"}, key)
        >>> read_packet(data, "member_card").payload
        {'name': 'Bo Hill'}
    """
    if len(data) > LARGEST_BYTES:
        raise PacketError(f"{len(data)} bytes; accepted: at most {LARGEST_BYTES}")
    envelope = _envelope(data)
    text = envelope["payload"]
    if envelope["sha256"] != _hash(envelope["kind"], text):
        raise PacketError("the content doesn't match its hash: damaged or edited on the way")
    signer = _bytes_of("signer", envelope["signer"], 32)
    signature = _bytes_of("signature", envelope["signature"], 64)
    if not is_signed(signer, signature, _signed(envelope["kind"], text)):
        raise PacketError("the signature is not that of the key it names: edited or forged")
    if envelope["kind"] != kind:
        raise PacketError(f"this is a {envelope['kind']} file; accepted here: {kind}")
    payload = _parse(text, "payload")
    return Packet(kind, payload, envelope["sha256"], signer)


def read_file_bytes(path: Path) -> bytes:
    """Return a file's content, refusing early one that is too large.

    Raises:
        PacketError: If it can't be read or is too large.

    Example:
        >>> from trainer.resources import resource_folder
        >>> read_file_bytes(resource_folder("statecharts") / "generic.yaml")[:13]
        b'# The generic'
    """
    try:
        return read_bytes(path, LARGEST_BYTES, "an exchange file")
    except MissingFileError as error:
        raise PacketError(str(error)) from error


def _envelope(data: bytes) -> dict[str, Any]:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise PacketError("not a text in UTF-8: damaged, or no exchange file") from error
    envelope = _parse(text, "file")
    if envelope.get("format") != FORMAT:
        raise PacketError(f"not an exchange file; accepted: one with format {FORMAT!r}")
    version = envelope.get("version")
    if type(version) is not int or version != VERSION:
        raise PacketError(
            f"exchange version {str(version)[:20]}; accepted: {VERSION} (is one program newer?)"
        )
    if tuple(sorted(envelope)) != tuple(sorted(_FIELDS)):
        odd = ", ".join(sorted(set(envelope) ^ set(_FIELDS)))
        raise PacketError(f"fields missing or unknown: {odd[:200]}")
    for name in _FIELDS:
        if name != "version" and not isinstance(envelope[name], str):
            raise PacketError(f"{name} must be a text")
    if envelope["kind"] not in get_args(Kind):
        raise PacketError(f"kind must be one of {', '.join(get_args(Kind))}")
    return envelope


def _parse(text: str, title: str) -> dict[str, Any]:
    """Parse JSON strictly: no doubled keys, no infinities."""
    try:
        value = json.loads(text, object_pairs_hook=_unique, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise PacketError(f"{title}: not readable as JSON ({error}): cut short or damaged") from (
            error
        )
    if not isinstance(value, dict):
        raise PacketError(f"{title} must be an object")
    return value


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key is there twice")
    return found


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _bytes_of(name: str, text: str, length: int) -> bytes:
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise PacketError(f"{name}: not base 64") from error
    if len(data) != length or base64.b64encode(data).decode() != text:
        raise PacketError(f"{name} must be {length} bytes in base 64")
    return data


def _signed(kind: str, text: str) -> bytes:
    return f"{FORMAT} {VERSION}\n{kind}\n{text}".encode("utf-8", "surrogatepass")


def _hash(kind: str, text: str) -> str:
    return hashlib.sha256(_signed(kind, text)).hexdigest()
