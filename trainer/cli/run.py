"""`run LESSON`: fly a lesson or scenario without a window and print every change."""

from __future__ import annotations

import argparse

from trainer.cli.flight_output import annunciation_text, change_json, flight_json, refused_json
from trainer.cli.names import SHIP_OPTIONS, lesson_path, ship_id
from trainer.cli.output import DONE, Output
from trainer.flying import FlyingWorkspace
from trainer.lesson.runner import LessonRunner
from trainer.session.record import StepRecord
from trainer.session.session import STEP_S


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("lesson", metavar="LESSON", help="a lesson's id or number, or a file")
    parser.add_argument(*SHIP_OPTIONS, metavar="SHIP", help="fly it in this ship, not in its own")
    parser.add_argument("--until-s", type=float, help="fly on, or stop, at this time [s]")
    parser.add_argument("--samples-hz", type=float, help="also print this many samples a second")


def execute(arguments: argparse.Namespace, output: Output, workspace: FlyingWorkspace) -> int:
    """Fly the script."""
    lesson = workspace.lesson(lesson_path(arguments.lesson, workspace))
    ship = ship_id(arguments.ship, workspace) if arguments.ship else None
    runner = workspace.start_lesson_without_trainee(lesson, ship)
    until_s: float | None = arguments.until_s
    sample_every = None
    if arguments.samples_hz:
        sample_every = max(1, round(1.0 / (arguments.samples_hz * STEP_S)))
    steps = 0
    _print(runner.advance(0.0), runner, output)
    while until_s is None or runner.session.t_s < until_s - STEP_S / 2.0:
        if runner.phase == "asking":
            seen = len(runner.session.trace.records)
            runner.commit()
            _print(tuple(runner.session.trace.records)[seen:], runner, output)
        elif runner.phase == "explained":
            _print(runner.proceed(), runner, output)
        elif runner.phase == "finished":
            if until_s is None:
                break
            record = runner.session.step()
            _print((record,) if record else (), runner, output)
        else:
            _print(runner.advance(STEP_S), runner, output)
        if runner.phase in ("running", "revealing", "finished"):
            steps += 1
            if sample_every and steps % sample_every == 0:
                _print_sample(runner, output)
    t_s = round(runner.session.t_s, 2)
    output.emit({"kind": "end", "t_s": t_s}, f"{t_s:9.2f} s  end")
    return DONE


def _print(records: tuple[StepRecord, ...], runner: LessonRunner, output: Output) -> None:
    for record in records:
        if record.refusal is not None:
            text = f"{record.t_s:9.2f} s  {record.event}: refused, {record.refusal.reason}"
            output.emit(refused_json(record), text)
        elif record.has_changed:
            text = (
                f"{record.t_s:9.2f} s  {record.event} ({record.by}): "
                f"{annunciation_text(record.after)}"
            )
            output.emit(change_json(record, runner.session), text)


def _print_sample(runner: LessonRunner, output: Output) -> None:
    sample = runner.session.flight.sample()
    t_s = round(sample.t_s, 2)
    text = f"{t_s:9.2f} s  {sample.altitude_ft:.0f} ft, {sample.heading_deg:.0f} deg"
    output.emit({"kind": "sample", "t_s": t_s, "flight": flight_json(sample)}, text)
