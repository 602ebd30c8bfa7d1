"""The W3C SCXML 1.0 Implementation Report tests that touch what the engine claims [SCX-02].

The documents come from python-statemachine's source distribution; see
`scxml_suite/README.md` for their licence, for what was adapted, and for what doesn't apply.
"""

from __future__ import annotations

import importlib.util
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest
from statemachine.io import load
from xsdata.exceptions import ConverterWarning, ParserError
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig

from tests.published.scxml_suite.engines import (
    ReferenceEngine,
    SismicEngine,
    StateMachineEngine,
)
from tests.published.scxml_suite.limits import limited
from tests.published.scxml_suite.planted import WRONG_COORDINATORS, WrongCoordinator
from tests.published.scxml_suite.reader import OWN
from trainer.charts.guard import Configuration
from trainer.charts.installation import load_installation
from trainer.charts.loader import load_chart
from trainer.charts.machine import ModeMachine
from trainer.charts.scxml import to_scxml
from trainer.charts.spec import ChartSpec
from trainer.errors import FileError
from trainer.resources import resource_folder
from trainer.session.effects import EFFECT_FUNCTIONS

SUITE = Path(__file__).parent / "scxml_suite"
RELEVANT = (
    "144 355 364 372 375 376 377 387 388 396 399 401 402 403a 403b 403c 404 405 406 407 409 411 "
    "412 413 416 417 419 421 423 451 503 504 505 506 533 570 576 579 580"
)
NUMBERS = tuple(RELEVANT.split())
WAITING = {"409", "423", "579"}
"""Documents that reach their end only by a delayed event of a second or two."""

EVENTS: dict[str, tuple[str, ...]] = {
    "364": (),
    "375": ("go",),
    "396": ("foo",),
    "399": ("foo", "bar", "foos", "foo"),
    "403a": ("event1", "event2"),
    "403b": ("event1", "event2"),
    "403c": ("event1", "event2", "check"),
    "405": ("go",),
    "409": ("go", "probe", "timeout"),
    "411": ("go",),
    "413": (),
    "419": ("event",),
    "421": ("start", "external"),
    "423": ("internal", "external1", "external2"),
    "451": (),
    "503": ("foo", "foo", "bar"),
    "576": ("probe",),
}
"""What is sent to each adapted chart, in order."""


def table() -> dict[str, tuple[str, str]]:
    """Return number -> (standing, reason) from the README."""
    rows = re.findall(
        r"^\| (\d+[abc]?) \| [^|]+ \| ([a-z ]+) \| ([^|]*)\|$",
        (SUITE / "README.md").read_text(encoding="utf-8"),
        flags=re.MULTILINE,
    )
    found = {number: (standing, reason.strip()) for number, standing, reason in rows}
    assert len(found) == len(rows)
    return found


@cache
def adapted(number: str) -> ChartSpec:
    return load_chart(SUITE / "charts" / f"test{number}.yaml")


def outcome(chart: ChartSpec, configuration: Configuration) -> str:
    return configuration[list(chart.regions).index("outcome")]


def play(chart: ChartSpec, coordinator: WrongCoordinator | ModeMachine, number: str) -> str:
    machine = coordinator if isinstance(coordinator, ModeMachine) else coordinator.machine
    configuration = coordinator.settle(machine.initial, 0).configuration
    for event in EVENTS[number]:
        configuration = coordinator.send(configuration, 0, event).configuration
    return outcome(chart, configuration)


# The table ------------------------------------------------------------------------------------


def test_the_table_names_all_39_with_a_standing_and_a_reason() -> None:
    rows = table()
    assert tuple(rows) == NUMBERS
    assert len(NUMBERS) == 39
    for number, (standing, reason) in rows.items():
        assert standing in ("adapted", "in part", "differs", "not applicable"), number
        assert reason or standing == "adapted", number


