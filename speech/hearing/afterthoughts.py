"""What was decided last and may be gone on with, in a stream of sound: `joining` at work.

At most two refused pieces and what follows them are one command: "seven | ridges | done".
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from speech.hearing.events import Reason
from speech.hearing.joining import begins_like, belongs, doubted, joined, kept, together
from speech.hearing.sound import RATE
from speech.hearing.verdict import above

if TYPE_CHECKING:
    from collections.abc import Callable

    from speech.hearing.acceptance_rules import AcceptanceSettings
    from speech.hearing.joining import Piece
    from speech.hearing.sound import Samples
    from speech.hearing.verdict import Verdict
    from speech.words.phrases import PhraseBook

SAME = RATE // 20
"""Samples by which two cuts of the same voice may differ without being judged again."""


class Afterthoughts:
    """Remembers the last piece of one stream; all places are samples of the stream."""

    def __init__(
        self,
        book: PhraseBook,
        settings: AcceptanceSettings,
        cut: Callable[[int, int], Samples],
    ) -> None:
        """Begin with nothing before; `cut` returns the sound between two places."""
        self._book, self._settings, self._cut = book, settings, cut
        self._before: Piece | None = None
        self._judged: dict[tuple[int, int, int], Verdict] = {}

    def forget(self) -> None:
        """Let nothing be gone on with."""
        self._before = None
        self.forget_judged()

    def forget_judged(self) -> None:
        """Forget what pieces were judged to be: the one that was judged is over."""
        self._judged = {}

    def judge(
        self, alone: Verdict, span: tuple[int, int], judge: Callable[[Samples, Samples], Verdict]
    ) -> Verdict:
        """
        Judge a piece together with those that were decided before it, if they may be one.

        Args:
            alone: what the piece is by itself.
            span: from where to where it was said.
            judge: judges a voice in a room.

        """
        rules, last = self._settings.joining, self._before
        if last is None or not belongs(last, alone, *span, rules):
            return alone
        for before in (last.longer, last):
            if before is not None and belongs(before, alone, *span, rules):
                found = joined(before, alone, self._whole(before, span, judge))
                if found is not None:
                    return found
        return doubted(last, alone, span[0], rules)

    def keep(self, verdict: Verdict, span: tuple[int, int], room: Samples) -> None:
        """
        Remember what was decided of a piece, for what may follow it.

        Args:
            verdict: what counts, of the piece or of what it was joined with.
            span: from where to where the piece was said.
            room: the sound before it.

        """
        if verdict.reason in {Reason.TOO_SHORT, Reason.NO_WORDS}:
            return  # a click hides nothing, nor does a breath
        rules, last = self._settings.joining, self._before
        if last is not None and verdict.begins is not None:
            last = last if last.start == verdict.begins or last.longer is None else last.longer
            self._before = self._both(verdict, last, span)
        else:
            silence = round(rules.between_s / 2 * RATE)
            ahead = round(self._settings.padding_before_s * RATE)
            voice = self._cut(span[0] - ahead, span[1] + silence)
            piece = kept(verdict, self._book, rules, span, (voice, room))
            whole = None if last is None else self._found(last, span)
            if piece is not None and last is not None and whole is not None:
                piece = replace(piece, longer=self._both(whole, last, span))
            self._before = piece
        self.forget_judged()

    def _both(self, whole: Verdict, before: Piece, span: tuple[int, int]) -> Piece | None:
        """Return two pieces as one that may be gone on with."""
        if not any(begins_like(one.words, before) for one in whole.readings):
            return None
        voice = together(before, self._behind(before, span))
        both = (before.start, span[1])
        return kept(whole, self._book, self._settings.joining, both, (voice, before.room))

    def _whole(
        self,
        before: Piece,
        span: tuple[int, int],
        judge: Callable[[Samples, Samples], Verdict],
    ) -> Verdict:
        """Judge two pieces as one, once."""
        found = self._found(before, span)
        if found is None:
            found = judge(together(before, self._behind(before, span)), before.room)
            self._judged[before.start, *span] = found
        return found

    def _found(self, before: Piece, span: tuple[int, int]) -> Verdict | None:
        for (since, start, end), found in self._judged.items():
            if since == before.start and abs(start - span[0]) <= SAME >= abs(end - span[1]):
                return found
        return None

    def _behind(self, before: Piece, span: tuple[int, int]) -> Samples:
        """
        Return a voice with a little of the silence between it and the piece before it.

        In a loud room that is no silence: soft words may be lost in it, and all of it is kept.
        """
        silence = round(self._settings.joining.between_s / 2 * RATE)
        stop = span[1] + round(self._settings.padding_after_s * RATE)
        loud = above(before.voice, before.room) < self._settings.judging.loud_room
        start = before.end + silence if loud else max(span[0] - silence, before.end + silence)
        return self._cut(start, stop)
