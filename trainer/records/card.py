"""Cards: small signed files that carry a public key, believed once its short code is heard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.records.club_book import ClubBook
from trainer.records.error import PacketError
from trainer.records.field_check import object_of, require_moment, require_name
from trainer.records.packet import read_packet, write_packet
from trainer.records.roster import Member
from trainer.records.signing import SigningKey, same_code, short_code
from trainer.records.store import Store

CardKind = Literal["member_card", "book_card"]


@dataclass(frozen=True, slots=True)
class Card:
    """Whose key it says it is, and the key.

    Example:
        >>> key = SigningKey.from_seed(bytes(32))
        >>> data = write_card("member_card", "Bo Hill", "2026-03-01T18:05:09Z", key)
        >>> read_card(data, "member_card").short_code
        '2EF3-JG76-9DA9-2WH0'
    """

    kind: CardKind
    name: str
    """Name of the member or of the club."""
    made_utc: str
    public_key: bytes

    @property
    def short_code(self) -> str:
        """What the other side must read aloud."""
        return short_code(self.public_key)


def write_card(kind: CardKind, name: str, made_utc: str, key: SigningKey) -> bytes:
    """Return the content of a card file.

    Example:
        >>> key = SigningKey.from_seed(bytes(32))
        >>> data = write_card("member_card", "Bo Hill", "2026-03-01T18:05:09Z", key)
        >>> b"Bo Hill" in data
        True
    """
    payload = {
        "name": require_name("name", name),
        "made_utc": require_moment("made_utc", made_utc),
    }
    return write_packet(kind, payload, key)


def read_card(data: bytes, kind: CardKind) -> Card:
    """Return the card in a file's content.

    Raises:
        PacketError: If the file is damaged, edited or of another kind.
        InvalidRecordError: If a field is impossible.

    Example:
        >>> from trainer.records.signing import SigningKey
        >>> key = SigningKey.from_seed(bytes(32))
        >>> data = write_card("member_card", "Bo Hill", "2026-03-01T18:05:09Z", key)
        >>> read_card(data, "member_card").name
        'Bo Hill'
    """
    packet = read_packet(data, kind)
    fields = object_of("card", packet.payload, ("name", "made_utc"))
    name = require_name("name", fields["name"])
    return Card(kind, name, require_moment("made_utc", fields["made_utc"]), packet.signer)


def enrol_member(book: ClubBook, member_id: int, card: Card, heard_code: str) -> Member:
    """Enrol a member's key after its code was read aloud by the member.

    Raises:
        PacketError: If the code heard is not the card's, or the key is another member's.

    Example:
        >>> import tempfile
        >>> from pathlib import Path
        >>> key = SigningKey.from_seed(bytes(32))
        >>> card = Card("member_card", "Bo Hill", "2026-03-01T18:05:09Z", key.public_key)
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     with ClubBook.open(Path(folder) / "club.sqlite3", "Meadow Flying Club") as book:
        ...         member = book.add_member("Bo Hill", "2026-03-01T18:00:00Z")
        ...         enrolled = enrol_member(book, member.id, card, key.short_code)
        >>> enrolled.public_key == key.public_key
        True
    """
    _require_heard(card, "member_card", heard_code)
    for member in book.members():
        if member.public_key == card.public_key and member.id != member_id:
            raise PacketError(f"this key is enrolled already, for {member.name}")
    return book.set_public_key(member_id, card.public_key)


def trust_book(store: Store, card: Card, heard_code: str, now_utc: str) -> None:
    """Trust a club's book after its code was read aloud by the lead.

    Raises:
        PacketError: If the code heard is not the card's.

    Example:
        >>> import tempfile
        >>> from pathlib import Path
        >>> key = SigningKey.from_seed(bytes(32))
        >>> card = Card("book_card", "Meadow Flying Club", "2026-03-01T18:05:09Z", key.public_key)
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     with Store.open(Path(folder) / "a.sqlite3") as store:
        ...         trust_book(store, card, key.short_code.lower(), "2026-03-01T18:06:00Z")
        ...         print(len(trusted_books(store)))
        1
    """
    _require_heard(card, "book_card", heard_code)
    values = (card.public_key, card.name, require_moment("now_utc", now_utc))
    with store.database.write() as connection:
        connection.execute("INSERT OR REPLACE INTO trusted_book VALUES (?, ?, ?)", values)


def trusted_books(store: Store) -> dict[bytes, str]:
    """Return the public keys of trusted books with their clubs' names.

    Example:
        >>> import tempfile
        >>> from pathlib import Path
        >>> key = SigningKey.from_seed(bytes(32))
        >>> club = Card("book_card", "Meadow Flying Club", "2026-03-01T18:05:09Z", key.public_key)
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     with Store.open(Path(folder) / "a.sqlite3") as store:
        ...         trust_book(store, club, key.short_code, "2026-03-01T18:06:00Z")
        ...         print(list(trusted_books(store).values()))
        ['Meadow Flying Club']
    """
    rows = store.database.read("SELECT public_key, club_name FROM trusted_book ORDER BY 2")
    return {bytes(key): str(name) for key, name in rows}


def _require_heard(card: Card, kind: CardKind, heard_code: str) -> None:
    if card.kind != kind:
        raise PacketError(f"this is a {card.kind}; accepted here: {kind}")
    if not same_code(heard_code, card.public_key):
        # The card's own code isn't told: it would be copied instead of being heard.
        raise PacketError(
            "the code heard is not that of this card: have it read aloud again, and if it still "
            "differs, somebody has changed the card on its way"
        )
