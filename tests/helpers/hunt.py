"""A coverage-guided hunt: files that reach new code are kept and spoilt further.

By hand, in the background:

    nice -n 19 .venv/bin/python -m tests.helpers.hunt --minutes 60

writes what it finds into `tests/properties/corpus`, from where the tests load it ever after.
"""

from __future__ import annotations

import argparse
import gzip
import random
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import mkdtemp
from types import CodeType, FrameType
from typing import Any

from tests.helpers.loader_targets import TARGETS, Target, seeds_of
from trainer.errors import FileError, TrainerError

CORPUS = Path(__file__).parents[1] / "properties" / "corpus"
LONGEST_S = 10.0
"""Most processor time that a file may take to be loaded or refused."""
_TRAINER = str(Path(__file__).parents[2] / "trainer")
_MOST_KEPT = 400


class TooSlowError(BaseException):
    """A file that takes too long; no handler of the program's may catch it."""


@dataclass
class Finding:
    """A file that the program doesn't take as it should."""

    target: str
    data: bytes
    what: str
    place: str


@dataclass
class Report:
    """What a hunt came to."""

    target: str
    executions: int = 0
    loaded: int = 0
    refused: int = 0
    arcs: int = 0
    kept: int = 0
    slowest_s: float = 0.0
    findings: dict[str, Finding] = field(default_factory=dict)


class Arcs:
    """Which steps from line to line of the program have been taken."""

    def __init__(self) -> None:
        self.seen: set[tuple[CodeType, int, int]] = set()
        self.new = 0

    def trace(self, frame: FrameType, _event: str, _value: Any) -> Any:
        """Follow the frames of the program only."""
        if not frame.f_code.co_filename.startswith(_TRAINER):
            return None
        last = 0
        code = frame.f_code

        def line(inner: FrameType, event: str, _value: Any) -> Any:
            nonlocal last
            if event == "line":
                arc = (code, last, inner.f_lineno)
                last = inner.f_lineno
                if arc not in self.seen:
                    self.seen.add(arc)
                    self.new += 1
            return line

        return line


