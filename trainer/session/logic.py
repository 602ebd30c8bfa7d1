"""Everything of an installation that sessions share: machine, signals, limits, annunciator.

Built once; forks and restarts use the same one.
"""

from __future__ import annotations

from typing import Any

from trainer.charts.guard import Configuration
from trainer.charts.installation import Installation
from trainer.charts.kernel import Kernel
from trainer.charts.machine import ModeMachine
from trainer.charts.spec import ChartSpec
from trainer.flight import GuidanceLimits
from trainer.session.annunciation import Annunciation, AxisAnnunciation
from trainer.session.signals import SignalSet

# Limits of an installation and the guidance limit that each sets.
_GUIDANCE_LIMITS = {
    "bank_limit_deg": "bank_limit_deg",
    "roll_rate_limit_dps": "roll_rate_limit_dps",
    "pitch_up_limit_deg": "pitch_up_limit_deg",
    "pitch_down_limit_deg": "pitch_down_limit_deg",
    "pitch_rate_limit_dps": "pitch_rate_limit_dps",
    "capture_acceleration_g": "capture_acceleration_g",
    "vertical_speed_limit_fpm": "vertical_speed_limit_fpm",
    "go_around_pitch_deg": "go_around_pitch_deg",
    "underspeed_kt": "minimum_airspeed_kt",
    "overspeed_kt": "maximum_airspeed_kt",
}


class Logic:
    """The executable mode logic of one installation.

    Args:
        installation: The installation.
        believed: What decides in place of its own chart; see `ModeMachine`.
    """

    def __init__(self, installation: Installation, believed: Kernel | None = None) -> None:
        self.installation = installation
        self.machine = ModeMachine(installation.chart, believed)
        self.signals = SignalSet(installation, self.machine.signal_bit)
        self.mark_s = installation.limit("uncommanded_mark_s").value
        self._annunciations: dict[Configuration, Annunciation] = {}

    def annunciation(self, configuration: Configuration) -> Annunciation:
        """Return what a settled configuration shows."""
        known = self._annunciations.get(configuration)
        if known is None:
            known = annunciate(self.machine.chart, configuration)
            self._annunciations[configuration] = known
        return known

    def guidance_limits(self) -> GuidanceLimits:
        """Return the guidance limits that the installation sets."""
        values: dict[str, Any] = {
            target: self.installation.limit(name).value for name, target in _GUIDANCE_LIMITS.items()
        }
        if "capture_law" in self.installation.options:
            values["capture_law"] = self.installation.option("capture_law")
        return GuidanceLimits(**values)


def annunciate(chart: ChartSpec, configuration: Configuration) -> Annunciation:
    """Return the annunciation of a configuration, read from the kinds of the chart's regions."""
    engagement, alert, protection, shown_as = "no_guidance", "quiet", "none", ""
    active = {"lateral": "none", "vertical": "none"}
    armed: dict[str, list[str]] = {"lateral": [], "vertical": []}
    for region, state in zip(chart.regions.values(), configuration, strict=True):
        if region.kind == "active":
            active[region.axis] = state
        elif region.kind == "armed":
            if state != region.initial:
                armed[region.axis].append(region.arms)
        elif region.kind == "engagement":
            engagement = state
        elif region.kind == "alert":
            alert = state
        elif region.kind == "protection":
            protection = state
        shown_as = region.states[state].shown_as or shown_as
    return Annunciation(
        engagement=shown_as or engagement,
        lateral=AxisAnnunciation(active["lateral"], tuple(sorted(armed["lateral"]))),
        vertical=AxisAnnunciation(active["vertical"], tuple(sorted(armed["vertical"]))),
        alert=alert,
        protection=protection,
    )
