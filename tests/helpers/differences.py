"""Two ships with planted differences over a chart kept small, compared and flown once.

Without approaches, courses and faults the product is walked in a second; what is left of the
logic is the shipped chart's, rule by rule.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from tests.helpers.kept_bank import program_key
from tests.helpers.run_folder import kept_in_run
from tests.helpers.situations import workspace
from trainer.assessment.differences.differences import FlownDifference, Group, group_by_cause
from trainer.assessment.differences.differences_flight import fly_differences
from trainer.assessment.differences.differences_play import Ship
from trainer.assessment.items.normal_flight import with_constants
from trainer.charts.compare import Comparison, compare
from trainer.charts.flight_profile import FILE_NAME, FlightProfile, load_profile
from trainer.charts.installation import Installation, OptionValue
from trainer.charts.specialise import specialise
from trainer.session.logic import Logic
from trainer.session.start import begin

QUIET = {
    "attitude_valid": True, "servo_ok": True, "electrical_ok": True, "self_test_passed": True,
    "course_signal_valid": False, "glidepath_signal_valid": False, "source_is_approach": False,
    "source_has_glidepath": False, "course_capture_reached": False, "glidepath_reached": False,
    "below_glidepath": False, "bank_beyond_disconnect": False,
}  # fmt: skip
FITTED = {
    "level_recovery": "not_fitted", "underspeed_protection": "not_fitted",
    "overspeed_protection": "not_fitted", "hand_steering": "not_fitted",
    "back_course": "not_fitted",
}  # fmt: skip
PLANTED = {
    "go_around_autopilot": "disconnects", "selected_altitude_in_capture": "keeps_first_altitude",
    "active_key_again": "ignored", "director_key_with_autopilot": "hides_cue",
}  # fmt: skip


def quiet_ship(name: str = "ship_known", **choices: str) -> Installation:
    """Return an installation over the small chart, with some options chosen otherwise."""
    base = workspace().installation("ship_amber")
    generic = base.generic
    rules = {r.id: replace(r, guard=with_constants(r.guard, QUIET)) for r in generic.rules.values()}
    refusals = {
        r.id: replace(r, guard=with_constants(r.guard, QUIET)) for r in generic.refusals.values()
    }
    small = replace(generic, rules=rules, refusals=refusals, invariants={})
    options = dict(base.options)
    for option, choice in (FITTED | choices).items():
        options[option] = OptionValue(option, choice)
    chart = specialise(small, {one.id: one.choice for one in options.values()})
    return replace(base, id=name, title=name.replace("_", " ").title(), generic=small,
                   chart=chart, options=options)  # fmt: skip


def with_limit(base: Installation, name: str, value: float) -> Installation:
    """Return the installation with another limit."""
    return replace(base, limits={**base.limits, name: replace(base.limits[name], value=value)})


def ship_of(installation: Installation) -> Ship:
    """Return a ship that flies an installation."""
    logic = Logic(installation)
    aircraft = workspace().aircraft(installation.aircraft)
    return Ship(logic, lambda start: begin(logic, aircraft, start))


def profile() -> FlightProfile:
    """Return the shipped flight profile."""
    generic = workspace().installation("ship_amber").generic
    return load_profile(workspace().charts_folder / FILE_NAME, generic)


@dataclass(frozen=True, slots=True)
class Studied:
    """Two ships with everything found about them."""

    first: Ship
    second: Ship
    found: Comparison
    flown: tuple[FlownDifference, ...]
    groups: tuple[Group, ...]


def study(name: str, first: Installation, second: Installation) -> Studied:
    """Return two installations compared, flown and grouped, if need be by another process."""
    ships = ship_of(first), ship_of(second)

    def work() -> tuple[Comparison, tuple[FlownDifference, ...], tuple[Group, ...]]:
        found = compare(first, second)
        weights = profile()
        flown = fly_differences(found, *ships, weights.likeliness)
        groups = group_by_cause(
            found, flown, lambda one: weights.per_hundred_flights(one, first, second)
        )
        return found, flown, groups

    return Studied(*ships, *kept_in_run(f"{name}-{program_key()}", work))


@cache
def planted() -> Studied:
    """Return two ships that differ in four options and a limit."""
    other = with_limit(quiet_ship("ship_other", **PLANTED), "minimum_engagement_height_ft", 1000)
    return study("planted", quiet_ship(), other)


@cache
def alike() -> Studied:
    """Return two ships that don't differ."""
    return study("alike", quiet_ship(), quiet_ship("ship_other"))


@cache
def shipped() -> Studied:
    """Return the two shipped ships, whole: this takes a while."""
    return study(
        "shipped", *(workspace().installation(name) for name in ("ship_amber", "ship_slate"))
    )