def test_what_the_table_calls_adapted_is_here_and_played() -> None:
    rows = table()
    claimed = {
        number for number, (standing, _) in rows.items() if standing in ("adapted", "in part")
    }
    charts = {path.stem.removeprefix("test") for path in (SUITE / "charts").glob("test*.yaml")}
    assert claimed == charts == set(EVENTS)
    counts = Counter(standing for standing, _ in rows.values())
    text = " ".join((SUITE / "README.md").read_text(encoding="utf-8").split())
    assert f"{len(claimed)} of 39 are adapted and pass" in text
    assert f"{counts['differs']} differs on purpose" in text
    assert f"{counts['not applicable']} don't apply" in text


def test_the_licence_stands_beside_the_documents() -> None:
    assert "BSD 3-Clause License" in (SUITE / "w3c" / "LICENSE").read_text(encoding="utf-8")
    assert {path.stem.removeprefix("test") for path in (SUITE / "w3c").glob("*.scxml")} == {
        *NUMBERS
    }


# The adapted charts in three engines ----------------------------------------------------------


@pytest.mark.parametrize("number", EVENTS)
def test_adapted_chart_passes_here(number: str) -> None:
    chart = adapted(number)
    assert play(chart, ModeMachine(chart), number) == "pass"


@pytest.mark.parametrize("engine_class", [StateMachineEngine, SismicEngine])
@pytest.mark.parametrize("number", EVENTS)
def test_adapted_chart_passes_in_the_reference_engines(
    number: str, engine_class: type[StateMachineEngine] | type[SismicEngine]
) -> None:
    chart = adapted(number)
    with limited(20.0):
        engine: ReferenceEngine = engine_class(chart)
        for event in EVENTS[number]:
            engine.send(event)
    assert outcome(chart, engine.configuration()) == "pass"


@pytest.mark.parametrize("number", EVENTS)
def test_adapted_chart_can_fail(number: str) -> None:
    """Without one of its rules, for some rule, a chart doesn't end in `pass`."""
    chart = adapted(number)
    spoiled = 0
    for dropped in chart.rules:
        rest = {name: rule for name, rule in chart.rules.items() if name != dropped}
        other = ModeMachine(replace(chart, rules=rest))
        spoiled += play(chart, other, number) != "pass"
    assert spoiled


def test_wrong_coordinators_fail_the_suite() -> None:
    failed = {wrong.__name__: _failed(wrong) for wrong in WRONG_COORDINATORS}
    # Refusals and changes of signals are no part of SCXML; `order_probe` has those.
    beyond = {"NoSettlingBefore", "RefusalsBeforeSettling", "NoRefusals"}
    assert {name for name, numbers in failed.items() if not numbers} == beyond


def _failed(wrong: type[WrongCoordinator]) -> set[str]:
    return {n for n in EVENTS if play(adapted(n), wrong(ModeMachine(adapted(n))), n) != "pass"}


# Assertions on order of effects, which no configuration shows ----------------------------------


def test_375_entry_effects_keep_the_order_of_the_file() -> None:
    assert adapted("375").regions["s"].states["s1"].enter == ("take_present_pitch", "raise_pitch")


def test_405_effects_of_a_microstep_come_in_region_order() -> None:
    machine = ModeMachine(adapted("405"))
    firings = machine.send(machine.initial, 0, "go").microsteps[0]
    assert [effect for one in firings for effect in one.rule.effects] == [
        "raise_pitch",
        "lower_pitch",
    ]


def test_503_a_rule_to_its_own_state_leaves_and_enters_nothing() -> None:
    machine = ModeMachine(adapted("503"))
    start = machine.settle(machine.initial, 0).configuration
    (firing,) = machine.send(start, 0, "foo").firings
    assert (firing.left, firing.entered, firing.rule.effects) == ("s2", "s2", ("raise_pitch",))


def test_355_a_region_without_a_first_state_is_not_loaded(tmp_path: Path) -> None:
    text = (SUITE / "charts" / "test451.yaml").read_text(encoding="utf-8")
    path = tmp_path / "no_initial.yaml"
    path.write_text(text.replace("    initial: s1\n", ""), encoding="utf-8")
    with pytest.raises(FileError, match="initial"):
        load_chart(path)


