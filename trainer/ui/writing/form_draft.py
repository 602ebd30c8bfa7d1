"""A choice or a number in the making, with how sure one is. No Qt here."""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.assessment.answers.prediction import Confidence, Prediction
from trainer.lesson.question import Option
from trainer.session.annunciation import Annunciation
from trainer.ui.look.words import SURE_WANTED

LEAST, MOST = 0.0, 30_000.0
"""What a number may be, in feet: no prompt asks for anything but an altitude."""


@dataclass(frozen=True, slots=True)
class FormDraft:
    """What has been said so far; `options` empty: a number is asked for."""

    now: Annunciation
    options: tuple[Option, ...] = ()
    unit: str = ""
    choice: str = ""
    typed: str = ""
    confidence: Confidence | None = None

    @property
    def number(self) -> float | None:
        """The number typed, if it is one in the range."""
        try:
            value = float(self.typed.replace(",", "").replace(" ", ""))
        except ValueError:
            return None
        return value if LEAST <= value <= MOST else None

    @property
    def is_said(self) -> bool:
        """True once the choice or the number is said."""
        return bool(self.choice) if self.options else self.number is not None

    @property
    def is_complete(self) -> bool:
        """True if answer and confidence are said."""
        return self.is_said and self.confidence is not None

    @property
    def progress(self) -> str:
        """What is still to be said, in one line."""
        if not self.is_said:
            return "Choose one" if self.options else self._number_wanted()
        return SURE_WANTED if self.confidence is None else "Ready"

    @property
    def is_refused(self) -> bool:
        """True if something is typed that can't be taken."""
        return not self.options and bool(self.typed.strip()) and self.number is None

    def with_choice(self, choice: str) -> FormDraft:
        """Return the draft with an option chosen."""
        return replace(self, choice=choice)

    def with_typed(self, typed: str) -> FormDraft:
        """Return the draft with other words in its field."""
        return replace(self, typed=typed)

    def with_confidence(self, confidence: Confidence) -> FormDraft:
        """Return the draft with the confidence said."""
        return replace(self, confidence=confidence)

    def prediction(self) -> Prediction:
        """Return the finished prediction.

        Raises:
            ValueError: If something isn't said yet.
        """
        if not self.is_complete or self.confidence is None:
            raise ValueError("the answer isn't complete")
        return Prediction(self.now, self.confidence, self.choice, self.number)

    def _number_wanted(self) -> str:
        words = f"a number from {LEAST:,.0f} to {MOST:,.0f} {self.unit}".rstrip()
        return f"'{self.typed.strip()}' isn't {words}" if self.is_refused else f"Type {words}"


def option_place(options: tuple[Option, ...], letter: str, after: int) -> int | None:
    """Return the place of the next option whose words begin with a letter, or None.

    Args:
        options: All options.
        letter: What was typed.
        after: Place in hand; the search goes on behind it and round. -1: none.
    """
    count = len(options)
    places = [(after + 1 + step) % count for step in range(count)]
    start = letter.casefold()
    return next((p for p in places if options[p].label.casefold().startswith(start)), None)
