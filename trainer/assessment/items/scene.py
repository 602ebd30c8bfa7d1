"""Flights in which questions are set: where the aircraft is, what is tuned and selected.

A scene is a flight without modes. It belongs to no chart; only limits of the installation move
its heights and speeds, so that it lies on the side of a limit that it is about. All places are
invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from trainer.charts.installation import Installation
from trainer.flight.types import Environment, InitialCondition, NavigationSource
from trainer.session.situation import Selected, Start, StartModes

GROUND_FT = 500.0
_PATH_FT_PER_NM = 318.4
"""Three degrees."""
_OVER_THRESHOLD_FT = 52.0
"""Height of the path above the threshold: its antenna stands 1,000 ft beyond."""
_FINAL = {"east_nm": 0.0, "heading_deg": 360.0, "airspeed_kt": 95.0}
BEACON = NavigationSource("harrow_beacon", "beacon", "Beacon Harrowmere", 360.0, north_nm=14.0)
NEAR_EDGE = replace(
    BEACON, id="fading_beacon", label="Beacon Ottersley", north_nm=-19.8, range_nm=20.0
)
APPROACH = NavigationSource(
    "linnet_approach", "approach", "Approach Linnetfield", 360.0, north_nm=14.0,
    elevation_ft=GROUND_FT, glidepath_deg=3.0,
)  # fmt: skip
NO_PATH = replace(APPROACH, id="linnet_course", label="Course Linnetfield", glidepath_deg=None)
SOURCES = (BEACON, NEAR_EDGE, APPROACH, NO_PATH)


@dataclass(frozen=True, slots=True)
class Scene:
    """A flight without modes.

    Attributes:
        id: Short name, part of an item's id.
        words: What a member is told, in one or two sentences.
        start: The flight; its modes are put in place by an item.
        wait_s: If above 0: something comes by itself within this time [s], so it can be asked for.
        is_calm: False where a limit is passed or a signal is about to fail.
        is_first_climb: True shortly after take-off: it was never higher before.
    """

    id: str
    words: str
    start: Start
    wait_s: float = 0.0
    is_calm: bool = True
    is_first_climb: bool = False

    def with_modes(self, modes: StartModes) -> Start:
        """Return the start with modes in place."""
        return replace(self.start, modes=modes)


def _start(
    initial: InitialCondition,
    source: NavigationSource | None,
    altitude_ft: float,
    heading_deg: float | None = None,
) -> Start:
    return Start(
        initial,
        Environment(ground_elevation_ft=GROUND_FT),
        selected=Selected(
            altitude_ft=altitude_ft,
            heading_deg=initial.heading_deg if heading_deg is None else heading_deg,
            source=source.id if source is not None else "",
            vertical_speed_fpm=initial.vertical_speed_fpm,
        ),
        sources=SOURCES,
    )


def _at(
    altitude_ft: float,
    north_nm: float = -6.0,
    east_nm: float = 3.0,
    *,
    heading_deg: float = 350.0,
    airspeed_kt: float = 100.0,
    vertical_speed_fpm: float = 0.0,
    bank_deg: float = 0.0,
    pitch_deg: float | None = None,
) -> InitialCondition:
    return InitialCondition(
        altitude_ft, heading_deg, airspeed_kt, vertical_speed_fpm, bank_deg, pitch_deg,
        north_nm, east_nm,
    )  # fmt: skip


def scenes(installation: Installation) -> tuple[Scene, ...]:
    """Return all scenes, their heights and speeds fitted to the installation's limits."""
    return (*_cruise(), *_courses(), *_approaches(installation), *_limits(installation))


