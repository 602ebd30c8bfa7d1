"""One aircraft's fit: a chart, the chosen options, the limits, each with its provenance.

Installation file -> Installation. Options and limits that the file leaves out take the chart's
default and count as placeholders.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Literal

from trainer.charts.loader import load_chart
from trainer.charts.spec import ChartSpec, LimitSpec, OptionSpec
from trainer.charts.specialise import specialise
from trainer.document import Mapping, near, read_document

FORMAT = "installation/1"
ProvenanceState = Literal["placeholder", "entered", "verified"]
DAY_FORM = "year-month-day, as 2026-11-28"
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_ZONES = timedelta(days=1)
"""Somewhere it is tomorrow already: a date from there is no mistake."""
STATES: tuple[ProvenanceState, ...] = ("placeholder", "entered", "verified")


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a value comes from and how far it can be trusted."""

    state: ProvenanceState = "placeholder"
    source: str = ""
    """For instance: flight manual supplement, section, revision."""
    entered_by: str = ""
    date: str = ""
    verified_by: str = ""
    is_unknown: bool = False
    """True: nobody knows yet; it belongs on the sheet of questions."""


@dataclass(frozen=True, slots=True)
class OptionValue:
    """The choice made for an option."""

    id: str
    choice: str
    provenance: Provenance = Provenance()


@dataclass(frozen=True, slots=True)
class LimitValue:
    """The value set for a limit, in the limit's own unit."""

    id: str
    value: float
    unit: str
    label: str
    provenance: Provenance = Provenance()


@dataclass(frozen=True, slots=True)
class Installation:
    """One aircraft's fit, ready to be run. `chart` is specialised to the chosen options.

    Example:
        >>> from trainer.resources import resource_folder
        >>> charts = resource_folder("statecharts")
        >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
        >>> amber.option("capture_law"), amber.has_placeholders
        ('ten_percent', True)
    """

    id: str
    title: str
    path: str
    aircraft: str
    chart: ChartSpec
    generic: ChartSpec
    options: dict[str, OptionValue]
    limits: dict[str, LimitValue]
    note: str = ""

    def option(self, name: str) -> str:
        """Return the choice made for an option of the chart."""
        return self.options[name].choice

    def limit(self, name: str) -> LimitValue:
        """Return a limit of the chart."""
        return self.limits[name]

    @property
    def placeholders(self) -> tuple[str, ...]:
        """Ids of the options and limits that nobody has entered yet."""
        values: list[OptionValue | LimitValue] = [*self.limits.values(), *self.options.values()]
        return tuple(v.id for v in values if v.provenance.state == "placeholder")

    @property
    def has_placeholders(self) -> bool:
        """True if any limit in use is still a placeholder."""
        return any(v.provenance.state == "placeholder" for v in self.limits.values())

    @property
    def fitted_events(self) -> tuple[str, ...]:
        """Ids of the events that exist in this aircraft."""
        return tuple(self.chart.events)


def day_fault(text: str, today: date | None = None) -> tuple[str, str]:
    """Return what is wrong with a date and what is accepted; two empty texts if nothing is.

    Args:
        text: The date as it stands; empty is no fault here.
        today: No later day is accepted, but for the next one; None: any day is.

    Example:
        >>> day_fault("28.11.2026")
        ("'28.11.2026' isn't a day", 'year-month-day, as 2026-11-28')
        >>> day_fault("2026-11-30", date(2026, 11, 28))
        ("'2026-11-30' is still to come", 'a day up to today, 2026-11-28')
        >>> day_fault("2026-11-29", date(2026, 11, 28)), day_fault("2026-11-30")
        (('', ''), ('', ''))
    """
    text = text.strip()
    if not text:
        return "", ""
    try:
        day = date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        day = None  # a day that no calendar has
    if day is None:
        return f"'{text}' isn't a day", DAY_FORM
    # By difference: the last day of the calendar has no next one.
    if today is not None and day - today > _ZONES:
        return f"'{text}' is still to come", f"a day up to today, {today.isoformat()}"
    return "", ""


def load_installation(path: Path, charts: Path) -> Installation:
    """Return the installation of a file.

    Args:
        path: The installation file.
        charts: Folder with the chart files.

    Raises:
        FileError: Something in the file or its chart isn't accepted.
        MissingFileError: A file can't be read.

    Example:
        >>> from trainer.resources import resource_folder
        >>> charts = resource_folder("statecharts")
        >>> amber = load_installation(charts / "installations" / "ship_amber.yaml", charts)
        >>> amber.limit("minimum_engagement_height_ft").value
        800.0
    """
    return read_installation(read_document(path), charts)


def check_installation(path: Path, charts: Path, today: date | None = None) -> Installation:
    """Return the installation of a file whose id must be the file's name.

    Args:
        path: The installation file.
        charts: Folder with the chart files.
        today: Later dates are refused; None: they are not looked at, as for flying, since a
            computer whose clock is wrong must not take the aircraft away.

    Raises:
        FileError: Something in the file or its chart isn't accepted.
        MissingFileError: A file can't be read.

    Example:
        >>> from trainer.resources import resource_folder
        >>> charts = resource_folder("statecharts")
        >>> path = charts / "installations" / "ship_amber.yaml"
        >>> check_installation(path, charts, date(2026, 11, 28)).id
        'ship_amber'
    """
    top = read_document(path)
    found = top.text("id", "")
    if found and found != path.stem:
        top.problem(f"id '{found}' in a file named '{path.name}'", f"id: {path.stem}", key="id")
    return read_installation(top, charts, today)


