"""Trying a knitter's own phrases aloud, once: what sounds like another command is only typed.

They are spoken by the system's own program into memory and heard by the recogniser. Where there is
no such program (telephones) nothing is tried, and nothing is said of it.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
from typing import TYPE_CHECKING, Final

from speech.hearing.sound import SoundError, for_the_model, read_wav
from speech.hearing.sound_alikes import own_fixed, taken_for, without

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.resources import KeptText
    from speech.hearing.acceptance import Acceptance
    from speech.hearing.sound import Samples
    from speech.words.phrases import PhraseBook

PROGRAM: Final = "espeak-ng"
_VOICES: Final = ("en-us", "en-gb")
_PATIENCE_S: Final = 10.0


def heard_apart(
    book: PhraseBook,
    shipped: PhraseBook,
    listening: Callable[[PhraseBook], Acceptance],
    kept: KeptText,
) -> tuple[PhraseBook, str]:
    """
    Return the book to listen for, and a sentence if some of the knitter's phrases are not in it.

    Takes about a second for each new phrase, and nothing at the next start: what was found is kept
    until her phrases, or those that come with Walesong, are others.

    Args:
        book: all phrases, the knitter's own among them.
        shipped: those that come with Walesong.
        listening: makes what listens for a book.
        kept: where the findings are kept.

    """
    own = own_fixed(book, shipped)
    if not own:
        return book, ""
    name = hashlib.sha256(repr((own, shipped.all_forms, shipped.aliases)).encode()).hexdigest()
    confused = _kept(kept.load(), name)
    if confused is None:
        if shutil.which(PROGRAM) is None:
            return book, ""
        spoken = {phrase: voices for phrase in own if (voices := _spoken(phrase))}
        confused = taken_for(spoken, book, listening(book))
        kept.save(json.dumps({"of": name, "confused": confused}))
    if not confused:
        return book, ""
    return without(book, confused), _sentence(confused)


def _kept(text: str | None, name: str) -> dict[str, str] | None:
    """Return what was found before, if it was found for these phrases."""
    try:
        found = json.loads(text or "")
        if found["of"] == name:
            return {str(phrase): str(other) for phrase, other in found["confused"].items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        pass
    return None


def _spoken(phrase: str) -> Sequence[Samples]:
    """Return a phrase as some voices say it; nothing where the program fails."""
    said: list[Samples] = []
    for voice in _VOICES:
        try:
            done = subprocess.run(
                [PROGRAM, "-v", voice, "--stdin", "--stdout"],
                input=phrase.encode(),
                capture_output=True,
                timeout=_PATIENCE_S,
                check=True,
            )
            said.append(for_the_model(read_wav(done.stdout)))
        except (OSError, subprocess.SubprocessError, SoundError):
            return ()
    return said


def _sentence(confused: dict[str, str]) -> str:
    named = [
        f"'{phrase}' sounds like '{other}'" if other else f"'{phrase}' sounds like another command"
        for phrase, other in confused.items()
    ]
    return f"{'; '.join(named)}: it can be typed, not said; other words are needed for the ear."
