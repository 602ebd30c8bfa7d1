"""`export WHAT --to ...`: an installation's logic or a member's answers, for other programs."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from pathlib import Path

from trainer.charts.diagram import lay_out
from trainer.charts.diagram_svg import to_svg
from trainer.charts.guard import Configuration
from trainer.charts.installation import load_installation
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.scxml import to_scxml
from trainer.charts.spec import ChartSpec
from trainer.charts.specialise import specialise
from trainer.cli.names import named_file, ship_id
from trainer.cli.output import DONE, Output
from trainer.document import read_document
from trainer.errors import MissingFileError, TrainerError
from trainer.flying import FlyingWorkspace

Writer = Callable[[argparse.Namespace, FlyingWorkspace], str]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument(
        "what", metavar="ID|PATH|MEMBER", help="an installation or chart; csv, xapi: a member"
    )
    parser.add_argument("--to", choices=sorted(WRITERS), required=True, help="form of the export")
    parser.add_argument("--output", type=Path, help="write to this file instead of stdout")
    parser.add_argument(
        "--at",
        action="append",
        default=[],
        metavar="REGION=STATE",
        help="svg: highlight this state; other regions are in their first one; may be repeated",
    )


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Write the export to stdout or to a file."""
    if arguments.at and arguments.to != "svg":
        raise TrainerError("--at goes with --to svg only")
    text = WRITERS[arguments.to](arguments, workspace)
    data = {"kind": "export", "what": arguments.what, "to": arguments.to}
    if arguments.output is None:
        output.emit({**data, "text": text}, text.rstrip("\n"))
    else:
        _write(arguments.output, text)
        size = len(text.encode())
        output.emit(
            {**data, "path": str(arguments.output), "bytes": size},
            f"{arguments.output}: {size} bytes",
        )
    return DONE


def _scxml(arguments: argparse.Namespace, workspace: FlyingWorkspace) -> str:
    chart, name, _ = _chart(arguments.what, workspace)
    return to_scxml(chart, name)


def _svg(arguments: argparse.Namespace, workspace: FlyingWorkspace) -> str:
    chart, _, title = _chart(arguments.what, workspace)
    return to_svg(lay_out(chart, _configuration(chart, arguments.at), title))


def _csv(arguments: argparse.Namespace, _: FlyingWorkspace) -> str:
    from trainer.cli.records_member import csv_text
    from trainer.records.store import Store

    with Store.default() as store:
        return csv_text(store, arguments.what)


def _xapi(arguments: argparse.Namespace, _: FlyingWorkspace) -> str:
    from trainer.cli.records_member import xapi_text
    from trainer.records.store import Store

    with Store.default() as store:
        return xapi_text(store, arguments.what)


WRITERS: dict[str, Writer] = {"scxml": _scxml, "svg": _svg, "csv": _csv, "xapi": _xapi}


def _chart(what: str, workspace: FlyingWorkspace) -> tuple[ChartSpec, str, str]:
    """Return (specialised chart, id, title) of an installation, or a file of one or of a chart."""
    path = named_file(what)
    if path is None:
        ship = workspace.installation(ship_id(what, workspace))
        return ship.chart, ship.id, ship.title
    top = read_document(path)
    kind = top.text("format", choices=["chart/1", "installation/1"])
    top.document.raise_if_problems()
    if kind == "installation/1":
        one = load_installation(path, workspace.charts_folder)
        return one.chart, one.id, one.title
    generic = load_chart(path)
    defaults = {option.id: option.default for option in generic.options.values()}
    return specialise(generic, defaults), generic.id, generic.title


def _configuration(chart: ChartSpec, words: list[str]) -> Configuration | None:
    if not words:
        return None
    states: dict[str, str] = {}
    for word in words:
        region, found, state = word.partition("=")
        if not found:
            raise TrainerError(f"--at {word}: accepted: REGION=STATE, as lateral=roll_hold")
        states[region] = state
    return ModeMachine(chart).configuration(states)


def _write(path: Path, text: str) -> None:
    """Write a whole file or leave what was there."""
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        why = f"can't be written: {error.strerror}"
        raise MissingFileError(path, why, "a file in a folder that exists") from error
