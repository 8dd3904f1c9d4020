"""From replies to sound: the tone and the words of what the engine answers, given in turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.replies import Tone
from speech.speaking.answering import AnswerManner, AnswerWay

if TYPE_CHECKING:
    from collections.abc import Sequence

    from engine.replies import Reply
    from speech.speaking.answer_queue import Speaking
    from speech.words.wording import Wording


class Answers:
    """Sounds replies. No call waits for the sound; the latest answer is the one that counts."""

    def __init__(self, speaking: Speaking, wording: Wording) -> None:
        """Answer through `speaking`, in the words of `wording`."""
        self._speaking = speaking
        self._wording = wording

    def answer(self, replies: Sequence[Reply], *, words: bool = True) -> None:
        """
        Sound the tone of the replies and, if `words`, say them; an older answer is broken off.

        Where words are not wanted a tone says that there is something to read: "heard" for an
        answer, "not heard" for a question, because nothing has been done yet.
        """
        said = self._wording.said_aloud(replies)
        tone = next((reply.tone for reply in replies if reply.tone is not None), None)
        if said and tone is None and not (words and self._speaking.answering is AnswerWay.VOICE):
            tone = Tone.NOT_HEARD if said.endswith("?") else Tone.HEARD
        if tone is not None or (said and words):
            self._speaking.answer(tone, said if words else "", AnswerManner.INTERRUPT)

    def reword(self, wording: Wording) -> None:
        """Answer in other words from now on."""
        self._wording = wording

    def wait(self, for_s: float) -> None:
        """Let nothing sound for so many seconds that would drown her; 0: no longer."""
        self._speaking.wait(for_s)

    def hush(self) -> None:
        """Fall silent now."""
        self._speaking.interrupt()
