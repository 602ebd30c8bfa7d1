"""Check plan file -> plans: limits, error rates, lengths and the cut, each with its rationale.

Format `check_plans/1`; its JSON Schema lies beside this module. The lead edits it; an assignment
names a plan by its id.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.assessment.check.check_form import EACH_MOST, CheckPlan
from trainer.assessment.check.plan_rates import rates_words
from trainer.assessment.check.sprt import RateError, Sprt, cut_score
from trainer.document import Mapping, read_document

FORMAT = "check_plans/1"
FILE_NAME = "check_plans.yaml"
LONGEST = 200
"""Most items of a form."""


@dataclass(frozen=True, slots=True)
class NamedPlan:
    """A plan as the lead has written it."""

    id: str
    title: str
    plan: CheckPlan
    rationale: str
    """Why these numbers, in the lead's words; empty: only the computed reason is shown."""

    @property
    def words(self) -> str:
        """The plan in sentences, for the member to read before the check."""
        plan = self.plan
        if plan.fixed:
            length = (
                f"{plan.fixed} items for everybody; at least {plan.cut_of_fixed} must be right."
            )
        else:
            length = f"{plan.least} to {plan.most} items: it ends as soon as the answers decide."
        return f"{length} {rates_words(plan)}"


def load_check_plans(path: Path) -> dict[str, NamedPlan]:
    """Return the plans of a file, by id, in file order.

    Args:
        path: The file.

    Raises:
        FileError: Something in the file isn't accepted; all problems are listed.
        MissingFileError: The file can't be read.
    """
    top = read_document(path)
    top.text("format", choices=[FORMAT])
    section = top.mapping("plans")
    children = section.children() if section is not None else ()
    if section is not None and not children:
        section.problem("no plans", "at least one")
    found = {name: _plan(name, entry) for name, entry in children}
    top.finish()
    top.document.raise_if_problems()
    return {name: plan for name, plan in found.items() if plan is not None}


def _plan(name: str, entry: Mapping) -> NamedPlan | None:
    title = entry.text("title")
    rationale = entry.text("rationale", "")
    known = len(entry.document.problems)
    shares = [
        entry.number(key, low=0.0, high=100.0) / 100.0
        for key in ("nonmaster_percent", "master_percent", "false_pass_percent",
                    "false_fail_percent")
    ]  # fmt: skip
    fixed, cut = _whole(entry, "fixed_items", 0), _whole(entry, "cut", 0)
    least, most = _whole(entry, "least_items", 12), _whole(entry, "most_items", 40)
    section = entry.mapping("each_competency", None)
    errors, each_most = _each(section) if section is not None else ((), EACH_MOST)
    entry.finish()
    if len(entry.document.problems) > known:
        return None
    try:
        rates = Sprt(*shares)
        each = Sprt(*shares[:2], *errors) if errors else None
        if fixed and not cut:
            cut_score(fixed, rates)
    except RateError as error:
        entry.problem(str(error), "rates that make a test")
        return None
    if most < least:
        entry.problem(f"most_items {most}, least_items {least}", "least_items or more",
                      key="most_items")  # fmt: skip
    if cut and not 0 < cut <= fixed:
        entry.problem(f"cut {cut} of {fixed} items", "a cut from 1 to fixed_items", key="cut")
    if cut and not rationale:
        entry.problem("a cut without a rationale", "a line 'rationale: ...'", key="cut")
    plan = CheckPlan(
        rates, fixed, least, most, cut, rationale if cut else "", each=each, each_most=each_most
    )
    return NamedPlan(name, title, plan, rationale)


def _each(section: Mapping) -> tuple[tuple[float, ...], int]:
    errors = tuple(
        section.number(key, low=0.0, high=100.0) / 100.0
        for key in ("false_pass_percent", "false_fail_percent")
    )
    most = _whole(section, "most_items", EACH_MOST)
    section.finish()
    return errors, most


def _whole(entry: Mapping, key: str, default: int) -> int:
    value = entry.number(key, default, low=1, high=LONGEST)
    if value != int(value):
        entry.problem(f"{value:g}", f"a whole number from 1 to {LONGEST}", key=key)
    return int(value)
