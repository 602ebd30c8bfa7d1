"""The wheel holds all that the program needs, and finds it there."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.long
def test_the_wheel_runs_without_the_checkout(tmp_path):
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", str(tmp_path)]
    subprocess.run([*build, str(ROOT)], check=True, timeout=300)
    (wheel,) = tmp_path.glob("mode_logic_trainer-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        archive.extractall(tmp_path / "site")
    for folder in ("statecharts", "lessons"):
        for path in (ROOT / folder).rglob("*.yaml"):
            assert f"trainer/data/{folder}/{path.relative_to(ROOT / folder)}" in names
    data_files = [
        path.relative_to(ROOT)
        for path in (ROOT / "trainer").rglob("*")
        if path.suffix in {".md", ".json", ".sql", ".html", ".txt", ".yaml", ".typ", ".j2"}
    ]
    assert [str(path) for path in data_files if str(path) not in names] == []
    code = (
        "from trainer.app import Workspace; from trainer.resources import resource_folder; "
        "assert 'site' in str(resource_folder('lessons')); print(len(Workspace().lessons()))"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env={"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) == len(list((ROOT / "lessons").glob("*.yaml")))