def test_376_an_effect_that_does_not_exist_is_not_loaded(tmp_path: Path) -> None:
    text = (SUITE / "charts" / "test375.yaml").read_text(encoding="utf-8")
    path = tmp_path / "no_effect.yaml"
    path.write_text(text.replace("raise_pitch", "rise_pitch"), encoding="utf-8")
    with pytest.raises(FileError, match="rise_pitch"):
        load_chart(path)
    assert "rise_pitch" not in EFFECT_FUNCTIONS


# The documents themselves in the reference engine ----------------------------------------------


@pytest.mark.parametrize(
    "number",
    [pytest.param(n, marks=pytest.mark.long) if n in WAITING else n for n in NUMBERS],
)
def test_the_reference_engine_passes_the_document(number: str) -> None:
    """As its authors say: none of the 39 is on its list of expected failures."""
    with limited(20.0):
        machine = load(SUITE / "w3c" / f"test{number}.scxml", trusted=True)()
        until = time.monotonic() + 5.0
        while not machine.is_terminated and time.monotonic() < until:
            time.sleep(0.02)
            machine._engine.processing_loop()
    assert {state.id for state in machine.configuration} == {"pass"}


# The exported document against classes generated from the W3C schema [SCX-04] -------------------


@cache
def _schema_classes() -> ModuleType:
    """Load the generated module alone: its package imports much that isn't needed here."""
    package = importlib.util.find_spec("scjson")
    assert package is not None
    assert package.submodule_search_locations is not None
    path = Path(package.submodule_search_locations[0]) / "dataclasses" / "generated.py"
    spec = importlib.util.spec_from_file_location("scxml_schema_classes", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def _read_by_schema(text: str) -> list[str]:
    """Return what is foreign in a document; raises xsdata's ParserError where it isn't SCXML."""
    config = ParserConfig(
        fail_on_unknown_properties=True,
        fail_on_unknown_attributes=True,
        fail_on_converter_warnings=True,
    )
    top = XmlParser(config=config).from_bytes(text.encode(), _schema_classes().Scxml)
    return sorted(_foreign(top))


def _foreign(element: object) -> Iterator[str]:
    """Yield attributes and elements that the schema lets through as somebody else's."""
    for one in fields(element):  # type: ignore[arg-type]  # generated dataclasses
        value = getattr(element, one.name)
        if one.name == "other_attributes":
            yield from (name for name in value if not name.startswith(OWN))
        elif one.name == "other_element":
            yield from (str(child) for child in value)
        elif isinstance(value, list):
            for child in value:
                if is_dataclass(child):
                    yield from _foreign(child)


@pytest.mark.parametrize("name", ["ship_amber", "ship_amber_stage_two", "ship_slate"])
def test_the_export_is_scxml_by_the_schema(name: str) -> None:
    charts = resource_folder("statecharts")
    chart = load_installation(charts / "installations" / f"{name}.yaml", charts).chart
    assert _read_by_schema(to_scxml(chart, name)) == []


@pytest.mark.parametrize("number", EVENTS)
def test_every_small_export_is_scxml_by_the_schema(number: str) -> None:
    assert _read_by_schema(to_scxml(adapted(number))) == []


@pytest.mark.parametrize(
    ("cut", "by"),
    [
        ("<transition ", '<transition evnt="x" '),
        ("<transition ", "<transitoin "),
        ("<assign ", "<asign "),
        ("<parallel ", '<parallel><data id="late" /></parallel><parallel '),
        ('datamodel="ecmascript"', 'datamodel="ecmascript" binding="soon"'),
        ("<data ", '<data value="1" '),
    ],
)
def test_the_schema_refuses_what_is_not_scxml(cut: str, by: str) -> None:
    text = to_scxml(load_chart(SUITE / "charts" / "order_probe.yaml"))
    assert cut in text
    try:
        foreign = _read_by_schema(text.replace(cut, by, 1))
    except (ParserError, ConverterWarning):
        return
    assert foreign
