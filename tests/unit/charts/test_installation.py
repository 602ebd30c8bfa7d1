"""Installation files: options and limits with where they come from, and what is refused."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.helpers.charts import STATECHARTS, default_options, generic_chart
from trainer.charts.installation import (
    Installation,
    check_installation,
    load_installation,
    read_installation,
)
from trainer.document import parse_document
from trainer.errors import FileError, MissingFileError


@pytest.fixture(autouse=True)
def read_the_generic_chart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading it takes most of a second; no test here is about that."""
    chart = generic_chart()
    monkeypatch.setattr("trainer.charts.installation.load_chart", lambda _path: chart)


HEAD = """\
format: installation/1
id: ship_test
title: Test ship
chart: generic
aircraft: light_single
"""
ENTERED = "source: supplement 4 rev 2, entered_by: a member, date: 2031-02-03"


def _read(body: str) -> Installation:
    return read_installation(parse_document(HEAD + body, "ship.yaml"), STATECHARTS)


def _refused(body: str, head: str = HEAD) -> list[str]:
    with pytest.raises(FileError) as caught:
        read_installation(parse_document(head + body, "ship.yaml"), STATECHARTS)
    assert all(problem.path == "ship.yaml" for problem in caught.value.problems)
    return [str(problem) for problem in caught.value.problems]


def test_what_is_left_out_takes_the_charts_default_as_a_placeholder() -> None:
    ship = _read("")
    chart = generic_chart()
    assert {o.id: o.choice for o in ship.options.values()} == default_options(chart)
    assert {v.id: v.value for v in ship.limits.values()} == {
        v.id: v.default for v in chart.limits.values()
    }
    assert set(ship.placeholders) == set(chart.options) | set(chart.limits)
    assert ship.has_placeholders


def test_a_bare_value_is_a_placeholder() -> None:
    ship = _read("options: {back_course: fitted}\nlimits: {bank_limit_deg: 25}\n")
    assert ship.option("back_course") == "fitted"
    assert ship.limit("bank_limit_deg").value == 25.0
    assert {"back_course", "bank_limit_deg"} <= set(ship.placeholders)


def test_an_entered_value_keeps_where_it_comes_from() -> None:
    ship = _read(f"limits:\n  bank_limit_deg: {{value: 25, state: entered, {ENTERED}}}\n")
    provenance = ship.limit("bank_limit_deg").provenance
    assert (provenance.state, provenance.source) == ("entered", "supplement 4 rev 2")
    assert (provenance.entered_by, provenance.date) == ("a member", "2031-02-03")
    assert "bank_limit_deg" not in ship.placeholders
    assert ship.has_placeholders


def test_a_verified_option_names_who_verified_it() -> None:
    ship = _read(
        "options:\n  airspeed_hold: {choice: not_fitted, state: verified, "
        f"{ENTERED}, verified_by: an instructor}}\n"
    )
    assert ship.options["airspeed_hold"].provenance.verified_by == "an instructor"
    assert "airspeed_hold" not in ship.fitted_events
    assert "airspeed_hold" not in ship.placeholders


def test_placeholders_are_gone_when_every_limit_is_entered() -> None:
    lines = "".join(
        f"  {v.id}: {{value: {v.default}, state: entered, {ENTERED}}}\n"
        for v in generic_chart().limits.values()
    )
    ship = _read("limits:\n" + lines)
    assert not ship.has_placeholders
    assert set(ship.placeholders) == set(generic_chart().options)


def test_an_unknown_answer_stays_a_placeholder() -> None:
    ship = _read("options:\n  airspeed_hold: {choice: fitted, unknown: true}\n")
    assert ship.options["airspeed_hold"].provenance.is_unknown
    assert "airspeed_hold" in ship.placeholders