def read_installation(top: Mapping, charts: Path, today: date | None = None) -> Installation:
    """Return the installation of an open document; errors as `load_installation`.

    Args:
        top: The document's top mapping.
        charts: Folder with the chart files.
        today: Later dates are refused; None: they are not looked at.

    Example:
        >>> from trainer.document import parse_document
        >>> from trainer.resources import resource_folder
        >>> text = "{format: installation/1, id: a, title: A, chart: generic,"
        >>> text += "aircraft: light_single, options: {}, limits: {bank_limit_deg: 25}}"
        >>> fit = read_installation(parse_document(text), resource_folder("statecharts"))
        >>> fit.limit("bank_limit_deg").value, fit.option("back_course")
        (25.0, 'not_fitted')
    """
    top.text("format", choices=[FORMAT])
    known = sorted(
        path.stem for path in charts.glob("*.yaml") if "format: chart/" in path.read_text("utf-8")
    )
    chart_id = top.text("chart", choices=known)
    top.document.raise_if_problems()
    generic = load_chart(charts / f"{chart_id}.yaml")
    aircraft_ids = sorted(p.stem for p in (charts / "aircraft").glob("*.yaml"))
    install_id, title = top.text("id"), top.text("title")
    aircraft = top.text("aircraft", choices=aircraft_ids or None)
    options = _options(top, generic.options, today)
    limits = _limits(top, generic.limits, today)
    note = top.text("note", "")
    top.finish()
    _check_limits(top, limits)
    top.document.raise_if_problems()
    chart = specialise(generic, {value.id: value.choice for value in options.values()})
    return Installation(
        install_id, title, top.document.path, aircraft, chart, generic, options, limits, note
    )


def _provenance(entry: Mapping, today: date | None) -> Provenance:
    state: Any = entry.text("state", "placeholder", choices=STATES)
    provenance = Provenance(
        state, entry.text("source", ""), entry.text("entered_by", ""), entry.text("date", ""),
        entry.text("verified_by", ""), entry.boolean("unknown", False),
    )  # fmt: skip
    if state != "placeholder":
        for key in ("source", "entered_by", "date"):
            if not getattr(provenance, key):
                entry.problem(f"state {state} without '{key}'", f"a line '{key}: ...'")
    found, accepted = day_fault(provenance.date, today)
    if found:
        entry.problem(f"{found} for 'date'", accepted, key="date")
    if state == "verified" and not provenance.verified_by:
        entry.problem("state verified without 'verified_by'", "who checked it: 'verified_by: ...'")
    if provenance.is_unknown and state != "placeholder":
        entry.problem(f"unknown, yet {state}", "state: placeholder while it is unknown")
    return provenance


def _entry(section: Mapping, name: str) -> Mapping | None:
    is_mapping = any(k.value == name and v.id == "mapping" for k, v in section.node.value)
    return section.mapping(name) if is_mapping else None


def _options(
    top: Mapping, specs: dict[str, OptionSpec], today: date | None
) -> dict[str, OptionValue]:
    values = {spec.id: OptionValue(spec.id, spec.default) for spec in specs.values()}
    section = top.mapping("options", None)
    for name in section.keys() if section else ():
        assert section is not None
        if name not in specs:
            section.scalar(name) if _entry(section, name) is None else None
            section.problem(f"'{name}' is no option", near(name, specs), key=name)
            continue
        entry = _entry(section, name)
        if entry is None:
            values[name] = OptionValue(name, section.text(name, choices=specs[name].choices))
            continue
        choice = entry.text("choice", choices=specs[name].choices)
        values[name] = OptionValue(name, choice, _provenance(entry, today))
        entry.finish()
    return values


def _limits(top: Mapping, specs: dict[str, LimitSpec], today: date | None) -> dict[str, LimitValue]:
    values = {
        spec.id: LimitValue(spec.id, spec.default, spec.unit, spec.label) for spec in specs.values()
    }
    section = top.mapping("limits", None)
    for name in section.keys() if section else ():
        assert section is not None
        spec = specs.get(name)
        if spec is None:
            section.problem(f"'{name}' is no limit", near(name, specs), key=name)
            continue
        entry = _entry(section, name)
        if entry is None:
            value = section.number(name, low=spec.low, high=spec.high)
            values[name] = LimitValue(name, value, spec.unit, spec.label)
            continue
        value = entry.number("value", low=spec.low, high=spec.high)
        where = _provenance(entry, today)
        values[name] = LimitValue(name, value, spec.unit, spec.label, where)
        entry.finish()
    return values


def _check_limits(top: Mapping, limits: dict[str, LimitValue]) -> None:
    """Limits that contradict each other would leave a signal without meaning."""
    for low, high in (
        ("minimum_engagement_airspeed_kt", "maximum_engagement_airspeed_kt"),
        ("underspeed_kt", "overspeed_kt"),
        ("engagement_bank_deg", "disconnect_bank_deg"),
        ("bank_limit_deg", "disconnect_bank_deg"),
    ):
        if low in limits and high in limits and limits[low].value >= limits[high].value:
            top.problem(
                f"{low} {limits[low].value:g} is not below {high} {limits[high].value:g}",
                f"{low} below {high}",
                key="limits",
            )
