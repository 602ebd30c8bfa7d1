"""Ed25519 keys of members and leads, and the short code by which a key is known by ear.

The key is made at first use and stays on its machine. Whoever holds the file can sign: it
proves which installation of the program made a file, not who sat at the keyboard.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from trainer.records.error import NotWritableError, RecordsError

MEMBER_KEY_FILE = "member-key.pem"
CLUB_KEY_FILE = "club-key.pem"
# Crockford's base 32: no letters that sound or look alike when read aloud.
_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_CODE_LENGTH = 16


class SigningKey:
    """A private key with its public half.

    Example:
        >>> key = SigningKey.from_seed(bytes(32))
        >>> key.short_code
        '2EF3-JG76-9DA9-2WH0'
        >>> is_signed(key.public_key, key.sign(b"text"), b"text")
        True
    """

    def __init__(self, private: Ed25519PrivateKey) -> None:
        self._private = private

    @staticmethod
    def load_or_make(path: Path) -> SigningKey:
        """Return the key in a file, made if there is none.

        Raises:
            RecordsError: If the file is no such key, or can't be read or written.
        """
        if not path.exists():
            _write_once(path)
        try:
            private = load_pem_private_key(path.read_bytes(), password=None)
        except (ValueError, TypeError, OSError) as error:
            raise RecordsError(path, f"not a usable key ({error}); nothing was changed") from error
        if not isinstance(private, Ed25519PrivateKey):
            raise RecordsError(path, "a key of another kind; accepted: Ed25519")
        return SigningKey(private)

    @staticmethod
    def from_seed(seed: bytes) -> SigningKey:
        """Return the key of a 32-byte seed, for tests and published examples."""
        return SigningKey(Ed25519PrivateKey.from_private_bytes(seed))

    @property
    def public_key(self) -> bytes:
        """The public half, 32 bytes."""
        return self._private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)

    @property
    def short_code(self) -> str:
        """The public half as a code to read aloud."""
        return short_code(self.public_key)

    def sign(self, message: bytes) -> bytes:
        """Return the signature of a message, 64 bytes."""
        return self._private.sign(message)


def is_signed(public_key: bytes, signature: bytes, message: bytes) -> bool:
    """True if `signature` was made for `message` by the holder of the key.

    Example:
        >>> key = SigningKey.from_seed(bytes(32))
        >>> is_signed(key.public_key, key.sign(b"text"), b"other text")
        False
    """
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def short_code(public_key: bytes) -> str:
    """Return 80 bits of a key's hash as four groups of four characters.

    Example:
        >>> short_code(bytes(32))
        'CSM7-NBFR-CAYQ-EV4F'
    """
    number = int.from_bytes(hashlib.sha256(public_key).digest()[:10], "big")
    code = ""
    for _ in range(_CODE_LENGTH):
        number, digit = divmod(number, 32)
        code = _ALPHABET[digit] + code
    return "-".join(code[start : start + 4] for start in range(0, _CODE_LENGTH, 4))


def same_code(heard: str, public_key: bytes) -> bool:
    """True if a code as heard or typed is that of the key; case, gaps and O/0, I/1 don't matter.

    Example:
        >>> same_code("csm7 nbfr cayq ev4f", bytes(32))
        True
    """
    plain = heard.upper().replace("O", "0").replace("I", "1").replace("L", "1")
    plain = "".join(letter for letter in plain if letter.isalnum())
    return plain == short_code(public_key).replace("-", "")


def _write_once(path: Path) -> None:
    """Make a key file that only its owner can read, whole or not at all."""
    pem = Ed25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    partial = path.with_name(f"{path.name}.{os.getpid()}.partial")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(pem)
            stream.flush()
            os.fsync(stream.fileno())
        if not path.exists():
            os.replace(partial, path)
    except OSError as error:
        raise NotWritableError(path, error.strerror or str(error)) from error
    finally:
        with suppress(OSError):
            partial.unlink()