@pytest.mark.parametrize("missing", ["source", "entered_by", "date"])
@pytest.mark.parametrize("state", ["entered", "verified"])
@pytest.mark.parametrize(
    "place",
    ["limits:\n  bank_limit_deg: {value: 25,", "options:\n  airspeed_hold: {choice: fitted,"],
)
def test_a_value_without_its_provenance_is_refused(missing: str, state: str, place: str) -> None:
    parts = [part for part in ENTERED.split(", ") if not part.startswith(missing)]
    told = _refused(f"{place} state: {state}, {', '.join(parts)}, verified_by: x}}\n")
    assert told == [f"ship.yaml:7:{_column(place)}: state {state} without '{missing}'; "
                    f"accepted: a line '{missing}: ...'"]  # fmt: skip


def _column(place: str) -> int:
    return place.split("\n")[1].index("{") + 1


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (f"options:\n  airspeed_hold: {{choice: fitted, state: verified, {ENTERED}}}\n",
         "ship.yaml:7:18: state verified without 'verified_by'"),
        (f"options:\n  airspeed_hold: {{choice: fitted, state: entered, unknown: true, {ENTERED}}}",
         "ship.yaml:7:18: unknown, yet entered; accepted: state: placeholder"),
        ("limits:\n  bank_limit_deg: {value: 25, state: entered, source: x, entered_by: y,\n"
         "    date: yesterday}\n",
         "ship.yaml:8:11: 'yesterday' isn't a day for 'date'; accepted: year-month-day, as 2026"),
        ("options:\n  airspeed_hold: {choice: fitted, date: 2026-02-30}\n",
         "'2026-02-30' isn't a day for 'date'"),
        ("options:\n  airspeed_hold: {choice: fitted, date: 20261128}\n",
         "'20261128' isn't a day for 'date'"),
        ("options:\n  airspeed_hold: {choice: fitted, state: sure}\n", "'sure'; accepted: placeh"),
        ("options:\n  airspeed_hold: fited\n", "ship.yaml:7:18: 'fited'; accepted: fitted?"),
        ("options:\n  airspeed_hold: {choice: fited}\n", "'fited'; accepted: fitted?"),
        ("options:\n  airspeed_hold: {state: placeholder}\n", "'choice' is missing"),
        ("options:\n  airspeed_hold: {choice: fitted, by: x}\n", "unknown key 'by'"),
        ("options:\n  airspeed_hold: {choice: fitted, unknown: maybe}\n", "'maybe' for 'unknown'"),
        ("options:\n  airspeedhold: fitted\n", "ship.yaml:7:17: 'airspeedhold' is no option; "
                                              "accepted: airspeed_hold?"),
        ("options:\n  airspeedhold: {choice: fitted}\n", "'airspeedhold' is no option"),
        ("limits:\n  bank_limit: 25\n", "ship.yaml:7:15: 'bank_limit' is no limit; accepted: bank"),
        ("limits:\n  bank_limit_deg: 40\n", "40 for 'bank_limit_deg'; accepted: a number from 10 "),
        ("limits:\n  bank_limit_deg: steep\n", "'steep' for 'bank_limit_deg'"),
        ("limits:\n  bank_limit_deg: .nan\n", "nan for 'bank_limit_deg'"),
        ("limits:\n  bank_limit_deg: {value: -.inf}\n", "-inf for 'value'"),
        ("limits:\n  bank_limit_deg: {amount: 20}\n", "unknown key 'amount'"),
        ("options: fitted\n", "'options' is a scalar; accepted: a mapping"),
        ("limits: [1]\n", "'limits' is a sequence; accepted: a mapping"),
        ("note: {}\n", "'note' is a mapping"),
        ("remark: x\n", "ship.yaml:6:1: unknown key 'remark'"),
        ("limits: {minimum_engagement_airspeed_kt: 120, maximum_engagement_airspeed_kt: 120}\n",
         "minimum_engagement_airspeed_kt 120 is not below maximum_engagement_airspeed_kt 120"),
        ("limits: {underspeed_kt: 160}\n", "underspeed_kt 160 is not below overspeed_kt 150"),
        ("limits: {engagement_bank_deg: 50}\n", "engagement_bank_deg 50 is not below disconnect"),
        ("limits: {disconnect_bank_deg: 22, engagement_bank_deg: 20}\n",
         "bank_limit_deg 22 is not below disconnect_bank_deg 22"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_place(body: str, told: str) -> None:
    problems = _refused(body)
    assert any(told in problem for problem in problems), problems


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("installation/1", "installation/9", "'installation/9'; accepted: installation/1"),
        ("chart: generic", "chart: general", "ship.yaml:4:8: 'general'; accepted: generic?"),
        ("aircraft: light_single", "aircraft: light", "'light'; accepted: light_single, "),
        ("id: ship_test", "ident: x", "'id' is missing"),
        ("title: Test ship", "title: ''", "'title' is empty"),
        ("chart: generic", "", "'chart' is missing"),
    ],
)
def test_a_mistake_in_the_head_is_told(before: str, after: str, told: str) -> None:
    problems = _refused("", HEAD.replace(before, after))
    assert any(told in problem for problem in problems), problems


