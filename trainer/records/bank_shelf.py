"""Where the item bank of an aircraft is found: in the user's data, or shipped with the program.

A bank that somebody else's file brings is put among those that are kept, if it fits.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.assessment.items.bank import Bank
from trainer.errors import MissingFileError
from trainer.records.check_bank_file import (
    bank_key,
    bank_path,
    key_of,
    read_bank,
    shipped_key,
    unpacked,
    write_bank,
)
from trainer.text_file import read_bytes, write_whole

LARGEST_BYTES = 5_000_000
"""Of a bank that is handed on, compressed; the largest so far has a seventh of that."""


@dataclass(frozen=True, slots=True)
class BankShelf:
    """The banks at hand for one folder of charts and one of the user's data.

    Attributes:
        charts: Folder with charts, misconceptions and aircraft, and the banks shipped with them.
        user: Folder of the user's data.
    """

    charts: Path
    user: Path

    def take(self, installation: Path) -> Bank | None:
        """Return the bank of an installation, or None if it has to be made.

        Args:
            installation: The installation's file.
        """
        name = installation.stem
        kept = read_bank(bank_path(self.user, name), bank_key(self.charts, installation))
        if kept is not None:
            return kept
        return read_bank(bank_path(self.charts, name), shipped_key(self.charts, installation))

    def keep(self, installation: Path, bank: Bank) -> None:
        """Keep a bank that was made here.

        Args:
            installation: The installation's file.
            bank: Its bank.
        """
        write_bank(
            bank_path(self.user, installation.stem), bank_key(self.charts, installation), bank
        )

    def handed_on(self, installation: Path) -> bytes:
        """Return the file of a bank that was made here, to go with its aircraft; empty if none.

        Args:
            installation: The installation's file.
        """
        try:
            data = read_bytes(bank_path(self.user, installation.stem), LARGEST_BYTES)
        except MissingFileError:
            return b""
        is_fit = unpacked(data, bank_key(self.charts, installation)) is not None
        return data if is_fit else b""

    def look(self, installation: str, text: str, data: bytes) -> CarriedBank:
        """Return a bank that came with an aircraft after checking all of it; nothing is written.

        Args:
            installation: Id of the aircraft.
            text: Its file, which came with the bank.
            data: The bank's file.
        """
        key = key_of(self.charts, installation, text.encode())
        is_fit = len(data) <= LARGEST_BYTES and unpacked(data, key) is not None
        return CarriedBank(bank_path(self.user, installation), data, is_fit)


@dataclass(frozen=True, slots=True)
class CarriedBank:
    """A bank that came with somebody else's file.

    Attributes:
        path: Where it is kept.
        data: Its file.
        is_fit: True if it is whole, of this aircraft, these charts and this very program.
    """

    path: Path
    data: bytes
    is_fit: bool

    @property
    def words(self) -> str:
        """What it is worth here."""
        if self.is_fit:
            return "brings the items of the aircraft's check, so that none have to be found here"
        return (
            "brings items of the aircraft's check that don't fit this program: they were made by"
            " another version of it, or are damaged. The first check finds them anew"
        )

    def put(self) -> None:
        """Keep it, if it fits; if that isn't possible the items are made here."""
        if not self.is_fit:
            return
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.path, self.data)
        except (OSError, MissingFileError):
            return  # nothing is lost but time
