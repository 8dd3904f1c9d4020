"""The voice of the product: replies through voice and tones, in the manner that she has chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.session.manner import USUAL, Answering
from speech.speaking.answering import AnswerWay as SpeakingAnswering
from speech.speaking.answers import Answers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.replies import Reply
    from speech.speaking.answer_queue import Speaking
    from speech.words.wording import Wording

_AS: Final = {
    Answering.VOICE: SpeakingAnswering.VOICE,
    Answering.TONES: SpeakingAnswering.TONES,
    Answering.SILENT: SpeakingAnswering.SILENT,
}


class Mouthpiece:
    """Gives answers through `Speaking`; where there is a motor, without sound is vibration."""

    def __init__(self, speaking: Speaking, wording: Wording, *, vibrates: bool) -> None:
        """Answer through `speaking` in the words of `wording`."""
        self._speaking = speaking
        self.answers = Answers(speaking, wording)
        self._vibrates = vibrates

    def answer(self, replies: Sequence[Reply], *, words: bool) -> None:
        """Sound the tone of the replies and, if `words`, say them."""
        self.answers.answer(replies, words=words)

    def wait(self, for_s: float) -> None:
        """Let nothing sound for so many seconds that would drown her; 0: no longer."""
        self.answers.wait(for_s)

    def hush(self) -> None:
        """Fall silent now."""
        self.answers.hush()

    def behave(self, answering: Answering, rate: int) -> None:
        """Answer in this way from now on, at so many words a minute."""
        silent = answering is Answering.SILENT and self._vibrates
        self._speaking.answering = SpeakingAnswering.VIBRATION if silent else _AS[answering]
        self._speaking.rate = rate / USUAL.rate