def test_several_mistakes_are_told_together() -> None:
    problems = _refused("options: {back_course: maybe}\nlimits: {bank_limit_deg: 99}\nwhy: x\n")
    assert len(problems) == 3


def test_a_missing_installation_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(MissingFileError):
        load_installation(tmp_path / "none.yaml", STATECHARTS)


def test_a_folder_without_charts_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="'generic'"):
        read_installation(parse_document(HEAD, "ship.yaml"), tmp_path)


@pytest.mark.parametrize("path", sorted((STATECHARTS / "installations").glob("*.yaml")))
def test_every_shipped_installation_says_that_its_limits_are_placeholders(path: Path) -> None:
    ship = load_installation(path, STATECHARTS)
    assert ship.id == path.stem
    assert ship.has_placeholders
    assert set(ship.placeholders) == set(ship.options) | set(ship.limits)
    assert set(ship.fitted_events) == set(ship.chart.events)


def _written(folder: Path, day: str, install_id: str = "ship_test") -> Path:
    path = folder / "ship_test.yaml"
    head = HEAD.replace("id: ship_test", f"id: {install_id}")
    entry = f"{{value: 25, state: entered, source: x, entered_by: y, date: {day}}}"
    path.write_text(f"{head}limits:\n  bank_limit_deg: {entry}\n", "utf-8")
    return path


# A zone in the far east is up to 14 hours ahead of universal time: at most the next day.
@pytest.mark.parametrize(
    ("day", "is_accepted"),
    [("2026-11-30", True), ("2026-12-01", True), ("2026-12-02", False), ("9999-12-31", False)],
)
def test_a_check_refuses_a_date_that_is_still_to_come(
    tmp_path: Path, day: str, is_accepted: bool
) -> None:
    path, today = _written(tmp_path, day), date(2026, 11, 30)
    if is_accepted:
        assert check_installation(path, STATECHARTS, today).id == "ship_test"
        return
    with pytest.raises(FileError) as caught:
        check_installation(path, STATECHARTS, today)
    told = f"'{day}' is still to come for 'date'; accepted: a day up to today, 2026-11-30"
    assert told in str(caught.value)
    assert caught.value.problems[0].line == 7
    # A wrong clock must not take an aircraft away.
    assert load_installation(path, STATECHARTS).limit("bank_limit_deg").provenance.date == day


def test_a_check_refuses_an_id_that_is_not_the_files_name(tmp_path: Path) -> None:
    path = _written(tmp_path, "2026-11-30", "ship_plover")
    with pytest.raises(FileError) as caught:
        check_installation(path, STATECHARTS, date(2026, 11, 30))
    told = f"{path}:2:5: id 'ship_plover' in a file named 'ship_test.yaml'; accepted: id: ship_test"
    assert str(caught.value) == told
