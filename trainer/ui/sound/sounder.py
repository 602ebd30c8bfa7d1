"""Lets a practice be heard: the alert until it is silenced, refusals, captures. No Qt here."""

from __future__ import annotations

from trainer.session.record import StepRecord
from trainer.ui.lesson.practice import Practice
from trainer.ui.sound.speaker import Speaker
from trainer.ui.sound.tones import ALERT_EVERY_S, is_alert, sound_of


class Sounder:
    """Listens to a practice frame by frame."""

    def __init__(self, speaker: Speaker) -> None:
        self.speaker = speaker
        self.has_capture_tone = True
        self._heard: StepRecord | None = None
        self._alert_due_s = 0.0

    def listen(self, practice: Practice, now_s: float) -> None:
        """Play what is to be heard now.

        Args:
            practice: What flies.
            now_s: Time on the wall [s].
        """
        if is_alert(practice.session.annunciation.alert):
            if now_s >= self._alert_due_s and practice.flyer.phase != "asking":
                self._alert_due_s = now_s + ALERT_EVERY_S
                self.speaker.play("alert")
        else:
            self._alert_due_s = 0.0
        record = practice.last_record
        if record is not None and record is not self._heard:
            sound = sound_of(record, has_capture_tone=self.has_capture_tone)
            if sound is not None:
                self.speaker.play(sound)
        self._heard = record
