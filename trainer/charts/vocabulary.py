"""Names that a chart may use: what it measures, what entering a state does, what is critical.

A chart file is checked against these when it loads; `session` implements exactly them (a test
compares). Units are in the names.
"""

from __future__ import annotations

NUMBER_QUANTITIES: dict[str, str] = {
    "height_ft": "height above the ground below",
    "bank_abs_deg": "bank to either side",
    "pitch_abs_deg": "pitch to either side",
    "airspeed_kt": "calibrated airspeed",
    "vertical_speed_fpm": "vertical speed, climb positive",
    "course_deviation_abs": "distance from the course, fraction of full scale; large if no signal",
    "course_intercept_margin": "at or below 0: begin the turn onto the course now",
    "glidepath_deviation": "above the path positive, fraction of full scale; large if no signal",
    "glidepath_deviation_abs": "distance from the path, fraction of full scale",
    "altitude_capture_margin_ft": "at or below 0: begin to level at the selected altitude now",
    "altitude_error_abs_ft": "distance from the selected altitude",
    "altitude_rate_away_fpm": "vertical speed away from the selected altitude, positive: leaving",
    "captured_altitude_error_abs_ft": "distance from the altitude being captured",
    "powered_s": "time since electrical power came on",
}

BOOLEAN_QUANTITIES: dict[str, str] = {
    "course_valid": "the course signal is usable",
    "glidepath_valid": "the glidepath signal is usable",
    "attitude_valid": "attitude data are usable",
    "servo_ok": "servo monitor reports no fault",
    "electrical_ok": "electrical power is present",
    "on_back_course_side": "the aircraft is beyond the approach's antenna",
    "source_is_approach": "the navigation source in use gives an approach",
    "source_has_glidepath": "the navigation source in use gives a glidepath",
}

EFFECTS: dict[str, str] = {
    "take_present_bank": "roll hold keeps the present bank (wings level if nearly level)",
    "take_present_pitch": "pitch hold keeps the present pitch",
    "take_present_vertical_speed": "vertical speed keeps the present one, to the next 100 ft/min",
    "take_present_airspeed": "airspeed hold keeps the present airspeed",
    "hold_present_altitude": "altitude hold keeps the present altitude",
    "hold_captured_altitude": "altitude hold keeps the altitude that was captured",
    "capture_selected_altitude": "altitude capture levels at the selected altitude",
    "take_present_heading": "go-around keeps the present heading",
    "raise_vertical_speed": "vertical speed reference one step up",
    "lower_vertical_speed": "vertical speed reference one step down",
    "raise_airspeed": "airspeed reference one step faster",
    "lower_airspeed": "airspeed reference one step slower",
    "raise_pitch": "pitch reference one step up",
    "lower_pitch": "pitch reference one step down",
    "raise_held_altitude": "held altitude one step up",
    "lower_held_altitude": "held altitude one step down",
}

CRITICAL_GROUPS: dict[str, str] = {
    "disconnect": "taking the autopilot off",
    "level_recovery": "what level recovery does",
    "engagement_height": "the minimum height for engagement",
    "minimum_use_height": "the minimum height for use",
}
"""What must be right in a check whatever the rest: one of each group is asked of everybody."""
