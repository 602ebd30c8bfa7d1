"""One answer to one prompt, as it is stored, exported and exchanged."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # the window stores answers before it needs anything of the lessons
    from trainer.assessment.answers.prediction import Confidence


@dataclass(frozen=True, slots=True)
class Attempt:
    """One answer recorded: what was asked, predicted and seen.

    Example:
        >>> attempt = Attempt(
        ...     "1", "2026-03-01T18:05:09Z", "Bo Hill", "01-first-flight", "First", "ship_amber", 1,
        ...     "after_key", "And now?", {}, {}, {}, (), True, "sure", (), 4.0, "0.1.0",
        ... )
        >>> attempt.is_sure_and_wrong, attempt.to_json()["confidence"]
        (False, 'sure')
    """

    id: str
    """Unique text, made by the caller; the same id is never stored twice."""
    at_utc: str
    """Moment of the answer, ISO 8601 in UTC, for example 2026-03-01T18:05:09Z."""
    member: str
    lesson_id: str
    lesson_title: str
    installation_id: str
    prompt_number: int
    """Place of the prompt in its lesson, from 1."""
    prompt_kind: str
    question: str
    before: dict[str, Any]
    """Annunciation at the prompt, in `Annunciation.to_json` form; so are the next two."""
    predicted: dict[str, Any]
    actual: dict[str, Any]
    wrong_cells: tuple[str, ...]
    """Cells of the strip that were wrong; `choice` or `number` for a prompt of that form."""
    is_right: bool
    confidence: Confidence
    rule_ids: tuple[str, ...]
    """Rules that fired between prompt and outcome: what the prompt was about."""
    taken_s: float
    """Time from prompt to answer [s]."""
    program_version: str
    said: str = ""
    """The choice or number said, where the prompt asked for one; empty for a strip."""
    expected: str = ""
    """The choice or number that was right; empty for a strip."""
    item_id: str = ""
    """The item of the bank that was asked; empty for a prompt of a lesson."""
    check_id: str = ""
    """The check in which it was answered; empty for practice."""

    @property
    def is_sure_and_wrong(self) -> bool:
        """True for the answers that matter most to the instructor."""
        return self.confidence == "sure" and not self.is_right

    def to_json(self) -> dict[str, Any]:
        """Return the attempt as JSON values; `attempt_from_json` is its inverse."""
        data = asdict(self)
        data["wrong_cells"] = list(self.wrong_cells)
        data["rule_ids"] = list(self.rule_ids)
        return data
