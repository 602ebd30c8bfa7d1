"""The misconceptions that can be held in one installation: which are wrong there, and which not.

A rule that is true of the installation or that changes nothing there is left out, with the reason.
One that changes something and still can't be told from the truth by any strip takes an exploration
to find: `distinguish.unseen` looks for it where no item shows a rule.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.misconception import Misconception, PatchError, patched_chart
from trainer.assessment.wrong_rules.misconception_file import load_misconceptions
from trainer.assessment.wrong_rules.restless import endless_round
from trainer.assessment.wrong_rules.row_index import Changed, RowIndex
from trainer.charts.kernel import Point, row_texts
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import needs_met
from trainer.errors import FileError, FileProblem
from trainer.lesson.competency import FILE_NAME, load_competencies
from trainer.session.logic import Logic

FOLDER = "misconceptions"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A misconception that isn't used in an installation, and why.

    Attributes:
        is_faulty: Its file is to be mended; else it just doesn't apply here.
    """

    misconception: Misconception
    reason: str
    is_faulty: bool = False


class Library:
    """The misconceptions fitted to one installation.

    Attributes:
        logic: The installation's true logic.
        truth: The kernel of its chart.
        beliefs: One belief for each misconception that is wrong here, by id.
        left_out: The others.
    """

    def __init__(self, logic: Logic, misconceptions: Iterable[Misconception]) -> None:
        self.logic = logic
        self.truth = logic.machine.kernel
        self.options = {v.id: v.choice for v in logic.installation.options.values()}
        self.beliefs: dict[str, Belief] = {}
        self.left_out: list[LeftOut] = []
        for one in misconceptions:
            found = self._fit(one)
            if isinstance(found, Belief):
                self.beliefs[one.id] = found
            else:
                self.left_out.append(found)
        self.index = self._indexed()

    def _fit(self, one: Misconception) -> Belief | LeftOut:
        if not needs_met(one.needs, self.options):
            return LeftOut(one, "true of this aircraft, by its options")
        try:
            belief = self.believe(one)
        except PatchError as error:
            return LeftOut(one, str(error))
        if not belief.rows:
            reason = "it changes nothing in this aircraft: here the rule is true, or not fitted"
            return LeftOut(one, reason)
        # Those made from the chart are too many; where they are flown they then foresee nothing.
        if one.evidence != "automatic":
            states = endless_round(belief.kernel, self.truth, belief.rows)
            if states:
                reason = (
                    f"rule '{one.id}' ({one.path}, line {one.line}) never comes to rest: it goes "
                    f"round by itself, {' to '.join(states)}"
                )
                return LeftOut(one, reason, is_faulty=True)
        return belief

    def believe(self, *parts: Misconception) -> Belief:
        """Return the belief of somebody who holds these misconceptions at once.

        Raises:
            PatchError: They need parts that this aircraft hasn't got.
        """
        operations = tuple(step for part in parts for step in part.operations)
        ship = self.logic.installation
        chart = patched_chart(ship.generic, self.options, operations, ship.chart)
        return Belief(parts, chart, self.logic, self.truth)

    def leave_out(self, names: Iterable[str], reason: str) -> None:
        """Don't use some misconceptions any more.

        Args:
            names: Their ids.
            reason: Why, in words.
        """
        for name in names:
            self.left_out.append(LeftOut(self.beliefs.pop(name).parts[0], reason))
        self.index = self._indexed()

    def _indexed(self) -> RowIndex:
        changed = {name: Changed(one.kernel, one.rows) for name, one in self.beliefs.items()}
        return RowIndex(self.truth, changed)

    def differing(self, points: Iterable[Point]) -> list[str]:
        """Return the misconceptions that find another outcome in some row of these microsteps."""
        return self.index.differing(points)

    def alike(self) -> list[tuple[str, ...]]:
        """Return the groups of misconceptions that make the same chart of this aircraft."""
        groups: dict[object, list[str]] = {}
        for name, one in self.beliefs.items():
            groups.setdefault(row_texts(one.kernel, one.rows), []).append(name)
        return [tuple(group) for group in groups.values() if len(group) > 1]

    @property
    def misconceptions(self) -> dict[str, Misconception]:
        """The misconceptions in use, by id."""
        return {name: belief.parts[0] for name, belief in self.beliefs.items()}


def load_folder(charts: Path, chart: ChartSpec | None = None) -> tuple[Misconception, ...]:
    """Return the misconceptions of all files for a chart.

    Args:
        charts: Folder with the chart files; the misconceptions lie in a folder inside it.
        chart: Only those of this chart; None: all.

    Raises:
        FileError: A file isn't accepted, or two files use the same id.
    """
    found: dict[str, Misconception] = {}
    competencies = load_competencies(charts / FILE_NAME)
    for path in sorted((charts / FOLDER).rglob("*.yaml")):
        for one in load_misconceptions(path, charts, chart, competencies):
            if one.id in found:
                other = found[one.id]
                what = f"id '{one.id}' already in {other.path}, line {other.line}"
                raise FileError([FileProblem(str(path), one.line, 1, what, "an id of its own")])
            found[one.id] = one
    return tuple(found.values())
