"""Does the narration, or the question itself, give the answer of a prompt away?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from trainer.charts.spec import ChartSpec
from trainer.lesson.answer import Answer
from trainer.lesson.question import ACCEPTED, IGNORED, NO_KEY, NOTHING, REFUSED, Prompt
from trainer.session.annunciation import changed_cells

_PLAIN = frozenset({"none", "quiet"})
# "Altitude" alone is a word like any other; with what it does beside it, it is the answer.
_GIVES_AWAY = r"\b{0}\b(?: \w+){{0,2}} (?:active|armed|arms|captures?|captured|takes over)\b"
_PRESSED = r"\b(?:press|push|use|take)(?: \w+){{0,2}} {0}\b"
_RECEPTION = {
    ACCEPTED: r"\b(?:is|will be) accepted\b",
    REFUSED: r"\b(?:is|will be) refused\b|\brefuses\b",
    IGNORED: r"\bnothing (?:at all )?(?:happens|will happen)\b|\b(?:is|will be) ignored\b",
}
_NUMBER = re.compile(r"(?<![\w.])\d{1,3}(?:,\d{3})+(?!\d)|(?<![\w.,])\d+(?:\.\d+)?")


def told(prompt: Prompt, answer: Answer, narration: str, chart: ChartSpec) -> str:
    """Return the words that give the answer away, or an empty text.

    Args:
        prompt: The question as it is put.
        answer: Its answer.
        narration: What was said last before it.
        chart: The aircraft's chart.
    """
    text = f"{narration} {prompt.question}"
    if prompt.form == "number":
        return _number_told(answer, text)
    for words, pattern in _patterns(prompt, answer, chart):
        if re.search(pattern, text, re.IGNORECASE):
            return words
    return ""


def _number_told(answer: Answer, text: str) -> str:
    for found in _NUMBER.finditer(text):
        value = float(found.group().replace(",", ""))
        if answer.number is not None and abs(value - answer.number) <= answer.tolerance:
            return found.group()
    return ""


def _patterns(prompt: Prompt, answer: Answer, chart: ChartSpec) -> Iterator[tuple[str, str]]:
    """Yield what would be told, and the pattern by which it is known."""
    if prompt.kind == "is_allowed":
        for choice in answer.accepted:
            yield choice, _RECEPTION[choice]
    elif prompt.kind in ("which_key", "what_to_do"):
        labels = [chart.events[key].label for key in answer.accepted if key != NO_KEY]
        yield from ((words, _PRESSED.format(re.escape(words))) for words in labels)
    elif prompt.kind == "first_capture":
        names = {r.arms: r.label.removesuffix(" armed") for r in chart.regions.values() if r.arms}
        modes = [names[mode] for mode in answer.accepted if mode != NOTHING]
        yield from ((words, _GIVES_AWAY.format(re.escape(words))) for words in modes)
    else:
        yield from _strip_patterns(prompt, answer, chart)


def _strip_patterns(prompt: Prompt, answer: Answer, chart: ChartSpec) -> Iterator[tuple[str, str]]:
    """Yield the new contents of cells; the name of the key itself tells nothing."""
    keys = {chart.events[key].label.casefold() for key in (prompt.key, *prompt.then) if key}
    for name in changed_cells(answer.before, answer.after):
        content = answer.after.cell(name)
        for mode in (content,) if isinstance(content, str) else content:
            words = chart.mode_label(mode)
            if mode not in _PLAIN and words.casefold() not in keys:
                yield words, _GIVES_AWAY.format(re.escape(words))