def _cruise() -> tuple[Scene, ...]:
    climb = _at(3200.0, vertical_speed_fpm=500.0)
    descent = _at(4800.0, vertical_speed_fpm=-500.0)
    return (
        Scene("level", "Level at the selected altitude of 4,000 ft, nothing tuned.",
              _start(_at(4000.0), None, 4000.0)),
        Scene("level_higher_selected", "Level at 3,000 ft; 5,000 ft is selected.",
              _start(_at(3000.0), None, 5000.0)),
        Scene("climbing", "Climbing at 500 ft/min through 3,200 ft; 4,000 ft is selected.",
              _start(climb, None, 4000.0)),
        Scene("descending", "Descending at 500 ft/min through 4,800 ft; 3,500 ft is selected.",
              _start(descent, None, 3500.0)),
        Scene("climbing_away", "Climbing at 500 ft/min through 3,200 ft; 2,000 ft is selected.",
              _start(climb, None, 2000.0)),
        Scene("levelling", "Just below the selected altitude of 4,000 ft, still climbing.",
              _start(_at(3930.0, vertical_speed_fpm=700.0, airspeed_kt=90.0), None, 4000.0), 60.0),
        Scene("levelling_down", "Just above the selected altitude of 3,500 ft, still descending.",
              _start(_at(3570.0, vertical_speed_fpm=-700.0), None, 3500.0), 60.0),
        Scene("near_altitude", "Climbing at 500 ft/min, 100 ft below the selected 4,000 ft.",
              _start(_at(3900.0, vertical_speed_fpm=500.0), None, 4000.0), 40.0),
        Scene("near_altitude_down", "Descending at 500 ft/min, 100 ft above the selected 3,500 ft.",
              _start(_at(3600.0, vertical_speed_fpm=-500.0), None, 3500.0), 40.0),
    )  # fmt: skip


def _courses() -> tuple[Scene, ...]:
    meeting = _at(4000.0, 0.0, -0.9, heading_deg=40.0)
    fading = _at(3000.0, -0.1, 0.0, heading_deg=360.0)
    return (
        Scene("off_course", "Three miles east of the course to Beacon Harrowmere, 4,000 ft.",
              _start(_at(4000.0), BEACON, 4000.0)),
        Scene("off_course_climbing", "Three miles east of the course to Beacon Harrowmere, "
              "climbing through 3,200 ft; 4,000 ft is selected.",
              _start(_at(3200.0, vertical_speed_fpm=500.0), BEACON, 4000.0)),
        Scene("on_course", "On the course to Beacon Harrowmere at 4,000 ft.",
              _start(_at(4000.0, east_nm=0.0, heading_deg=360.0), BEACON, 4000.0)),
        Scene("on_course_climbing", "On the course to Beacon Harrowmere, climbing through "
              "3,200 ft; 4,000 ft is selected.",
              _start(_at(3200.0, east_nm=0.0, heading_deg=360.0, vertical_speed_fpm=500.0),
                     BEACON, 4000.0)),
        Scene("levelling_on_course", "On the course to Beacon Harrowmere, just below the selected "
              "altitude of 4,000 ft, still climbing.",
              _start(_at(3930.0, east_nm=0.0, heading_deg=360.0, vertical_speed_fpm=700.0,
                         airspeed_kt=90.0), BEACON, 4000.0), 60.0),
        Scene("meeting_course", "Heading 040 towards the course to Beacon Harrowmere, which lies "
              "just ahead.", _start(meeting, BEACON, 4000.0), 60.0),
        Scene("fading", "On the course from Beacon Ottersley, at the edge of its range.",
              _start(fading, NEAR_EDGE, 3000.0), 30.0, is_calm=False),
        Scene("fading_climbing", "On the course from Beacon Ottersley, at the edge of its range, "
              "climbing through 3,200 ft; 5,000 ft is selected.",
              _start(replace(fading, altitude_ft=3200.0, vertical_speed_fpm=500.0), NEAR_EDGE,
                     5000.0), 30.0, is_calm=False),
    )  # fmt: skip


def _approaches(installation: Installation) -> tuple[Scene, ...]:
    return (
        *_beside_approach(),
        *_about_the_path(),
        *_low_on_path(installation.limit("minimum_use_height_ft").value),
    )


