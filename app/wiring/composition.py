"""
Putting the parts together: words, voice and assistant, for the window and the terminal alike.

This is the composition root; nothing else makes these parts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app import resources
from app.language import phrase_book
from app.session.assistant import Assistant
from app.session.clock import SystemClock
from app.session.dated_copies import begin_copy
from app.session.her_numbers import keep_numbers
from app.session.inbox import OrderSeen
from app.session.manner import Listening, without_holding
from app.session.opening import open_piece
from app.session.order_look import OrderLooking
from app.session.ports import Silent
from app.session.settings_file import keep_manner, read_choices
from app.session.situation import Practice
from app.wall import keep_beside
from app.wording import reply_wording
from engine.commands import Source
from engine.journal.sqlite import SqliteJournal
from engine.replies import Tone

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.pieces.values import NewPiece
    from app.session.conversation import Conversation
    from app.session.manner import Manner
    from app.session.ports import Voice
    from app.session.settings import Settings
    from app.session.situation import Situation
    from speech.speaking.answer_queue import Speaking
    from speech.speaking.answering import OwnEars
    from speech.speaking.answers import Answers
    from speech.words.level import Level


@dataclass(frozen=True, slots=True)
class Mouth:
    """What answers are given through, and one sentence about it; `speaking` None is silence."""

    voice: Voice
    speaking: Speaking | None
    sentence: str
    answers: Answers | None = None

    def read_rows(self, level: Level) -> None:
        """Read rows out at a level from now on."""
        if self.answers is not None:
            self.answers.reword(reply_wording(level))

    def close(self, *, patience_s: float = 0.0) -> None:
        """Let it finish for so long, then give the devices back."""
        if self.speaking is not None:
            self.speaking.close(patience_s=patience_s)


def silence(sentence: str) -> Mouth:
    """Return a mouth that says nothing, and why."""
    return Mouth(Silent(), None, sentence)


def voice_and_tones(
    ears: OwnEars, *, hears_room: bool, watch: Callable[[bool], None] | None = None
) -> Mouth:
    """
    Return the best voice and tones of this machine; `ears` are closed while it speaks.

    `watch` is told, on another thread, whenever the ears are closed for that or open again.
    """
    from app.wiring.spoken_replies import Mouthpiece  # noqa: PLC0415 (sound libraries are loaded when wanted)
    from speech.speaking.answer_queue import Speaking  # noqa: PLC0415
    from speech.speaking.devices import best_devices, watch_calls  # noqa: PLC0415

    tones = {tone: resources.data(f"assets/tones/{tone.value}.wav") for tone in Tone}
    choice = best_devices(tones)
    speaking = Speaking(
        choice.device,
        ears,
        hears_room=hears_room,
        on_turn=None if watch is None else lambda turn: watch(not turn.open),
    )
    watch_calls(lambda on_call: speaking.call(on_call=on_call))  # nothing is said into a call
    wording = reply_wording(read_choices()[0].level)
    mouthpiece = Mouthpiece(speaking, wording, vibrates=choice.device.vibration.audible)
    return Mouth(mouthpiece, speaking, choice.sentence, mouthpiece.answers)


@dataclass(frozen=True, slots=True)
class FrontEnd:
    """What an assistant has to know of the window or terminal in front of it."""

    keep: Callable[[Manner], None] = keep_manner
    """Gets every manner of listening and answering that she wishes for."""
    can_hold: bool = False
    """Whether there is anything that can be held to talk."""
    recording: bool = False
    """Whether a recording is listened to: it says no attention word, and changes no settings."""
    first: NewPiece | None = None
    """What lies on the needle where nobody has begun a piece yet; None: a pattern of ours."""
    practice: bool = False
    """Whether that is the practice recording, which is shown to knit in the knitter's place."""


def assistant(
    journal: Path,
    wanted: NewPiece | None,
    show: Callable[[Situation], None],
    voice: Voice,
    *,
    fresh: bool = False,
    settings: Settings | None = None,
    change: bool = False,
    front: FrontEnd | None = None,
) -> Assistant:
    """
    Return an assistant that takes up, or casts on, a piece once it is started.

    With `change` the piece begun last goes on by the wanted pattern. Without `settings` those hold
    that are kept on this device.
    """
    keep_beside(journal)
    clock, front = SystemClock(), front or FrontEnd()

    def opened() -> Conversation:
        talk = open_piece(
            journal,
            clock,
            wanted,
            fresh=fresh,
            source=Source.KEY,
            change=change,
            first=front.first,
        )
        begin_copy(journal, clock)
        return talk

    helper = Assistant(
        opened,
        phrase_book(),
        show,
        voice,
        clock,
    )
    helper.orders = OrderLooking(
        lambda: SqliteJournal.open_to_read(journal),
        clock,
        lambda look: helper.tell(OrderSeen(look)),
    )
    chosen = settings if settings is not None else read_choices()[0]
    helper.remind(chosen.breaks)
    helper.scale(chosen.scale_g)
    attention, manner = helper.attention, chosen.manner
    attention.can_hold = front.can_hold
    if front.practice:
        helper.practice = Practice.SPEAKS
    if front.recording:
        attention.wanted = replace(manner, listening=Listening.FREELY)
    else:
        attention.wanted = manner if front.can_hold else without_holding(manner)
        attention.keep = front.keep
        attention.keep_numbers = keep_numbers
    return helper
