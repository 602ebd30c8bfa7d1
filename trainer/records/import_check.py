"""The checks a verified result file passes before it may be taken into a club book."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from trainer.records.assignment import CLOCK_TOLERANCE
from trainer.records.attempt import Attempt
from trainer.records.board import changed_rules
from trainer.records.board_query import member_outcomes
from trainer.records.check_outcome import CheckOutcome
from trainer.records.club_attempts import attempts_by_id, member_of_attempts, named
from trainer.records.club_book import ClubBook
from trainer.records.club_privacy import retention_limit_utc
from trainer.records.error import PacketError
from trainer.records.field_check import moment_of
from trainer.records.result import Result
from trainer.records.roster import Member
from trainer.records.signing import short_code

_LATEST_SKEW = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class BookTitles:
    """The book's words for what files name by ids."""

    aircraft: Mapping[str, str]
    competencies: Mapping[str, str]

    def aircraft_of(self, one: CheckOutcome) -> str:
        """Return the words for an outcome's aircraft; its id if the book has none."""
        return self.aircraft.get(one.aircraft_id, one.aircraft_id)

    def competency_of(self, one: CheckOutcome) -> str:
        """Return the words for an outcome's competency; its id if the book has none."""
        return self.competencies.get(one.competency_id, one.competency_id)


def book_titles(book: ClubBook) -> BookTitles:
    """Return the titles of all that the book requires; of several, those of the latest stage."""
    rows = book.database.read("SELECT competency_id, title FROM requirement ORDER BY stage, rowid")
    return BookTitles({one.id: one.title for one in book.aircraft()}, dict(rows))


def signing_member(book: ClubBook, signer: bytes) -> Member:
    """Return the member whose enrolled key signed a file.

    Raises:
        PacketError: If nobody has that key.
    """
    for member in book.members():
        if member.public_key == signer:
            return member
    raise PacketError(
        f"signed by {short_code(signer)}, a key that is not enrolled for any member: import the "
        "member card first"
    )


def require_not_taken(book: ClubBook, packet_id: str) -> None:
    """Refuse a file that the book has taken before."""
    rows = book.database.read("SELECT imported_utc FROM result WHERE id = ?", (packet_id,))
    if rows:
        raise PacketError(f"this very file was taken on {rows[0][0][:10]} already")


def require_assignment(book: ClubBook, result: Result, member: Member) -> None:
    """Refuse a result for an assignment that the book did not give to this member."""
    if result.assignment_id is None:
        return
    rows = book.database.read(
        "SELECT member_id FROM assignment WHERE id = ?", (result.assignment_id,)
    )
    if not rows or rows[0][0] != member.id:
        raise PacketError(f"answers an assignment that was not given to {member.name}")


def require_sense_of_time(result: Result, now_utc: str) -> None:
    """Refuse what was made in the future, or holds what came after it was made."""
    made = moment_of(result.made_utc)
    if made > moment_of(now_utc) + CLOCK_TOLERANCE:
        raise PacketError(f"made {result.made_utc}, in the future: check both computers' clocks")
    moments = [one.at_utc for one in result.attempts] + [one.at_utc for one in result.outcomes]
    late = [text for text in moments if moment_of(text) > made + _LATEST_SKEW]
    if late:
        raise PacketError(f"made {result.made_utc}, but holds something of {max(late)}")


def new_attempts(book: ClubBook, result: Result, member: Member, now_utc: str) -> list[Attempt]:
    """Return the attempts that the book doesn't hold yet and that are not past retention.

    Raises:
        PacketError: If an id is there twice, or in the book with another content.
    """
    counts = Counter(one.id for one in result.attempts)
    twice = [one for one, count in counts.items() if count > 1]
    if twice:
        raise PacketError(f"the answer {twice[0]} is in it twice")
    owners = member_of_attempts(book.database, list(counts))
    held = {one.id: one for one in attempts_by_id(book, list(owners))}
    for one in result.attempts:
        if one.id in owners and (
            owners[one.id] != member.id or held[one.id] != named(one, member.name)
        ):
            raise PacketError(f"the answer {one.id} is in the book with another content")
    limit_utc = retention_limit_utc(book, now_utc)
    return [one for one in result.attempts if one.id not in owners and one.at_utc >= limit_utc]


def new_outcomes(
    book: ClubBook, result: Result, member: Member, now_utc: str, titles: BookTitles
) -> list[CheckOutcome]:
    """Return the outcomes that the book doesn't hold yet and that are not past retention.

    Raises:
        PacketError: If one is about an unknown aircraft or competency, contradicts the book, or
            rests on answers that are neither in the file nor in the book.
    """
    known = {_key(one): one for one in member_outcomes(book, member.id)}
    cited = {one_id for one in result.outcomes for one_id in one.evidence}
    in_file = {one.id for one in result.attempts}
    owners = member_of_attempts(book.database, sorted(cited - in_file))
    in_book = {one_id for one_id, owner in owners.items() if owner == member.id}
    required = _required(book)
    found: dict[tuple[str, str, str], CheckOutcome] = {}
    for one in result.outcomes:
        if known.get(_key(one), one) != one or found.get(_key(one), one) != one:
            raise PacketError(
                f"contradicts what is known of '{titles.competency_of(one)}' at {one.at_utc}"
            )
        if (one.aircraft_id, one.competency_id) not in required:
            raise PacketError(
                f"about {one.competency_id} of aircraft {one.aircraft_id}, which the book lacks"
            )
        missing = set(one.evidence) - in_file - in_book
        if missing:
            raise PacketError(
                f"'{titles.competency_of(one)}' rests on the answer {min(missing)}, which is not "
                "there"
            )
        if not one.evidence:
            raise PacketError(
                f"'{titles.competency_of(one)}': a verdict without any answer behind it"
            )
        if _key(one) not in known:
            found[_key(one)] = one
    limit_utc = retention_limit_utc(book, now_utc)
    return [one for one in found.values() if one.at_utc >= limit_utc]


def warnings_about(
    book: ClubBook, result: Result, member: Member, titles: BookTitles
) -> tuple[str, ...]:
    """Return what is odd in a result but no reason to refuse it."""
    found = []
    if result.member != member.name:
        found.append(f"calls its member {result.member!r}; this key is {member.name}'s")
    back = sum(later.at_utc < earlier.at_utc for earlier, later in pairwise(result.attempts))
    if back:
        found.append(f"the computer's clock was set back {back} times between answers")
    rows = book.database.read("SELECT max(made_utc) FROM result WHERE member_id = ?", (member.id,))
    if rows[0][0] and result.made_utc < rows[0][0]:
        found.append(f"older than the result of {rows[0][0]} that the book has already")
    aircraft = {one.id: one for one in book.aircraft()}
    for one in result.outcomes:
        if one.aircraft_id in aircraft and one.stage != aircraft[one.aircraft_id].stage:
            found.append(
                f"'{titles.competency_of(one)}' was checked at stage {one.stage} of the aircraft"
            )
        requirement = {each.competency_id: each for each in book.requirements(one.aircraft_id)}.get(
            one.competency_id
        )
        if requirement and changed_rules(one.rules, requirement.rules):
            found.append(
                f"'{titles.competency_of(one)}' was checked under other rules than the book's"
            )
    return tuple(dict.fromkeys(found))


def _required(book: ClubBook) -> set[tuple[str, str]]:
    rows = book.database.read("SELECT DISTINCT aircraft_id, competency_id FROM requirement")
    return {(row[0], row[1]) for row in rows}


def _key(one: CheckOutcome) -> tuple[str, str, str]:
    return one.aircraft_id, one.competency_id, one.at_utc
