"""What the strip shows of a configuration, as a plain value that two installations can share."""

from __future__ import annotations

from trainer.charts.guard import Configuration
from trainer.charts.spec import ChartSpec, RegionSpec

Shown = tuple[tuple[str, str], ...]
"""(region, state) of everything that the strip shows, in region order."""


def is_shown(region: RegionSpec) -> bool:
    """True if the strip shows this region, or one of its states in place of the engagement."""
    return region.kind != "internal" or any(state.shown_as for state in region.states.values())


def shown(chart: ChartSpec, generic: ChartSpec, configuration: Configuration) -> Shown:
    """Return what the strip shows of a configuration; regions not fitted show their beginning.

    Args:
        chart: The installation's specialised chart, whose configuration it is.
        generic: The chart before specialisation, which names the regions.
        configuration: A settled configuration.
    """
    states = dict(zip(chart.regions, configuration, strict=True))
    return tuple(
        (region.id, states.get(region.id, region.initial))
        for region in generic.regions.values()
        if is_shown(region)
    )
