"""A diagnosis in plain words: what is believed, which answers say so, and what is left open."""

from __future__ import annotations

from collections.abc import Mapping

from trainer.assessment.diagnosis.diagnosis import Answered, Evidence, Finding
from trainer.assessment.wrong_rules.misconception import Misconception

_MOST_SHOWN = 3


def verdict_words(finding: Finding) -> str:
    """Return the verdict in one or two sentences."""
    answers = "1 answer" if finding.answered == 1 else f"{finding.answered} answers"
    match finding.verdict:
        case "sound":
            return (
                f"After {answers} all {finding.listed} wrong rules of the library are ruled out, "
                "and nothing speaks for another one."
            )
        case "holds":
            rules = (
                "one wrong rule" if len(finding.held) == 1 else f"{len(finding.held)} wrong rules"
            )
            return f"After {answers} {rules} can be named."
        case "unexplained":
            where = (
                f" It shows most clearly here: {topic_words(finding.topic)}."
                if finding.topic
                else ""
            )
            return (
                f"Unexplained: more of the {answers} are wrong than slips account for, and no rule "
                f"of the library fits them.{where} Talk about it with the member."
            )
        case "open":
            return (
                f"Nothing can be said for certain yet after {answers}: {finding.excluded} of the "
                f"{finding.listed} wrong rules that the program looks for are ruled out. More "
                "answers, as due practice asks for them, decide on the rest."
            )


def topic_words(topic: str) -> str:
    """Return the topic of an unlisted wrong rule in words.

    Example:
        >>> topic_words("automatic: vertical, pitch_hold")
        'what changes by itself: vertical, pitch hold'
        >>> topic_words("wait changes alert+vertical_active")
        'waiting changes alert, vertical active'
        >>> topic_words("go_around while engagement_height_reached off")
        'go around while not engagement height reached'
    """
    key, _, condition = topic.partition(" while ")
    if condition.endswith((" on", " off")):
        signal, _, state = condition.rpartition(" ")
        topic = f"{key} while {'' if state == 'on' else 'not '}{signal}"
    for code, words in (("automatic", "what changes by itself"), ("wait ", "waiting ")):
        if topic.startswith(code):
            topic = topic.replace(code, words, 1)
    return topic.replace("+", ", ").replace("_", " ")


def rule_words(evidence: Evidence, misconceptions: Mapping[str, Misconception]) -> str:
    """Return the wrong rule; of several that no question tells apart, all of them."""
    names = (evidence.misconception, *evidence.twins)
    if len(names) == 1:
        return misconceptions[names[0]].sentence
    told = " / ".join(misconceptions[name].sentence for name in names)
    return f"One of these {len(names)}, which no question tells apart: {told}"


def evidence_words(evidence: Evidence, misconceptions: Mapping[str, Misconception]) -> str:
    """Return why a misconception is believed, naming the answers that fit it."""
    count = len(evidence.fitting)
    lead = "This answer fits" if count == 1 else f"These {count} answers fit"
    shown = "; ".join(_place(one) for one in evidence.fitting[:_MOST_SHOWN])
    more = f" and {count - _MOST_SHOWN} more" if count > _MOST_SHOWN else ""
    text = f"{lead} the wrong rule “{rule_words(evidence, misconceptions)}” {shown}{more}."
    if evidence.contradicting:
        against = len(evidence.contradicting)
        text += f" Against it: {against} right answer{'s' if against > 1 else ''} where it shows."
    return f"{text} Probability {evidence.probability:.2f}."


def _place(answered: Answered) -> str:
    item = answered.item
    return f"[{item.id}: {item.situation.words} Then: {item.stimulus.words}]"
