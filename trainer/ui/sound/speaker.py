"""Plays sounds with what the system has; stays silent where there is nothing to play with.

What is heard is always also seen: the alert on the strip, the refusal in the line of events.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from trainer.ui.sound.tones import Sound, wave_of

_PLAYERS = (
    ("pw-play",),
    ("paplay",),
    ("aplay", "-q"),
    ("afplay",),
)
"""Commands that play a WAV file, tried in this order; Windows plays by itself."""

Starter = Callable[[Sequence[str]], object]


def _start(command: Sequence[str]) -> object:
    quiet = subprocess.DEVNULL
    return subprocess.Popen(  # noqa: S603 - a player found on the path, a file of our own
        list(command), stdin=quiet, stdout=quiet, stderr=quiet
    )


def find_player(find: Callable[[str], str | None] = shutil.which) -> tuple[str, ...]:
    """Return the command that plays a WAV file here; empty if there is none."""
    return next((player for player in _PLAYERS if find(player[0])), ())


class Speaker:
    """Plays one sound at a time.

    Args:
        player: Command to put a file's name behind; None: find one.
        start: Starts a command without waiting for it.
    """

    def __init__(self, player: tuple[str, ...] | None = None, start: Starter = _start) -> None:
        self.volume = 0.5
        self._player = find_player() if player is None else player
        self._start = start
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._playing: list[object] = []

    def play(self, sound: Sound) -> bool:
        """Play a sound; False if it can't be heard."""
        if self.volume <= 0.0:
            return False
        path = self._file(sound)
        try:
            if sys.platform == "win32":
                import winsound

                flags = winsound.SND_FILENAME | winsound.SND_ASYNC
                winsound.PlaySound(str(path), flags)
                return True
            if not self._player:
                return False
            self._playing = [one for one in self._playing if _is_running(one)]
            self._playing.append(self._start([*self._player, str(path)]))
        except (OSError, RuntimeError):
            self._player = ()
            return False
        return True

    def close(self) -> None:
        """Wait for what still plays and take the files away."""
        for one in self._playing:
            if isinstance(one, subprocess.Popen):
                one.kill()
                one.wait()
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    def _file(self, sound: Sound) -> Path:
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="mode-trainer-")
        path = Path(self._folder.name) / f"{sound}-{self.volume * 100:.0f}.wav"
        if not path.exists():
            path.write_bytes(wave_of(sound, self.volume))
        return path


def _is_running(one: object) -> bool:
    return isinstance(one, subprocess.Popen) and one.poll() is None
