"""Aircraft files: the shipped ones load; a broken one is told with place, found and accepted."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from trainer.errors import FileError, MissingFileError
from trainer.flight import AircraftSpec, load_aircraft
from trainer.flight.aircraft import RANGES, TEXT_KEYS

FOLDER = Path(__file__).parents[3] / "statecharts" / "aircraft"
UNITS = ("_kg", "_m2", "_deg", "_kw", "_s", "_kt", "_g", "_dps", "_per_rad")
PURE = ("ratio", "efficiency", "coefficient", "slope")


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_aircraft_load(path):
    spec = load_aircraft(path)
    assert spec.id == path.stem
    assert "invented" in spec.label


def test_the_shipped_light_single_is_the_one_described():
    spec = load_aircraft(FOLDER / "light_single.yaml")
    assert (spec.mass_kg, spec.maximum_power_kw) == (1150.0, 135.0)
    assert not spec.retractable_gear
    assert load_aircraft(FOLDER / "touring_single.yaml").retractable_gear


def test_every_field_has_a_range_and_a_unit():
    names = {entry.name for entry in fields(AircraftSpec)}
    assert names == set(RANGES) | set(TEXT_KEYS)
    for name in RANGES:
        assert name.endswith(UNITS) or name.endswith(PURE), name


def broken(tmp_path: Path, old: str, new: str) -> str:
    """Return the message for the light single with one line changed."""
    text = (FOLDER / "light_single.yaml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "broken.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(FileError) as caught:
        load_aircraft(path)
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ("mass_kg: 1150", "mass_kg: heavy", (":6:10:", "heavy", "300 to 6000")),
        ("mass_kg: 1150", "mass_kg: 115000", (":6:10:", "115000", "300 to 6000")),
        ("mass_kg: 1150", "mass_kg: .nan", (":6:10:", "nan", "300 to 6000")),
        ("mass_kg: 1150", "mass_kg: true", (":6:10:", "300 to 6000")),
        ("mass_kg: 1150", "mas_kg: 1150", (":6:1:", "mas_kg", "mass_kg")),
        ("mass_kg: 1150\n", "", ("mass_kg", "missing")),
        ("mass_kg: 1150", "mass_kg: [1150]", (":6:", "mass_kg", "single value")),
        ("mass_kg: 1150", "mass_kg: 1150\nmass_kg: 1151", (":7:1:", "twice")),
        ("id: light_single", "id: ''", (":4:5:", "empty")),
        ("mass_kg: 1150", "mass_kg: 1150\n  bad: [", (":7:",)),
    ],
)
def test_broken_file(tmp_path, old, new, parts):
    message = broken(tmp_path, old, new)
    assert "broken.yaml" in message
    for part in parts:
        assert part in message, message


def test_all_problems_are_told_at_once(tmp_path):
    message = broken(tmp_path, "mass_kg: 1150\nwing_area_m2: 16.2", "mass_kg: x\nwing_area_m2: y")
    assert ":6:" in message
    assert ":7:" in message


def test_missing_file(tmp_path):
    with pytest.raises(MissingFileError, match="nowhere"):
        load_aircraft(tmp_path / "nowhere.yaml")
