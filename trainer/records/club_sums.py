"""Sums over the whole club: which rules its members get right, and how sure they are of it."""

from __future__ import annotations

from trainer.records.board import PracticeSum
from trainer.records.club_book import ClubBook

_SUMS = """
SELECT rule_id, sum(attempts), sum(right_answers), sum(sure_and_wrong), max(last_utc) FROM (
    SELECT rule_id, attempts, right_answers, sure_and_wrong, last_utc
    FROM practice WHERE installation_id = :installation
    UNION ALL
    SELECT rule_id, attempts, right_answers, sure_and_wrong, ''
    FROM anonymous_total WHERE installation_id = :installation
) GROUP BY rule_id
"""


def rule_sums(book: ClubBook, installation_id: str) -> dict[str, PracticeSum]:
    """Return the club's answers by rule in one installation, deleted members' included."""
    rows = book.database.read(_SUMS, {"installation": installation_id})
    return {row[0]: PracticeSum(*row[1:]) for row in rows}
