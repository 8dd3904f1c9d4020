"""
What the assistant speaks through and listens with: two small protocols, and those that do nothing.

The silent voice and the deaf hearing serve machines without sound, and are the fakes in tests.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Protocol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.manner import Answering
    from engine.replies import Reply
    from speech.hearing.voice_check import HerNumbers


class Voice(Protocol):
    """Where answers go; neither call waits for the sound."""

    def answer(self, replies: Sequence[Reply], *, words: bool) -> None:
        """Sound the tone of the replies and, if `words`, say them."""

    def wait(self, for_s: float) -> None:
        """Let nothing sound for so many seconds that would drown her; 0: no longer."""

    def hush(self) -> None:
        """Fall silent now."""

    def behave(self, answering: Answering, rate: int) -> None:
        """Answer in this way from now on, at so many words a minute."""


class Hearing(Protocol):
    """What the assistant may ask of the listening; no call waits."""

    def pause(self) -> None:
        """Decode no more sound."""

    def resume(self) -> None:
        """Listen again."""

    def dictate(self) -> None:
        """Write down the next utterance freely."""

    def expect_answer(self, *, expected: bool) -> None:
        """Say whether a question stands, so that short answers are listened for."""

    def expect_row(self, saying: str | None) -> None:
        """Name the words so far of the row that is being said; None: none is."""

    def listen_for(self, attention: str | None) -> None:
        """Take only what begins with this word from now on, or everything again (None)."""

    def know(self, numbers: HerNumbers) -> None:
        """Use what a voice check has learned of her voice."""

    def listen_while_held(self, *, only: bool) -> None:
        """Decode only what is said between `hold` and `release`, or everything again."""

    def hold(self) -> None:
        """Take all from now on for one utterance."""

    def release(self) -> None:
        """End the utterance that `hold` began."""


class Doors(Protocol):
    """The class that phones can follow; no call waits long."""

    def open(self) -> str:
        """Open it; return a sentence that says where it is, or why it could not be."""

    def close(self) -> str:
        """Close it, and say so."""

    def story(self) -> str:
        """Print what it got through; return a sentence that says so."""


_REMEMBERED: Final = 200


class Silent:
    """A voice that says nothing: for machines without sound, and the fake in tests."""

    def __init__(self) -> None:
        """Remember what would have been said."""
        self.answered: list[tuple[Reply, ...]] = []
        self.manner: tuple[Answering, int] | None = None
        self.waits_s: float | None = None
        """For how long it was told last to let nothing sound."""

    def answer(self, replies: Sequence[Reply], *, words: bool) -> None:
        """Remember the replies."""
        del words
        self.answered.append(tuple(replies))
        del self.answered[:-_REMEMBERED]  # a silent machine may run for months

    def wait(self, for_s: float) -> None:
        """Remember the wish."""
        self.waits_s = for_s

    def hush(self) -> None:
        """Do nothing: it is silent."""

    def behave(self, answering: Answering, rate: int) -> None:
        """Remember how to answer."""
        self.manner = (answering, rate)


class Deaf:
    """A hearing that hears nothing: for machines without a microphone."""

    def pause(self) -> None:
        """Do nothing."""

    def resume(self) -> None:
        """Do nothing."""

    def dictate(self) -> None:
        """Do nothing."""

    def expect_answer(self, *, expected: bool) -> None:
        """Do nothing."""
        del expected

    def expect_row(self, saying: str | None) -> None:
        """Do nothing."""
        del saying

    def listen_for(self, attention: str | None) -> None:
        """Do nothing."""
        del attention

    def know(self, numbers: HerNumbers) -> None:
        """Do nothing."""
        del numbers

    def listen_while_held(self, *, only: bool) -> None:
        """Do nothing."""
        del only

    def hold(self) -> None:
        """Do nothing."""

    def release(self) -> None:
        """Do nothing."""
