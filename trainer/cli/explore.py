"""`explore`: visit every reachable configuration of an installation and check the invariants."""

from __future__ import annotations

import argparse
import sys

from trainer.charts.explore import Exploration, Violation, explore
from trainer.cli.names import ship_ids
from trainer.cli.output import DONE, FINDINGS, Output
from trainer.flying import FlyingWorkspace
from trainer.lesson.from_path import ShownViolation, lesson_from_path

NOT_FLOWN = "  No flight was found that shows it; the events above do on the machine."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("ships", nargs="*", metavar="SHIP", help="only these ships; else every one")
    parser.add_argument("--installation", metavar="SHIP", help="older spelling of SHIP")


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Explore; exit 1 if an invariant is violated."""
    typed = [*arguments.ships, *([arguments.installation] if arguments.installation else [])]
    names = ship_ids(typed, workspace) if typed else list(workspace.installations)
    violations = 0
    for name in names:
        machine = workspace.logic(name).machine
        found = explore(machine.kernel, _progress if sys.stderr.isatty() else None)
        for violation in found.violations:
            aircraft = workspace.aircraft(workspace.installation(name).aircraft)
            shown = lesson_from_path(workspace.logic(name), aircraft, violation)
            _print_violation(name, violation, shown, output)
        violations += len(found.violations)
        _print_end(name, found, output)
    return FINDINGS if violations else DONE


def _progress(done: int, known: int) -> None:
    print(f"\r{done} of {known} configurations known so far", end="", file=sys.stderr)


def _print_violation(
    name: str, violation: Violation, shown: ShownViolation | None, output: Output
) -> None:
    data = {
        "kind": "violation",
        "installation": name,
        "invariant": violation.invariant.id,
        "sentence": violation.invariant.sentence,
        "signals": list(violation.signals),
        "configuration": list(violation.configuration),
        "events": [edge.event for edge in violation.path],
        "lesson": shown.text if shown is not None else "",
    }
    steps = ", ".join(edge.event for edge in violation.path) or "the start"
    text = (
        f"{name}: violated: {violation.invariant.sentence} ({violation.invariant.id})\n"
        f"  after: {steps}\n{data['lesson'] or NOT_FLOWN}"
    )
    output.emit(data, text)


def _print_end(name: str, found: Exploration, output: Output) -> None:
    unreachable = [f"{region}.{state}" for region, state in found.unreachable_states]
    data = {
        "kind": "end",
        "installation": name,
        "configurations": len(found.settled),
        "transitions": len(found.edges),
        "violations": len(found.violations),
        "invariants": len(found.chart.invariants),
        "longest_settle": found.longest_settle,
        "unreachable_states": unreachable,
        "dead_rules": list(found.dead_rules),
    }
    text = (
        f"{name}: {len(found.settled)} configurations, {len(found.edges)} transitions, "
        f"{len(found.violations)} of {len(found.chart.invariants)} invariants violated, "
        f"longest settle {found.longest_settle} microsteps\n"
        f"  unreachable states: {', '.join(unreachable) or 'none'}\n"
        f"  rules that never act: {', '.join(found.dead_rules) or 'none'}"
    )
    output.emit(data, text)
