"""Which cells of a change the pilot commanded; the rest is marked on the strip for a time.

What comes without a key is marked as changed by itself. What comes in the moment of a key that
didn't ask for it, such as the default modes with the director, is marked as come with the key:
nobody should take it for a change that the aircraft made alone.
"""

from __future__ import annotations

from trainer.charts.spec import ChartSpec
from trainer.session.annunciation import CELLS
from trainer.session.record import StepRecord

_GROUP_CELLS = {
    "engagement": ("engagement", "alert"),
    "lateral": ("lateral_active", "lateral_armed"),
    "vertical": ("vertical_active", "vertical_armed"),
    "reference": ("vertical_active", "vertical_armed"),
    "both": CELLS,
}


def region_cell(chart: ChartSpec, region_id: str) -> str:
    """Return the cell that shows a region, or an empty text if none does."""
    region = chart.regions[region_id]
    if region.kind in ("engagement", "alert", "protection"):
        return region.kind
    if region.kind in ("active", "armed"):
        return f"{region.axis}_{region.kind}"
    return "engagement" if any(s.shown_as for s in region.states.values()) else ""


def commanded_cells(record: StepRecord, chart: ChartSpec) -> frozenset[str]:
    """Return the cells whose change the pilot commanded with the event of this step.

    Those are the cells of the event's own axis, and cells of a region that a rule of that very
    event moved. What follows from it, on the other axis too, is not commanded.
    """
    event = chart.events.get(record.event)
    if record.by != "pilot" or event is None:
        return frozenset()
    cells = set(_GROUP_CELLS[event.group])
    for fired in record.rules:
        rule = chart.rules.get(fired.id)
        if rule is not None and record.event in rule.events:
            cells.add(region_cell(chart, fired.region))
    return frozenset(cells)
