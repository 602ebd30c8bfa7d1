"""What is shown at an instant: the one value that the strip paints and a prediction fills in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

CELLS = (
    "engagement",
    "lateral_active",
    "lateral_armed",
    "vertical_active",
    "vertical_armed",
    "alert",
    "protection",
)
"""The cells of an annunciation, in reading order: what is compared one by one."""


@dataclass(frozen=True, slots=True)
class AxisAnnunciation:
    """Active and armed modes of one axis."""

    active: str = "none"
    armed: tuple[str, ...] = ()
    """Armed modes in alphabetical order."""


@dataclass(frozen=True, slots=True)
class Annunciation:
    """Engagement, the modes of both axes, alert and speed protection.

    Example:
        >>> Annunciation().cell("engagement")
        'no_guidance'
    """

    engagement: str = "no_guidance"
    """no_guidance, director, director_hidden (autopilot flies, cue not shown) or autopilot."""
    lateral: AxisAnnunciation = AxisAnnunciation()
    vertical: AxisAnnunciation = AxisAnnunciation()
    alert: str = "quiet"
    protection: str = "none"

    def cell(self, name: str) -> str | tuple[str, ...]:
        """Return the content of one cell: a mode name, or a tuple of armed modes."""
        match name:
            case "engagement" | "alert" | "protection":
                return str(getattr(self, name))
            case "lateral_active":
                return self.lateral.active
            case "lateral_armed":
                return self.lateral.armed
            case "vertical_active":
                return self.vertical.active
            case "vertical_armed":
                return self.vertical.armed
        raise KeyError(name)

    def with_cell(self, name: str, content: str | tuple[str, ...]) -> Annunciation:
        """Return a copy with one cell's content replaced; armed modes are sorted."""
        if name.endswith("_armed"):
            armed = tuple(sorted(content)) if not isinstance(content, str) else (content,)
            axis = name.removesuffix("_armed")
            if axis == "lateral":
                return replace(self, lateral=replace(self.lateral, armed=armed))
            return replace(self, vertical=replace(self.vertical, armed=armed))
        text = str(content)
        if name == "lateral_active":
            return replace(self, lateral=replace(self.lateral, active=text))
        if name == "vertical_active":
            return replace(self, vertical=replace(self.vertical, active=text))
        if name == "engagement":
            return replace(self, engagement=text)
        if name == "alert":
            return replace(self, alert=text)
        if name == "protection":
            return replace(self, protection=text)
        raise KeyError(name)

    def to_json(self) -> dict[str, Any]:
        """Return the published JSON form (see the guide, command line)."""
        return {
            "engagement": self.engagement,
            "lateral": {"active": self.lateral.active, "armed": list(self.lateral.armed)},
            "vertical": {"active": self.vertical.active, "armed": list(self.vertical.armed)},
            "alert": self.alert,
            "protection": self.protection,
        }

    @staticmethod
    def from_json(data: dict[str, Any]) -> Annunciation:
        """Return the annunciation of `to_json`'s form."""
        return Annunciation(
            engagement=data["engagement"],
            lateral=AxisAnnunciation(
                data["lateral"]["active"], tuple(sorted(data["lateral"]["armed"]))
            ),
            vertical=AxisAnnunciation(
                data["vertical"]["active"], tuple(sorted(data["vertical"]["armed"]))
            ),
            alert=data["alert"],
            protection=data.get("protection", "none"),
        )


def changed_cells(before: Annunciation, after: Annunciation) -> tuple[str, ...]:
    """Return the names of the cells that differ, in reading order.

    Example:
        >>> before = Annunciation("autopilot")
        >>> changed_cells(before, before.with_cell("lateral_active", "heading_select"))
        ('lateral_active',)
    """
    return tuple(name for name in CELLS if before.cell(name) != after.cell(name))