def _beside_approach() -> tuple[Scene, ...]:
    return (
        Scene("beside_approach", "Three miles beside the approach course of Linnetfield, 2,500 ft, "
              "below the glidepath.", _start(_at(2500.0, 5.0), APPROACH, 2500.0)),
        Scene("beside_approach_no_path", "Three miles beside the course of Linnetfield, which has "
              "no glidepath; 2,500 ft.", _start(_at(2500.0, 5.0), NO_PATH, 2500.0)),
        Scene("beside_approach_descending", "Three miles beside the approach course of Linnetfield,"
              " descending through 3,300 ft; 2,500 ft is selected.",
              _start(_at(3300.0, 4.0, vertical_speed_fpm=-500.0), APPROACH, 2500.0)),
        Scene("meeting_approach", "Heading 030 towards the approach course of Linnetfield, which "
              "lies just ahead; below the glidepath.",
              _start(_at(2000.0, 4.0, -0.6, heading_deg=30.0), APPROACH, 2000.0), 60.0),
    )  # fmt: skip


def _about_the_path() -> tuple[Scene, ...]:
    path_ft = GROUND_FT + _OVER_THRESHOLD_FT + _PATH_FT_PER_NM * 6.0
    return (
        Scene("below_path", "On the approach course of Linnetfield, below the glidepath.",
              _start(_at(path_ft - 600.0, 8.0, **_FINAL), APPROACH, path_ft - 600.0)),
        Scene("below_path_higher_selected", "On the approach course of Linnetfield, below the "
              "glidepath; the altitude for a missed approach is selected.",
              _start(_at(path_ft - 600.0, 8.0, **_FINAL), APPROACH, 4000.0)),
        Scene("meeting_path", "On the approach course of Linnetfield, just below the glidepath.",
              _start(_at(path_ft - 130.0, 8.0, **_FINAL), APPROACH, path_ft - 130.0), 45.0),
        Scene("path_before_course", "Heading 030 towards the approach course of Linnetfield; the "
              "glidepath is nearer than the course.",
              _start(_at(path_ft - 90.0, 7.4, -0.75, heading_deg=30.0, airspeed_kt=95.0),
                     APPROACH, path_ft - 90.0), 60.0),
        Scene("above_path", "On the approach course of Linnetfield, above the glidepath, level.",
              _start(_at(path_ft + 350.0, 8.0, **_FINAL), APPROACH, path_ft + 350.0)),
        Scene("crossing_path_from_above", "On the approach course of Linnetfield, just above the "
              "glidepath, descending towards it.",
              _start(_at(path_ft + 120.0, 8.0, vertical_speed_fpm=-900.0, **_FINAL), APPROACH,
                     1000.0), 45.0),
        Scene("on_path", "On the approach course and glidepath of Linnetfield; the altitude for a "
              "missed approach is selected.",
              _start(_at(path_ft, 8.0, vertical_speed_fpm=-500.0, **_FINAL), APPROACH, 4000.0)),
    )  # fmt: skip


def _low_on_path(use_ft: float) -> tuple[Scene, ...]:
    return (
        Scene("low_on_path", "On the approach course and glidepath of Linnetfield, close to the "
              "minimum use height.",
              _start(_on_path(use_ft + 90.0, -480.0), APPROACH, 4000.0), 30.0, is_calm=False),
        Scene("low_on_path_level_selected", "On the approach course and glidepath of Linnetfield, "
              "a little above the minimum use height; 3,000 ft is selected.",
              _start(_on_path(use_ft + 120.0, -480.0), APPROACH, 3000.0), 45.0, is_calm=False),
        Scene("past_minimum", "On the approach course of Linnetfield, already below the minimum "
              "use height; the altitude for a missed approach is selected.",
              _start(_on_path(use_ft - 50.0, -450.0), APPROACH, 4000.0), 45.0, is_calm=False),
        Scene("past_minimum_level_selected", "On the approach course of Linnetfield, already below "
              "the minimum use height; 3,000 ft is selected.",
              _start(_on_path(use_ft - 70.0, -430.0), APPROACH, 3000.0), 45.0, is_calm=False),
    )  # fmt: skip