@contextmanager
def time_limit(limit_s: float) -> Iterator[None]:
    """Raise TooSlowError once a block has used so much of the processor."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def stop(_number: int, _frame: Any) -> None:
        raise TooSlowError(f"more than {limit_s:g} s of the processor")

    previous = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, limit_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, previous)


def problem_with(target: Target, data: bytes, *, limit_s: float = LONGEST_S) -> str:
    """Load a file; return what the program did wrong, or an empty text.

    Args:
        target: The loader.
        data: The file.
        limit_s: Most processor time [s].
    """
    return outcome_of(target, data, limit_s)[1]


def outcome_of(target: Target, data: bytes, limit_s: float = LONGEST_S) -> tuple[str, str, str]:
    """Return ('loaded' or 'refused' or 'wrong', what was wrong, where)."""
    folder = Path(mkdtemp(prefix="fuzz-"))
    path = folder / target.file_name
    path.write_bytes(data)
    try:
        with time_limit(limit_s):
            target.load(path)
    except TrainerError as error:
        return _judge(target, error, path, data)
    except (Exception, TooSlowError) as error:
        return "wrong", f"{type(error).__name__}: {error}"[:300], _place_of(error)
    finally:
        shutil.rmtree(folder)
    return "loaded", "", ""


def _judge(target: Target, error: TrainerError, path: Path, data: bytes) -> tuple[str, str, str]:
    """Say whether a refusal tells enough, and left everything as it was."""
    kind, words = type(error).__name__, str(error)
    if target.never_refuses:
        return "wrong", f"refused: {words}"[:300], kind
    if target.names_file and path.name not in words:
        return "wrong", f"the file isn't named: {words}"[:300], kind
    if target.names_line and isinstance(error, FileError) and min(
        (one.line for one in error.problems), default=0
    ) < 1:  # fmt: skip
        return "wrong", f"no line is named: {words}"[:300], kind
    if len(words) > 100_000:
        return "wrong", f"a message of {len(words)} characters", kind
    if path.suffix != ".sqlite3" and path.read_bytes() != data:
        return "wrong", "a refused file was changed", kind
    if (path.parent / "taken").exists():
        return "wrong", "a refused file left something behind", kind
    return "refused", "", ""


def _place_of(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    own = [one for one in frames if one.filename.startswith(_TRAINER)] or list(frames)
    last = own[-1]
    return f"{type(error).__name__} {Path(last.filename).name}:{last.lineno}"


def hunt(
    target: Target, seed: int, *, seconds: float = float("inf"), executions: int = 10**9
) -> Report:
    """Spoil and load files of one kind until time or number is used up.

    Args:
        target: The loader.
        seed: Of the chance; the same seed and number give the same files.
        seconds: Most time on the wall [s].
        executions: Most files.
    """
    chance, arcs, report = random.Random(seed), Arcs(), Report(target.name)
    kept = [*seeds_of(target.name), *corpus_of(target.name).values()]
    seeds = list(kept)
    ends_s = time.monotonic() + seconds
    while report.executions < executions and time.monotonic() < ends_s:
        fresh = report.executions < len(seeds)
        start = kept[report.executions] if fresh else chance.choice(kept)
        data = start if fresh else target.spoil(chance, start, seeds)
        began_s = time.process_time()
        sys.settrace(arcs.trace)
        arcs.new = 0
        try:
            state, what, place = outcome_of(target, data, 3 * LONGEST_S)
        finally:
            sys.settrace(None)
        report.slowest_s = max(report.slowest_s, time.process_time() - began_s)
        report.executions += 1
        report.loaded += state == "loaded"
        report.refused += state == "refused"
        if state == "wrong":
            report.findings.setdefault(place, Finding(target.name, data, what, place))
        elif arcs.new and not fresh and len(kept) < _MOST_KEPT and len(data) < 200_000:
            kept.append(data)
    report.arcs, report.kept = len(arcs.seen), len(kept) - len(seeds)
    return report


def corpus_of(name: str) -> dict[str, bytes]:
    """Return the files once found, by name."""
    return {
        path.name: gzip.decompress(data) if path.suffix == ".gz" else data
        for path in sorted((CORPUS / name).glob("*"))
        for data in (path.read_bytes(),)
    }


def main() -> None:
    """Hunt through all kinds in turn, and write down what is found."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--slice", type=float, default=60.0, help="seconds for one kind in turn")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=sorted(TARGETS))
    parser.add_argument("--out", type=Path, default=CORPUS)
    given = parser.parse_args()
    ends_s = time.monotonic() + 60.0 * given.minutes
    totals: dict[str, int] = dict.fromkeys(given.only, 0)
    seed = given.seed
    while time.monotonic() < ends_s:
        for name in given.only:
            left_s = min(given.slice, ends_s - time.monotonic())
            if left_s <= 0:
                break
            report = hunt(TARGETS[name], seed, seconds=left_s)
            totals[name] += report.executions
            _say(f"{name}: {report.executions} files, {report.loaded} loaded, "
                  f"{report.refused} refused, {report.arcs} arcs, {report.kept} kept, "
                  f"slowest {report.slowest_s:.1f} s")  # fmt: skip
            for finding in report.findings.values():
                _write_down(given.out, finding)
        seed += 1
    _say(f"in all {sum(totals.values())} files: {totals}")


def _say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def _write_down(folder: Path, finding: Finding) -> None:
    plain = "".join(c if c.isalnum() else "-" for c in finding.place.lower())
    path = folder / finding.target / f"{plain}.bin.gz"
    _say(f"  FOUND {finding.target} {finding.place}: {finding.what!r}")
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(gzip.compress(finding.data, mtime=0))


if __name__ == "__main__":
    main()
