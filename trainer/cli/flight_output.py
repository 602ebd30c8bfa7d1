"""What commands print of a flight: the published JSON forms, and an annunciation in words."""

from __future__ import annotations

from typing import Any

from trainer.flight import FlightSample
from trainer.session.annunciation import Annunciation
from trainer.session.record import StepRecord
from trainer.session.session import Session


def flight_json(sample: FlightSample) -> dict[str, float | None]:
    """Return the published JSON form of a flight sample; null: no usable signal."""
    return {
        "altitude_ft": round(sample.altitude_ft, 1),
        "height_ft": round(sample.height_ft, 1),
        "heading_deg": round(sample.heading_deg, 1),
        "airspeed_kt": round(sample.airspeed_kt, 1),
        "vertical_speed_fpm": round(sample.vertical_speed_fpm, 0),
        "bank_deg": round(sample.bank_deg, 1),
        "pitch_deg": round(sample.pitch_deg, 1),
        "course_deviation": round(sample.course_deviation, 3) if sample.course_valid else None,
        "glidepath_deviation": (
            round(sample.glidepath_deviation, 3) if sample.glidepath_valid else None
        ),
    }


def change_json(record: StepRecord, session: Session) -> dict[str, Any]:
    """Return the published JSON form of a change of annunciation."""
    return {
        "kind": "change",
        "t_s": round(record.t_s, 2),
        "event": record.event,
        "by": record.by,
        "annunciation": record.after.to_json(),
        "rules": [fired.id for fired in record.rules],
        "flight": flight_json(session.flight.sample()),
    }


def refused_json(record: StepRecord) -> dict[str, Any]:
    """Return the published JSON form of a refused event."""
    assert record.refusal is not None
    return {
        "kind": "refused",
        "t_s": round(record.t_s, 2),
        "event": record.event,
        "by": record.by,
        "reason": record.refusal.reason,
        "rules": [record.refusal.rule_id],
        "annunciation": record.after.to_json(),
    }


def annunciation_text(shown: Annunciation) -> str:
    """Return an annunciation as one line of plain words."""

    def axis(active: str, armed: tuple[str, ...]) -> str:
        tail = f" (armed: {', '.join(armed)})" if armed else ""
        return (active + tail).replace("_", " ")

    parts = [
        shown.engagement.replace("_", " "),
        axis(shown.lateral.active, shown.lateral.armed),
        axis(shown.vertical.active, shown.vertical.armed),
    ]
    if shown.alert != "quiet":
        parts.append("alert: " + shown.alert.replace("_", " "))
    if shown.protection != "none":
        parts.append("protection: " + shown.protection)
    return " | ".join(parts)
