"""Sounds: generated, heard when they should be, silent without a device, and never alone."""

from __future__ import annotations

import io
import struct
import wave
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from trainer.app import Workspace
from trainer.session.annunciation import Annunciation, AxisAnnunciation
from trainer.session.record import Refusal, StepRecord
from trainer.session.session import Session
from trainer.ui.lesson.practice import Practice
from trainer.ui.practice.free_flight import FreeFlight
from trainer.ui.practice.situations import SITUATIONS
from trainer.ui.sound.sounder import Sounder
from trainer.ui.sound.speaker import Speaker, find_player
from trainer.ui.sound.tones import ALERT_EVERY_S, RATE_HZ, is_alert, sound_of, wave_of

BEFORE = Annunciation("autopilot", AxisAnnunciation("roll_hold"), AxisAnnunciation("pitch_hold"))
CAPTURED = replace(BEFORE, vertical=AxisAnnunciation("altitude_capture"))
WORKSPACE = Workspace()


def read(data: bytes) -> tuple[int, ...]:
    """Return the samples of a WAV file."""
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE_HZ)
        count = file.getnframes()
        return struct.unpack(f"<{count}h", file.readframes(count))


def test_waves_are_sound_and_follow_the_volume() -> None:
    loud, soft, mute = (read(wave_of("alert", volume)) for volume in (1.0, 0.25, 0.0))
    assert max(loud) > 3.5 * max(soft) > 0
    assert set(mute) == {0}
    assert loud[0] == 0  # no click
    assert len({wave_of(sound, 1.0) for sound in ("alert", "refused", "capture")}) == 3


def test_refusal_and_capture_are_heard_and_the_pilots_own_change_is_not() -> None:
    own = StepRecord(0.0, "vertical_speed", "pilot", BEFORE, CAPTURED)
    assert sound_of(own, has_capture_tone=True) is None
    automatic = replace(own, by="automatic")
    assert sound_of(automatic, has_capture_tone=True) == "capture"
    assert sound_of(automatic, has_capture_tone=False) is None
    refused = StepRecord(0.0, "x", "pilot", BEFORE, BEFORE, refusal=Refusal("r", "no", "no"))
    assert sound_of(refused, has_capture_tone=False) == "refused"


def test_disconnect_alerts_are_heard() -> None:
    alerts = WORKSPACE.installation("ship_amber").chart.regions["alert"].states
    assert {name for name in alerts if is_alert(name)} == {
        "disconnect_sounding",
        "automatic_disconnect_sounding",
    }


@pytest.fixture
def played() -> list[str]:
    """Names of the sounds that were started."""
    return []


@pytest.fixture
def speaker(played: list[str]) -> Iterator[Speaker]:
    """A speaker that only notes."""

    def start(command: Sequence[str]) -> object:
        assert Path(command[-1]).read_bytes().startswith(b"RIFF")
        played.append(Path(command[-1]).name.split("-")[0])
        return None

    made = Speaker(("player",), start)
    yield made
    made.close()


def test_alert_sounds_until_it_is_silenced(speaker: Speaker, played: list[str]) -> None:
    def begin() -> Session:
        return WORKSPACE.begin("ship_amber", SITUATIONS[0].start)

    practice = Practice(FreeFlight(begin), lambda _: None)
    practice.proceed()
    sounder = Sounder(speaker)
    for event in ("director", "autopilot", "disconnect"):
        practice.press(event)
    for step in range(41):
        sounder.listen(practice, step * 0.1)
    assert played == ["alert"] * int(4.0 / ALERT_EVERY_S + 1)
    practice.press("disconnect")
    sounder.listen(practice, 9.0)
    assert played.count("alert") == int(4.0 / ALERT_EVERY_S + 1)


def test_refusal_is_heard_once(speaker: Speaker, played: list[str]) -> None:
    practice = Practice(
        FreeFlight(lambda: WORKSPACE.begin("ship_amber", SITUATIONS[0].start)), lambda _: None
    )
    practice.select("source", "")
    practice.press("course_track")
    sounder = Sounder(speaker)
    for step in range(5):
        sounder.listen(practice, step * 0.1)
    assert played == ["refused"]


def test_mute_plays_nothing(speaker: Speaker, played: list[str]) -> None:
    speaker.volume = 0.0
    assert not speaker.play("alert")
    assert played == []


def test_without_a_device_it_is_silent_and_nothing_fails() -> None:
    silent = Speaker(())
    assert not silent.play("alert")
    silent.close()

    def fail(_command: Sequence[str]) -> object:
        raise OSError("no such device")

    broken = Speaker(("player",), fail)
    assert not broken.play("alert")
    assert not broken.play("alert")
    broken.close()


def test_first_player_that_is_there_is_taken() -> None:
    assert find_player(lambda name: "/usr/bin/aplay" if name == "aplay" else None) == (
        "aplay",
        "-q",
    )
    assert find_player(lambda _name: None) == ()
