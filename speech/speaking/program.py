"""
A voice that is a program of the system, started for each text and ended at will.

The text never becomes an argument, so that no text can be taken for an option.
"""

from __future__ import annotations

import contextlib
import math
import os
import shutil
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from speech.speaking.playback import PlaybackOutcome, bounded_rate, speakable

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.speaking.playback import Done

_WORDS_PER_MINUTE = 150
_KILL_AFTER_S = 0.5


@dataclass(frozen=True, slots=True)
class Program:
    """A program that speaks what it reads; `arguments` are those for a relative rate."""

    name: str
    arguments: Callable[[float], tuple[str, ...]]


def _espeak(rate: float) -> tuple[str, ...]:
    return ("-v", "en-us", "-s", str(round(_WORDS_PER_MINUTE * rate)), "--stdin")


def _say(rate: float) -> tuple[str, ...]:
    return ("-r", str(round(_WORDS_PER_MINUTE * rate)), "-f", "-")


def _system_speech(rate: float) -> tuple[str, ...]:
    # The scale of the Windows voice goes from -10, a third of its pace, to 10, three times its
    # pace.
    step = round(10 * math.log(rate, 3))
    script = (
        "Add-Type -AssemblyName System.Speech; "
        "$voice = New-Object System.Speech.Synthesis.SpeechSynthesizer; "
        f"$voice.Rate = {step}; $voice.Speak([Console]::In.ReadToEnd())"
    )
    return ("-NoProfile", "-NonInteractive", "-Command", script)


ESPEAK_NG = Program("espeak-ng", _espeak)
ESPEAK = Program("espeak", _espeak)
# The next two follow the manuals of macOS and of Windows PowerShell; nobody has tried them there.
MACOS_SAY = Program("say", _say)
WINDOWS_SPEECH = Program("powershell", _system_speech)


def programs_here() -> tuple[Program, ...]:
    """Return the speaking programs that this system has, the best first."""
    known = {"darwin": (MACOS_SAY,), "win32": (WINDOWS_SPEECH,)}.get(sys.platform, ())
    return tuple(
        program for program in (*known, ESPEAK_NG, ESPEAK) if shutil.which(program.name) is not None
    )


class ProgramVoice:
    """Speaks through one `Program`, a process and a waiting thread for each text."""

    audible = True
    stoppable = True

    def __init__(self, program: Program = ESPEAK_NG) -> None:
        """Speak through `program`; nothing is started yet."""
        self._program = program
        self._lock = threading.Lock()
        self._saying: _Saying | None = None
        self._closed = False

    def say(self, text: str, done: Done, rate: float = 1.0) -> None:
        """Start the program with `text` on its standard input; see `Speaker.say`."""
        plain = speakable(text)
        with self._lock:
            if self._saying is not None:
                self._saying.stop()
                self._saying = None
            if not self._closed and plain:
                self._saying = _started(self._program, bounded_rate(rate))
            saying = self._saying
        if saying is None:
            done(PlaybackOutcome.DONE if not plain and not self._closed else PlaybackOutcome.FAILED)
            return
        threading.Thread(
            target=saying.wait, args=(plain, done), name="walesong-voice", daemon=True
        ).start()

    def stop(self) -> None:
        """End the program at once."""
        with self._lock:
            if self._saying is not None:
                self._saying.stop()

    def close(self) -> None:
        """End the program at once and start no other."""
        with self._lock:
            self._closed = True
            if self._saying is not None:
                self._saying.stop()
                self._saying = None


class _Saying:
    """One process that speaks one text."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        self._stopped = False

    def wait(self, text: str, done: Done) -> None:
        """Hand over the text, wait for the end of the process, report it."""
        _, complaints = self._process.communicate(text.encode("utf-8", errors="replace"))
        done(self._outcome(complaints))

    def _outcome(self, complaints: bytes) -> PlaybackOutcome:
        if self._stopped:
            return PlaybackOutcome.INTERRUPTED
        # Without a sound device espeak-ng 1.51 complains and still returns 0.
        if (
            self._process.returncode != 0
            or complaints.startswith(b"error:")
            or b"\nerror:" in complaints
        ):
            return PlaybackOutcome.FAILED
        return PlaybackOutcome.DONE

    def stop(self) -> None:
        """Ask the whole process group to end, and make it end if it does not listen."""
        if self._process.poll() is None and not self._stopped:
            self._stopped = True
            self._signal(kill=False)
            last_word = threading.Timer(_KILL_AFTER_S, self._signal, kwargs={"kill": True})
            last_word.daemon = True
            last_word.start()

    def _signal(self, *, kill: bool) -> None:
        if self._process.poll() is not None:
            return
        if sys.platform == "win32":
            self._process.kill()
            return
        with contextlib.suppress(ProcessLookupError, PermissionError):
            # A group of its own (see `_started`): a wrapper script does not outlive its voice, nor
            # the voice its wrapper.
            os.killpg(self._process.pid, signal.SIGKILL if kill else signal.SIGTERM)


def _started(program: Program, rate: float) -> _Saying | None:
    try:
        return _Saying(
            subprocess.Popen(
                (program.name, *program.arguments(rate)),
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                start_new_session=True,
            )
        )
    except OSError:
        return None
