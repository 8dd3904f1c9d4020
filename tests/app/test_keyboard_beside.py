"""The keyboard beside the microphone: typed words, and what Enter alone does."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from app.session.situation import Ear
from app.terminal.keyboard_beside import KeyboardBeside
from engine.talk import HoldToTalk, StopListening
from tests.app.test_attention import Room

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


class Keys(io.StringIO):
    """Lines of a keyboard, each typed only once the one before it was dealt with."""

    def __init__(self, room: Room, *lines: str) -> None:
        """Type these lines."""
        super().__init__()
        self._room, self._waiting = room, list(lines)

    def __iter__(self) -> Iterator[str]:  # type: ignore[override]  # only read line by line
        """Yield the lines."""
        for line in self._waiting:
            yield f"{line}\n"
            self._room.settle()


def typed(room: Room, *lines: str) -> None:
    """Type lines and wait until they are dealt with."""
    keyboard = KeyboardBeside(room.assistant, lambda: room.now, Keys(room, *lines))
    keyboard.start()
    keyboard.wait(20.0)


def test_words_are_taken_while_it_listens(tmp_path: Path) -> None:
    """A typed command counts as always; Enter alone does nothing then."""
    room = Room(tmp_path / "j.walesong")
    typed(room, "row done", "", "two rows done")
    assert room.now.state.done == 3
    assert room.ears.asked == []
    room.assistant.stop()


def test_enter_listens_again(tmp_path: Path) -> None:
    """After "stop listening" nothing that is said can help: Enter does."""
    room = Room(tmp_path / "j.walesong")
    room.says("stop listening", StopListening())
    shown = [room.now.ear]
    typed(room, "")
    shown.append(room.now.ear)
    assert shown == [Ear.PAUSED, Ear.LISTENING]
    assert room.ears.asked == ["pause", "resume"]
    room.assistant.stop()


def test_enter_begins_and_ends_what_is_held(tmp_path: Path) -> None:
    """The first Enter presses, the second lets go, also after the mode has changed meanwhile."""
    room = Room(tmp_path / "j.walesong")
    room.touch(HoldToTalk())
    typed(room, "", "")
    assert room.ears.asked == ["only while held", "hold", "release"]
    typed(room, "", "quiet room", "")
    assert room.ears.asked[3:] == ["hold", "always", "release"]
    room.assistant.stop()
