"""An edit of an installation studied whole: compared, then its lessons and items flown again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from trainer.assessment.differences.differences_impact import Impact, Progress, edit_impact
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.bank import build_bank
from trainer.assessment.items.item import Item
from trainer.assessment.items.phases import Watch
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.charts.compare import compare
from trainer.charts.flight_profile import FILE_NAME as PROFILE
from trainer.charts.flight_profile import load_profile
from trainer.charts.installation import Installation
from trainer.lesson.competency import FILE_NAME as COMPETENCIES
from trainer.lesson.competency import load_competencies
from trainer.lesson.spec import Lesson


@dataclass(frozen=True, slots=True)
class StudiedEdit:
    """What an edit changes, with what is needed to tell it.

    Attributes:
        before: The installation as it is.
        after: As it would be.
        items: Items of the check's bank by competency title.
        affected: Those of them that don't hold any more, by competency title.
        competencies: Titles of the competencies for which readiness must be shown again.
    """

    impact: Impact
    before: Installation
    after: Installation
    items: Mapping[str, int]
    affected: Mapping[str, int]
    competencies: tuple[str, ...]


def study_edit(
    charts: Path,
    ships: tuple[Ship, Ship],
    lessons: Sequence[Lesson],
    progress: Progress,
    items: Sequence[Item] | None = None,
) -> StudiedEdit:
    """Return what an edit changes; this takes up to a minute, and nothing else is touched by it.

    Args:
        charts: Folder with misconceptions, competencies and the flight profile.
        ships: The ship before and after, of one id; nobody else may fly them meanwhile.
        lessons: All lessons; those of another installation are left out.
        progress: Told in words how far it is; it may raise, to end the work.
        items: Those of the check before the edit; None: they are made first.
    """
    before, after = (ship.logic.installation for ship in ships)
    found = compare(
        before, after, lambda done, known: progress(f"{done} of {known} states compared so far")
    )
    if items is None:
        library = Library(ships[0].logic, load_folder(charts, before.generic))
        items = build_bank(library, ships[0].begin, watch=_telling(progress)).items
    profile = load_profile(charts / PROFILE, before.generic)
    known = load_competencies(charts / COMPETENCIES, before.generic)
    impact = edit_impact(
        found, ships, lessons=[one for one in lessons if one.installation == before.id],
        items=items, competencies=known, progress=progress,
        weight=lambda one: profile.per_hundred_flights(one, before, after),
    )  # fmt: skip
    titles = {name: one.title for name, one in known.items()}
    affected = set(impact.items)
    every = [titles.get(item.competency, item.competency) for item in items]
    hit = [title for title, item in zip(every, items, strict=True) if item.id in affected]
    return StudiedEdit(
        impact, before, after, Counter(every), Counter(hit),
        tuple(titles[name] for name in impact.competencies),
    )  # fmt: skip


def _telling(progress: Progress) -> Watch:
    """Return what tells in words how far the making of items is."""
    return lambda done: progress(f"Making the items of the check: {done:.0%}")
