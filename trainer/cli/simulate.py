"""`simulate`: play simulated members against the item bank and print the figures of merit."""

from __future__ import annotations

import argparse
import random
from collections.abc import Iterator, Mapping, Sequence
from time import perf_counter

from trainer.app import Workspace
from trainer.assessment.check.check_plan_file import NamedPlan
from trainer.assessment.diagnosis.diagnosis import Diagnosis
from trainer.assessment.figures.check_simulation import (
    competency_rates,
    error_rates,
    form_consistency,
)
from trainer.assessment.figures.outsiders import folds, held_out, random_changes
from trainer.assessment.figures.simulation import Figure, Outside, Simulator
from trainer.assessment.items.bank import Bank, build_bank
from trainer.assessment.wrong_rules.library import Library, load_folder
from trainer.assessment.wrong_rules.misconception import Misconception
from trainer.cli.names import add_ship, chosen_ship
from trainer.cli.output import DONE, Output
from trainer.cli.ranges import any_share, inner_share, whole

PARTS = (
    "single", "pairs", "sound", "held_out", "changes", "random", "noise", "check", "speed",
)  # fmt: skip
_USUAL = "ship_amber"
_NOISES = (0.05, 0.10, 0.20)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    add_ship(parser, f"whose logic; {_USUAL} if left out")
    parser.add_argument(
        "--members", type=whole(1), default=100, help="simulated members of each kind"
    )
    parser.add_argument(
        "--noise", type=inner_share, default=0.10, help="share of answers that slip"
    )
    parser.add_argument(
        "--lures", type=any_share, default=0.0,
        help="share of slips that imitate a wrong rule; the others are any strip",
    )  # fmt: skip
    parser.add_argument("--seed", type=int, default=2026, help="the same seed: the same figures")
    parser.add_argument(
        "--rules", type=whole(1), help="only so many misconceptions, drawn by the seed"
    )
    parser.add_argument(
        "--folds", type=whole(2), default=5, help="held_out: the misconceptions in so many parts, "
        "library and bank built anew without each",
    )  # fmt: skip
    parser.add_argument("--only", nargs="+", choices=PARTS, default=PARTS, help="which figures")


def execute(arguments: argparse.Namespace, output: Output, workspace: Workspace) -> int:
    """Simulate and print one object for each figure."""
    name = chosen_ship(arguments, workspace, _USUAL)
    logic = workspace.logic(name)
    held = load_folder(workspace.charts_folder, logic.installation.generic)
    if arguments.rules:
        held = tuple(_drawn(held, arguments))
    library = Library(logic, held)
    bank = build_bank(library, lambda start: workspace.begin(name, start))
    simulator = Simulator(
        bank, library, lambda start: workspace.begin(name, start), noise=arguments.noise,
        seed=arguments.seed, lures=arguments.lures,
    )  # fmt: skip
    exposed = len(simulator.hypotheses.misconceptions)
    repeats = max(1, round(arguments.members / max(1, exposed)))
    output.message(f"{name}: {len(bank.items)} items, {exposed} misconceptions that they expose")
    for figure in _figures(simulator, arguments, repeats):
        _print(figure, output)
    if "held_out" in arguments.only:
        for figure in _held_out(simulator, held, arguments).figures:
            _print(figure, output)
    if "noise" in arguments.only:
        _print_noises(simulator, arguments, repeats, output)
    if "check" in arguments.only:
        _print_check(bank, workspace.check_plans(), arguments, output)
    if "speed" in arguments.only:
        _print_speed(simulator, output)
    data = {
        "kind": "end", "installation": name, "items": len(bank.items),
        "kinds": len(bank.kinds), "misconceptions": exposed, "unexposed": list(bank.unexposed),
        "rejected": bank.rejected,
    }  # fmt: skip
    output.emit(data, f"not exposed by any item: {', '.join(bank.unexposed) or 'none'}")
    return DONE


def _drawn(held: Sequence[Misconception], arguments: argparse.Namespace) -> Sequence[Misconception]:
    chance = random.Random(f"rules {arguments.seed}")  # noqa: S311 - a simulation
    return chance.sample(held, min(arguments.rules, len(held)))


