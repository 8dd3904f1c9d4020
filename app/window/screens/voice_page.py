"""The voice check: one sentence to say after the other, then the result in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.display.flow import TextSpan
from app.session.attention import advised
from app.window.screens.pages import Page
from speech.hearing.voice_check import PHRASES, VoiceAdvice

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.situation import Situation
    from app.window.screens.kit import Kit


class VoicePage(Page):
    """Shows the check of a situation; closing it puts the check away."""

    checks_voice = True
    takes_keys = True

    def __init__(
        self, kit: Kit, again: Callable[[], None], close: Callable[[], None], **properties: Any
    ) -> None:
        """Build an empty page; `show` fills it."""
        self.kit, self._again = kit, again
        super().__init__(kit.look, close, title=kit.words("voice", "title"), **properties)
        self._shown: object = None

    def show(self, situation: Situation) -> None:
        """Show how far the check is, or what it has found."""
        check, words, sizes = situation.check, self.kit.words, self.look.theme.sizes
        ear_words = words("ear", situation.ear.value, word=situation.manner.word.value)
        key = (check, situation.manner, ear_words)
        if check is None or key == self._shown:
            return
        self._shown = key
        self.clear()
        large = max(sizes.far_words, sizes.instruction / float(self.look.text_scale))
        if check.phrase is not None:
            word = situation.manner.attention
            said = check.phrase if word is None else f"{word} {check.phrase}"
            number = len(check.tried) + 1
            step = words("voice", "step", number=number, count=len(PHRASES))
            self.add_text([TextSpan(step, "soft")], sizes.far_words)
            asked = words("voice", "say", words=said)
            self.add_text([TextSpan(asked, "mark_ink", ground="mark")], large)
            self.add_text([TextSpan(ear_words, "soft")], sizes.far_words)
        else:
            found = words.reply(advised(check))
            ink = "good" if check.advice is VoiceAdvice.ALL_WELL else "ink"
            self.add_text([TextSpan(found, ink, bold=True)], large)
            margin, heard = round(check.margin_db or 0), check.heard
            facts = words("voice", "facts", heard=heard, count=len(PHRASES), margin=margin)
            self.add_text([TextSpan(facts, "soft")], sizes.words)
            self.control_on(self.add_shelf(), words("voice", "again"), self._again)
        for at, phrase in enumerate(PHRASES[: len(check.tried)]):
            understood = words("voice", "heard" if check.right[at] else "missed", words=phrase)
            ink = "good" if check.right[at] else "alert"
            self.add_text([TextSpan(understood, ink)], sizes.words)
        self.lay()
