"""`misconceptions`: the wrong rules that are listed for an aircraft, and candidates for more."""

from __future__ import annotations

import argparse
from pathlib import Path

from trainer.app import Workspace
from trainer.assessment.diagnosis.hypotheses import alike_rules
from trainer.assessment.items.bank import Bank
from trainer.assessment.items.scene import scenes
from trainer.assessment.items.situations import flown_situations
from trainer.assessment.wrong_rules.belief import Belief
from trainer.assessment.wrong_rules.candidate_file import candidate_text, made_from
from trainer.assessment.wrong_rules.candidates import carried_over_rules, dropped_conditions
from trainer.assessment.wrong_rules.distinguish import Difference, Product
from trainer.assessment.wrong_rules.library import Library
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.charts.explore import explore
from trainer.charts.kernel import AUTOMATIC, UnsettledError
from trainer.charts.spec import ChartSpec
from trainer.cli.names import ship_id
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.errors import MissingFileError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("ship", metavar="SHIP", help="whose wrong rules: a ship's id or file")
    parser.add_argument(
        "--prove", action="store_true",
        help="search all that is reachable for where each shows; takes minutes",
    )  # fmt: skip
    parser.add_argument(
        "--candidates", type=Path, metavar="FILE",
        help="write wrong rules made from the chart, for an instructor to go through",
    )  # fmt: skip


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """List the wrong rules; exit 1 if one can't be told from the truth or never comes to rest."""
    ship = ship_id(arguments.ship, workspace)
    library = workspace.library(ship)
    product = None
    if arguments.prove:
        machine = library.logic.machine
        product = Product(explore(machine.kernel), machine.kernel)
    unseen = 0
    for name, belief in library.beliefs.items():
        found, is_proved = None, product is not None
        try:
            found = product.first_difference(belief.chart) if product is not None else None
            unseen += is_proved and found is None
        except UnsettledError as error:
            held, is_proved = belief.parts[0], False
            output.message(f"{held.path}, line {held.line}: under '{name}' {error}")
            unseen += 1
        _print(name, belief, found, output, is_proved=is_proved)
    faulty = sum(one.is_faulty for one in library.left_out)
    twins = _tell_twins(library, workspace.kept_bank(ship), output)
    for one in library.left_out:
        left_out: dict[str, object] = {
            "kind": "wrong_rule", "id": one.misconception.id,
            "sentence": one.misconception.sentence, "state": "left_out", "reason": one.reason,
        }  # fmt: skip
        output.emit(left_out, f"Left out, {one.reason}: {one.misconception.sentence}")
    candidates: tuple[Misconception, ...] = ()
    if arguments.candidates is not None:
        candidates = _candidates(library, workspace)
        _write(arguments.candidates, candidates, library.logic.installation.chart, output)
    end: dict[str, object] = {
        "kind": "end", "installation": ship, "in_use": len(library.beliefs),
        "left_out": len(library.left_out), "unseen": unseen, "alike": twins,
        "candidates": len(candidates),
    }  # fmt: skip
    output.emit(end, f"{len(library.beliefs)} in use, {len(library.left_out)} left out")
    return FINDINGS if unseen or faulty else DONE


def _tell_twins(library: Library, kept: tuple[Library, Bank] | None, output: Output) -> int:
    """Print the rules that can't be told from each other; return how many groups there are.

    Without an item bank at hand these are the ones that make the same chart.
    """
    groups = library.alike()
    if kept is not None:
        groups = [one for one in alike_rules(kept[1].items, library.beliefs) if len(one) > 1]
    known = library.misconceptions
    for group in groups:
        places = [f"'{name}' ({known[name].path}, line {known[name].line})" for name in group]
        data: dict[str, object] = {"kind": "alike", "ids": list(group)}
        text = f"No question tells these apart: {', '.join(places)}; they are named together"
        output.emit(data, text)
    return len(groups)


def _write(
    path: Path, candidates: tuple[Misconception, ...], chart: ChartSpec, output: Output
) -> None:
    try:
        path.write_text(candidate_text(candidates, chart), encoding="utf-8")
    except OSError as error:
        raise MissingFileError(path, error.strerror or str(error), "a file to write") from error
    for one in candidates:
        data: dict[str, object] = {
            "kind": "candidate", "id": one.id, "sentence": one.sentence,
            "rule": made_from(one, chart).id,
        }  # fmt: skip
        output.emit(data, f"Candidate: {one.sentence}")


def _print(
    name: str, belief: Belief, found: Difference | None, output: Output, *, is_proved: bool
) -> None:
    one = belief.parts[0]
    data: dict[str, object] = {
        "kind": "wrong_rule", "id": name, "sentence": one.sentence, "state": "in_use",
        "competency": one.competency, "evidence": one.evidence, "lesson": one.lesson,
    }  # fmt: skip
    text = one.sentence
    if is_proved:
        data["shows_at"] = found.event if found is not None else None
        shows = f"shows at '{found.event}'" if found is not None else "CAN'T BE TOLD FROM THE TRUTH"
        text = f"{text} ({shows})"
    output.emit(data, text)


def _candidates(library: Library, workspace: Workspace) -> tuple[Misconception, ...]:
    """Return candidates that are wrong in the aircraft and that no listed rule stands for."""
    logic = library.logic
    name, chart = logic.installation.id, logic.installation.chart
    flown = flown_situations(
        logic, scenes(logic.installation), lambda start: workspace.begin(name, start),
        library.truth,
    )  # fmt: skip
    keys = [event.id for event in chart.events.values() if event.kind == "key"]
    occurrences = [
        (one.configuration, one.bits, event) for one in flown for event in (*keys, AUTOMATIC)
    ]
    made = (
        *dropped_conditions(chart, occurrences),
        *carried_over_rules(chart),
    )
    fitted = Library(logic, {one.id: one for one in made}.values()).beliefs
    listed = [belief.chart.rules for belief in library.beliefs.values()]
    return tuple(belief.parts[0] for belief in fitted.values() if belief.chart.rules not in listed)
