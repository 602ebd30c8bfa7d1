"""`compare A B`: every situation in which two installations read or answer differently."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from trainer.app import Workspace
from trainer.charts.compare import Comparison, Difference, Side, ValueDifference, compare
from trainer.cli.output import DONE, FINDINGS, Output

HELP = "compare two installations over all events and signals"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("first", metavar="A", help="installation that is known")
    parser.add_argument("second", metavar="B", help="installation to compare with it")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Compare; exit 1 if anything differs."""
    found = compare(
        workspace.installation(arguments.first),
        workspace.installation(arguments.second),
        _progress if sys.stderr.isatty() else None,
    )
    for value in found.values:
        output.emit(_value_json(value), f"{value.cause}: {value.first} | {value.second}")
    for difference in found.differences:
        output.emit(_difference_json(difference, found), _text(difference))
    data = {
        "kind": "end",
        "complete": found.is_complete,
        "states": found.states,
        "transitions": found.transitions,
        "differences": len(found.differences),
        "values": len(found.values),
    }
    text = (
        f"{found.first} and {found.second}: {len(found.differences)} kinds of situation differ; "
        f"{found.states} states and {found.transitions} transitions compared, complete"
    )
    output.emit(data, text)
    return FINDINGS if found.differences or found.values else DONE


def _progress(done: int, known: int) -> None:
    print(f"\r{done} of {known} states known so far", end="", file=sys.stderr)


def _value_json(value: ValueDifference) -> dict[str, Any]:
    return {
        "kind": "difference",
        "of": "value",
        "causes": [value.cause],
        "first": value.first,
        "second": value.second,
    }


def _difference_json(one: Difference, found: Comparison) -> dict[str, Any]:
    true = [name for bit, name in enumerate(found.signals) if one.cube[0] >> bit & 1]
    false = [name for bit, name in enumerate(found.signals) if one.cube[1] >> bit & 1]
    return {
        "kind": "difference",
        "of": "situation",
        "causes": list(one.causes),
        "event": one.event,
        "before": dict(one.before),
        "signals_true": true,
        "signals_false": false,
        "first": _side_json(one.first),
        "second": _side_json(one.second),
        "path": [move.event for move in one.path],
        "situations": one.situations,
    }


def _side_json(side: Side) -> dict[str, Any]:
    return {
        "after": dict(side.shown),
        "rules": list(side.rules),
        "refusal": side.refusal or None,
    }


def _text(one: Difference) -> str:
    def side(what: Side) -> str:
        if what.refusal:
            return f"refused ({what.refusal})"
        changed = [f"{region} {state}" for region, state in what.shown if (region, state) not in
                   one.before]  # fmt: skip
        return ", ".join(changed).replace("_", " ") or "nothing changes"

    modes = ", ".join(
        state.replace("_", " ")
        for region, state in one.before
        if region in ("engagement", "lateral", "vertical")
    )
    return (
        f"{', '.join(one.causes)}: {one.event} in {modes}\n"
        f"    first:  {side(one.first)}\n    second: {side(one.second)}  "
        f"({one.situations} situations)"
    )
