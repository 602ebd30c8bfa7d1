"""The kind of file that a club book is."""

from __future__ import annotations

from trainer.records.database import Kind

CLUB_BOOK = Kind("a club book", 0x4D4C5442, "club")