def _figures(simulator: Simulator, arguments: argparse.Namespace, repeats: int) -> Iterator[Figure]:
    """Yield the figures of one bank as they are found: each takes a minute or so."""
    if "single" in arguments.only:
        yield simulator.single(repeats)
    if "pairs" in arguments.only:
        yield simulator.pairs(arguments.members)
    if "sound" in arguments.only:
        yield from simulator.sound(arguments.members)
    if "changes" in arguments.only:
        yield from _changes(simulator, arguments.members).figures
    if "random" in arguments.only:
        yield simulator.single(1, adaptive=False)


def _changes(simulator: Simulator, members: int) -> Outside:
    changes = random_changes(
        simulator.library, simulator.bank, simulator.flown, members, simulator.seed
    )
    return simulator.outside("random_change", changes)


def _held_out(
    simulator: Simulator, held: Sequence[Misconception], arguments: argparse.Namespace
) -> Outside:
    """Return what becomes of those who hold a misconception that library and bank never had."""
    library, begin = simulator.library, simulator.begin
    found = Outside("held_out", (), (), ())
    for part in folds(held, arguments.folds, arguments.seed):
        names = [one.id for one in part]
        smaller = Library(library.logic, [one for one in held if one.id not in names])
        other = Simulator(
            build_bank(smaller, begin), smaller, begin, noise=simulator.noise,
            seed=simulator.seed, lures=simulator.lures,
        )  # fmt: skip
        exposed = [name for name in names if name in simulator.bank.exposed]
        found += other.outside("held_out", held_out(library, exposed))
    return found


def _print(figure: Figure, output: Output, **more: float) -> None:
    share, lengths = figure.share, figure.lengths
    data = {
        "kind": "figure", "figure": figure.name, "members": share.count,
        "share": _number(share.value), "share_error": _number(share.error),
        "items_mean": _number(lengths.mean), "items_error": _number(lengths.error),
        "items_p95": lengths.quantile(0.95) if lengths.values else None, **more,
    }  # fmt: skip
    text = (
        f"{figure.name}: {100 * share.value:.1f} % +- {100 * share.error:.1f} of {share.count}; "
        f"{lengths.mean:.1f} +- {lengths.error:.1f} items"
    )
    output.emit(data, text + "".join(f" ({k} {v:g})" for k, v in more.items()))


def _number(value: float) -> float | None:
    return round(value, 4) if value == value else None  # noqa: PLR0124 - not a number


def _print_noises(
    simulator: Simulator, arguments: argparse.Namespace, repeats: int, output: Output
) -> None:
    for noise in _NOISES:
        other = Simulator(
            simulator.bank, simulator.library, simulator.begin, noise=noise,
            seed=simulator.seed + 1, lures=simulator.lures,
        )  # fmt: skip
        some = max(20, arguments.members // 4)
        figures = (other.single(repeats), other.pairs(some), *other.sound(some))
        for figure in (*figures, _changes(other, some).figures[0]):
            _print(figure, output, noise=noise)


def _print_check(
    bank: Bank, plans: Mapping[str, NamedPlan], arguments: argparse.Namespace, output: Output
) -> None:
    """Print what each form of the club's check comes to, as the plans file has it."""
    count, seed = 4 * arguments.members, arguments.seed
    for name, plan in ((name, one.plan) for name, one in plans.items()):
        for figure in (
            *error_rates(bank, plan, count, seed),
            *competency_rates(bank, plan, count, seed),
        ):
            named = Figure(f"form_{name}_{figure.name}", figure.share, figure.lengths)
            _print(named, output)
        found = form_consistency(bank, plan, count, seed)
        data = {
            "kind": "figure", "figure": f"form_{name}_consistency", "members": found.share.count,
            "share": _number(found.share.value), "share_error": _number(found.share.error),
            "kappa": _number(found.kappa),
        }  # fmt: skip
        output.emit(data, f"form_{name}_consistency: {100 * found.share.value:.1f} % "
                    f"+- {100 * found.share.error:.1f}, kappa {found.kappa:.2f}")  # fmt: skip


def _print_speed(simulator: Simulator, output: Output) -> None:
    diagnosis = Diagnosis(simulator.hypotheses, simulator.declared)
    chance = random.Random(f"{simulator.seed} speed")  # noqa: S311 - a simulation
    began_s = perf_counter()
    rounds = 20
    for _ in range(rounds):
        simulator.selector.select(diagnosis, set(), chance)
    taken_ms = 1000.0 * (perf_counter() - began_s) / rounds
    data = {"kind": "figure", "figure": "select_ms", "value": round(taken_ms, 2)}
    output.emit(data, f"next item selected in {taken_ms:.1f} ms")
