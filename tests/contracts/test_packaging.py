"""What is built holds all that the program needs, and runs elsewhere; the bundle's files agree."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
DATA_ENDINGS = {".md", ".json", ".sql", ".html", ".txt", ".yaml", ".typ", ".j2", ".png"}
_FLIES = """
import json, sys
from pathlib import Path
from trainer.ui.start import build
app, window = build()
window.show()
window.load()
window.open_lesson(window.desk.workspace.lessons()[0])
window.driver.stop_clock()
window.proceed()
window.driver.advance(0.25)
window.desk.show_help()
print(json.dumps([str(Path(sys.modules["trainer"].__file__).parent), window.practice.session.t_s]))
window.close()
"""


def run(command: list[str], folder: Path, **more: str) -> str:
    """Run a command away from the checkout; return what it wrote."""
    kept = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    environment = {**kept, "QT_QPA_PLATFORM": "offscreen", **more,
                   "MODE_TRAINER_DATA": str(folder / "user")}  # fmt: skip
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False,
        timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def data_files() -> set[str]:
    """Return every file that must be beside the modules, by its place in the wheel."""
    own = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "trainer").rglob("*")
        if path.suffix in DATA_ENDINGS and "__pycache__" not in path.parts
        and not any(part.startswith(".") for part in path.relative_to(ROOT).parts)
    }  # fmt: skip
    for folder in ("statecharts", "lessons"):
        own |= {
            f"trainer/data/{path.relative_to(ROOT).as_posix()}"
            for path in (ROOT / folder).rglob("*.yaml")
        }
    return own


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A folder of packages with all that the wheel puts there."""
    folder = tmp_path / "site"
    shutil.copytree(ROOT / "trainer", folder / "trainer", ignore=shutil.ignore_patterns(".*"))
    included = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    for source, target in included.items():
        shutil.copytree(ROOT / source, folder / target)
    return folder


def test_a_tree_like_the_wheels_runs_without_the_checkout(tmp_path: Path, site: Path) -> None:
    shown = run([sys.executable, "-c", _FLIES], tmp_path, PYTHONPATH=str(site))
    assert str(site / "trainer") in shown


def test_its_lessons_and_ships_go_by_their_names(tmp_path: Path, site: Path) -> None:
    for name in ("15", "15-approach"):
        words = ["run", name, "--ship", "ship_amber", "--until-s", "1", "--json"]
        shown = run([sys.executable, "-m", "trainer", *words], tmp_path, PYTHONPATH=str(site))
        assert json.loads(shown.splitlines()[-1]) == {"kind": "end", "t_s": 1.0}


def test_what_the_wheel_must_hold_is_named_in_the_project() -> None:
    targets = PROJECT["tool"]["hatch"]["build"]["targets"]
    assert set(targets["wheel"]["force-include"]) == {"statecharts", "lessons"}
    assert {"trainer", "statecharts", "lessons", "tests", "README.md", "DEVELOPERS.md"} <= set(
        targets["sdist"]["include"]
    )


@pytest.mark.long
def test_wheel_and_source_are_built_installed_elsewhere_and_run(tmp_path: Path) -> None:
    python = make_environment(tmp_path / "builder")
    run([python, "-m", "pip", "install", "--quiet", "hatchling"], tmp_path)
    built = tmp_path / "built"
    command = [python, "-m", "hatchling", "build", "-t", "sdist", "-t", "wheel", "-d", str(built)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=300)
    (wheel,), (source,) = built.glob("*.whl"), built.glob("*.tar.gz")
    with zipfile.ZipFile(wheel) as archive:
        in_wheel = set(archive.namelist())
    with tarfile.open(source) as archive:
        in_source = {name.partition("/")[2] for name in archive.getnames()}
    assert data_files() - in_wheel == set()
    assert not [name for name in in_wheel if name.startswith("tests/") or "/." in name]
    assert {"pyproject.toml", "tests/conftest.py", "statecharts/generic.yaml"} <= in_source
    run([python, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(tmp_path), str(source)], built)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as archive:
        assert set(archive.namelist()) == in_wheel
    user = make_environment(tmp_path / "user-environment")
    run([user, "-m", "pip", "install", "--quiet", str(wheel)], tmp_path)
    program = str(Path(user).parent / "mode-trainer")
    assert PROJECT["project"]["version"] in run([program, "--version"], tmp_path)
    lesson = next((Path(user).parents[1]).rglob("01-first-flight.yaml"))
    assert '"kind": "end"' in run([program, "run", str(lesson), "--json"], tmp_path)
    assert str(tmp_path / "user-environment") in run([user, "-c", _FLIES], tmp_path)


def make_environment(folder: Path) -> str:
    """Make a virtual environment and return its Python."""
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True, timeout=120)
    return str(folder / ("Scripts" if sys.platform == "win32" else "bin") / "python")


def test_the_bundle_takes_what_the_project_needs() -> None:
    spec = (ROOT / ".packaging" / "mode-trainer.spec").read_text("utf-8")
    compile(spec, "mode-trainer.spec", "exec")
    for words in ('collect_data_files("trainer")', 'collect_submodules("trainer")', "parts()"):
        assert words in spec
    for name in ("build-windows.ps1", "build-macos.sh"):
        assert "UNTESTED" in (ROOT / ".packaging" / name).read_text("utf-8")
