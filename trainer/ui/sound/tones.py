"""Sounds as numbers: which sound belongs to what happens, and its samples. No Qt here."""

from __future__ import annotations

import io
import math
import struct
import wave
from typing import Literal

from trainer.session.record import StepRecord

Sound = Literal["alert", "refused", "capture"]
RATE_HZ = 22050
ALERT_EVERY_S = 1.5
"""The disconnect alert sounds this often until it is silenced. Source: chosen for teaching."""
# Frequency [Hz] and length [s] of each part; chosen for teaching, not any aircraft's.
_PARTS: dict[Sound, tuple[tuple[float, float], ...]] = {
    "alert": ((880.0, 0.18), (660.0, 0.18), (880.0, 0.18)),
    "refused": ((220.0, 0.16),),
    "capture": ((1320.0, 0.12),),
}
_FADE_S = 0.01


def sound_of(record: StepRecord, *, has_capture_tone: bool) -> Sound | None:
    """Return the sound of what just happened, or None.

    The disconnect alert isn't among them: it sounds as long as the strip shows it.
    """
    if record.refusal is not None:
        return "refused"
    is_own = record.by != "pilot" and record.has_changed
    before, after = record.before, record.after
    is_active = (before.lateral.active, before.vertical.active) != (
        after.lateral.active,
        after.vertical.active,
    )
    return "capture" if has_capture_tone and is_own and is_active else None


def is_alert(alert: str) -> bool:
    """Return True if a state of the alert cell is heard until it is silenced."""
    return alert.endswith("_sounding")


def wave_of(sound: Sound, volume: float) -> bytes:
    """Return a sound as the bytes of a WAV file, mono, 16 bit.

    Args:
        sound: Which sound.
        volume: 0 to 1.
    """
    samples: list[int] = []
    for frequency_hz, length_s in _PARTS[sound]:
        count = round(length_s * RATE_HZ)
        fade = round(_FADE_S * RATE_HZ)
        for place in range(count):
            edge = min(1.0, place / fade, (count - place) / fade)
            value = math.sin(math.tau * frequency_hz * place / RATE_HZ)
            samples.append(round(32767 * 0.8 * max(0.0, min(1.0, volume)) * edge * value))
    stream = io.BytesIO()
    with wave.open(stream, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        out.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return stream.getvalue()