def _on_path(height_ft: float, vertical_speed_fpm: float) -> InitialCondition:
    north_nm = 14.0 - (height_ft - _OVER_THRESHOLD_FT) / _PATH_FT_PER_NM
    return _at(GROUND_FT + height_ft, north_nm, vertical_speed_fpm=vertical_speed_fpm, **_FINAL)


def _limits(installation: Installation) -> tuple[Scene, ...]:
    engage_ft = installation.limit("minimum_engagement_height_ft").value
    slow_kt = min(
        installation.limit("underspeed_kt").value,
        installation.limit("minimum_engagement_airspeed_kt").value,
    )
    fast_kt = max(
        installation.limit("overspeed_kt").value,
        installation.limit("maximum_engagement_airspeed_kt").value,
    )
    low = _at(GROUND_FT + engage_ft * 0.6, airspeed_kt=90.0, vertical_speed_fpm=500.0)
    return (
        Scene("low_climb", f"Climbing through {engage_ft * 0.6:.0f} ft above the ground after "
              "take-off; 3,000 ft is selected.", _start(low, None, 3000.0), is_calm=False,
              is_first_climb=True),
        Scene("slow", f"Level at 4,000 ft and slow, {slow_kt - 3.0:.0f} kt.",
              _start(_at(4000.0, airspeed_kt=slow_kt - 3.0), None, 4000.0), is_calm=False),
        Scene("slow_climb", f"Climbing through 3,200 ft and slow, {slow_kt - 3.0:.0f} kt; 4,500 ft "
              "is selected.",
              _start(_at(3200.0, airspeed_kt=slow_kt - 3.0, vertical_speed_fpm=300.0), None,
                     4500.0), is_calm=False),
        Scene("slowing", f"Climbing steeply, {slow_kt + 4.0:.0f} kt and getting slower; 6,000 ft "
              "is selected.",
              _start(_at(3200.0, airspeed_kt=slow_kt + 4.0, vertical_speed_fpm=1200.0), None,
                     6000.0), 60.0, is_calm=False),
        Scene("fast", f"Level at 4,000 ft and fast, {fast_kt + 5.0:.0f} kt.",
              _start(_at(4000.0, airspeed_kt=fast_kt + 5.0), None, 4000.0), is_calm=False),
        *_attitudes(installation),
    )  # fmt: skip


def _attitudes(installation: Installation) -> tuple[Scene, ...]:
    bank_deg = installation.limit("engagement_bank_deg").value + 5.0
    pitch_deg = installation.limit("engagement_pitch_deg").value + 3.0
    return (
        Scene("steep_bank", f"Level at 4,000 ft in a bank of {bank_deg:.0f} degrees.",
              _start(_at(4000.0, bank_deg=bank_deg), None, 4000.0), is_calm=False),
        Scene("steep_bank_climbing", f"Climbing through 3,200 ft in a bank of {bank_deg:.0f} "
              "degrees; 4,500 ft is selected.",
              _start(_at(3200.0, bank_deg=bank_deg, vertical_speed_fpm=500.0), None, 4500.0),
              is_calm=False),
        Scene("steep_bank_near_course", f"Level at 4,000 ft in a bank of {bank_deg:.0f} degrees, "
              "Beacon Harrowmere tuned.",
              _start(_at(4000.0, bank_deg=bank_deg), BEACON, 4000.0), is_calm=False),
        Scene("nose_high", f"The nose {pitch_deg:.0f} degrees up at 4,000 ft.",
              _start(_at(4000.0, pitch_deg=pitch_deg), None, 4000.0), is_calm=False),
    )  # fmt: skip
