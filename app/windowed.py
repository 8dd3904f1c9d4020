"""
The window with everything behind it: assistant, listening, voice.

The window comes first: what works behind it (the journal, the reader of patterns, the speech
model, the voices) is loaded on a thread of its own once the first frame is on the screen. What is
touched before it is ready waits and is not lost.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from typing import TYPE_CHECKING

from app.classroom.doors import ClassDoors
from app.classroom.serving import Classroom
from app.session.inbox import Behave, EndOfLesson, EndOfTrying, Held
from app.session.kept_drafts import keep_text, kept_text
from app.session.settings import Settings
from app.session.settings_file import keep_choices, read_choices
from app.window.desk import Device, Hands, Notice, furnish
from app.window.window import NoDisplayError, run_window
from engine.talk import BeginPiece, Show
from speech import android

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from app.pieces.values import NewPiece
    from app.session.assistant import Assistant
    from app.session.situation import Situation
    from app.wiring.composition import Mouth
    from app.wiring.hearing import Ears
    from engine.commands import Command, Source
    from engine.talk import Talk
    from speech.words.wording import Wording

__all__ = ["NoDisplayError", "knit_in_window"]

_LOOK_EVERY_S = 0.25


def knit_in_window(options: argparse.Namespace) -> int:
    """
    Open the window and stay until it is closed; return the exit code.

    Raises:
        NoDisplayError: there is no display; nothing was changed.

    """
    android.look_up()
    inbox: queue.SimpleQueue[Situation | Notice] = queue.SimpleQueue()
    behind = Behind(options, inbox)
    settings, own_keys, wrong = read_choices()
    if wrong:
        print(f"  {wrong}", flush=True)
    behind.settings, behind.choices_trouble = settings, wrong
    behind.classroom = Classroom(_everyday(), lambda: behind.settings.yarn_hand)
    desk = furnish(
        Hands(
            submit=behind.submit,
            typed=behind.typed,
            take_up=behind.take_up,
            cast_on=behind.cast_on,
            end_practice=behind.end_practice,
            hold=behind.hold,
            end_voice_check=behind.end_voice_check,
            end_lesson=behind.end_lesson,
            classroom=behind.classroom,
            phrases_trouble=behind.phrases_trouble,
            keep=behind.keep,
            remember=behind.remember,
            open_file=_open_file,
            opened=behind.begin,
            paused=behind.pause,
            resumed=behind.resume,
        ),
        inbox,
        wording=_reply_wording,
        settings=settings,
        own_keys=own_keys,
        unfinished=kept_text(),
        device=device_here(),
    )
    behind.plain_name = desk.words("begin", "without_name")
    behind.not_counted = desk.words("practice", "not_counted")
    try:
        run_window(desk)
    finally:
        behind.end()
    return behind.exit_code()


def device_here() -> Device:
    """Return what a phone or tablet is asked and told; on a desktop that is nothing."""
    if not android.on_android():
        return Device()
    from app.wiring import pocket  # noqa: PLC0415 (only on a phone or tablet)

    def leave() -> bool:
        android.leave()
        return True

    return Device(
        refused=pocket.microphone_refused,
        open_settings=android.open_settings,
        leave=leave,
        surroundings=pocket.surroundings,
        font_scale=pocket.font_scale,
    )


def _open_file(path: Path) -> None:
    """Show a page with what this device shows pages with; where nothing does, it was written."""
    import webbrowser  # noqa: PLC0415 (only when something was printed)

    webbrowser.open(path.as_uri())


def _everyday() -> Sequence[str]:
    """Return everyday words, of which the code of a class is made."""
    from app import resources  # noqa: PLC0415
    from speech.words.sampler import read_fillers  # noqa: PLC0415

    return read_fillers(resources.text("shared/phrases/filler.en.txt"))


def _reply_wording() -> Wording:
    from app import wording  # noqa: PLC0415 (brings the reader of patterns)

    return wording.reply_wording()


class Behind:
    """What works behind the window; `begin` and `end` are called on the window's thread."""

    def __init__(
        self, options: argparse.Namespace, inbox: queue.SimpleQueue[Situation | Notice]
    ) -> None:
        """Prepare; nothing is loaded before `begin`."""
        self._options = options
        self._inbox = inbox
        self._thread = threading.Thread(target=self._run, name="set-up", daemon=True)
        self._lock = threading.Lock()
        self._closed = threading.Event()
        self._away = threading.Event()
        self._failed = ""
        self._unfinished: str | None = None
        self._early: list[Callable[[Assistant], None]] = []
        self._for_own: list[Callable[[Assistant], None]] = []
        """What was handed over in the practice and belongs to her own work."""
        self.classroom: Classroom | None = None
        """What learners can follow on their phones."""
        self._helper: Assistant | None = None
        self._ears: Ears | None = None
        self._mouth: Mouth | None = None
        self.settings = Settings()
        self.choices_trouble = ""
        """What could not be read of the settings and keys."""
        self._practising = bool(options.practice)
        self._wants_own = self._wants_quiet = self._touched = False
        self.plain_name = ""
        """What a piece without a pattern is called."""
        self.not_counted = ""
        """What is said where something was touched in the practice."""

    def keep(self, settings: Settings, keys: str) -> str:
        """Keep what was chosen, and act by it from now on; return why it could not be kept."""
        self.settings = settings
        self._hand_over(lambda helper: helper.remind(settings.breaks))
        self._hand_over(lambda helper: helper.scale(settings.scale_g))
        self._hand_over(lambda helper: helper.tell(Behave(settings.manner)))
        if self._mouth is not None:
            self._mouth.read_rows(settings.level)
        return keep_choices(settings, keys)

    def remember(self, text: str) -> None:
        """Keep what is not sent yet; written before long, never while the window waits."""
        with self._lock:
            self._unfinished = text

    def _write_unfinished(self) -> None:
        with self._lock:
            text, self._unfinished = self._unfinished, None
        if text is not None:
            with contextlib.suppress(OSError):  # it is only typing that would be spared
                keep_text(text)

    def begin(self) -> None:
        """Load everything, without keeping the window waiting."""
        self._thread.start()

    def submit(self, said: Command | Talk, source: Source) -> None:
        """Hand a command over; in the practice it leads to her own work and counts nothing."""
        if self._practising and not isinstance(said, Show | BeginPiece):
            self._leave_practice()
            return
        self._hand_over(lambda helper: helper.submit(said, source))

    def typed(self, words: str) -> None:
        """Hand typed words over."""
        if self._practising:
            self._leave_practice()
            return
        self._hand_over(lambda helper: helper.typed(words))

    def take_up(self, piece: str) -> None:
        """Go to another piece."""
        if self._practising:
            self._leave_practice()
            return
        self._hand_over(lambda helper: helper.take_up(piece))

    def cast_on(self, new: NewPiece, source: Source) -> None:
        """Begin another piece, in her own journal."""
        if self._practising:
            with self._lock:
                self._for_own.append(lambda helper: helper.cast_on(new, source))
            self.end_practice(own=True)
            return
        self._hand_over(lambda helper: helper.cast_on(new, source))

    def end_practice(self, own: bool) -> None:  # noqa: FBT001 (to her own work, or only quiet)
        """Stop the recording; with `own` go on to her own work."""
        if own:
            self._wants_own = True
        else:
            self._wants_quiet = True

    def _leave_practice(self) -> None:
        """Go to her own work: what was meant for the practice is not counted on what is unseen."""
        self._touched = True
        self.end_practice(own=True)

    def hold(self, down: bool) -> None:  # noqa: FBT001 (a key is down or up)
        """Tell that what is held to talk is down or up again."""
        self._hand_over(lambda helper: helper.tell(Held(down)))

    def end_voice_check(self) -> None:
        """Put the voice check away."""
        self._hand_over(lambda helper: helper.tell(EndOfTrying()))

    def end_lesson(self) -> None:
        """Put the lesson away."""
        self._hand_over(lambda helper: helper.tell(EndOfLesson()))

    def phrases_trouble(self) -> str:
        """Return why the knitter's own phrases, settings or keys are left out, as far as known."""
        from app import language  # noqa: PLC0415 (none of this delays the window)

        heard = self._ears.phrases_trouble if self._ears is not None else ""
        troubles = (self.choices_trouble, language.own_phrases()[1] or heard)
        return " ".join(filter(None, troubles))

    def _hand_over(self, what: Callable[[Assistant], None]) -> None:
        """Hand something over, at once or as soon as somebody is there to take it."""
        with self._lock:
            if self._helper is None:
                self._early.append(what)
                return
        what(self._helper)

    def pause(self) -> None:
        """Give the microphone back and write down what is not sent: the system may end us now."""
        self._away.set()
        if self._ears is not None:
            self._ears.control.rest()
        self._write_unfinished()

    def resume(self) -> None:
        """Listen again."""
        self._away.clear()
        if self._ears is not None:
            self._ears.control.wake()

    def end(self) -> None:
        """Let everything finish and give the devices back."""
        self._closed.set()
        if self._thread.is_alive():
            self._thread.join()
        self._write_unfinished()
        self._put_down()

    def _put_down(self) -> None:
        """Give journal and devices back, and close the class."""
        if self.classroom is not None:
            self.classroom.close()
        with self._lock:
            helper, self._helper = self._helper, None
        if self._ears is not None:
            self._ears.stop()
        if helper is not None:
            self._failed = self._failed or helper.failed
            helper.stop()
        if self._mouth is not None:
            self._mouth.close()

    def exit_code(self) -> int:
        """Return the exit code, after saying what failed."""
        from app.terminal.common_options import complain  # noqa: PLC0415 (loaded by now)

        failed = self._failed or (self._helper.failed if self._helper is not None else "")
        return complain(failed, 4) if failed else 0

    # --- on the thread that sets up -----------------------------------------------------------

    def _run(self) -> None:
        """Set up, and watch that it stays well; the window shows a sentence if it does not."""
        from app.wiring.hearing import RecordingError  # noqa: PLC0415 (none of this delays the window)
        from engine.journal.errors import JournalError  # noqa: PLC0415
        from speech.hearing.events import Ended  # noqa: PLC0415

        def set_up() -> None:
            try:
                self._set_up()
            except (RecordingError, JournalError, OSError) as error:
                self._failed = str(error)

        set_up()
        while not self._closed.wait(_LOOK_EVERY_S):
            self._write_unfinished()
            if self._practising and self._wants_own:
                self._put_down()
                self._early, self._for_own = [*self._for_own, *self._early], []
                self._practising = False
                set_up()
                if self._touched and self._helper is not None and self._helper.ready():
                    self._inbox.put(Notice(self.not_counted))
            elif self._practising and self._wants_quiet and self._ears is not None:
                self._wants_quiet = False
                self._ears.stop()
                if self._helper is not None:
                    self._helper.heard(Ended(0.0))
            failed = self._failed or (self._helper.failed if self._helper is not None else "")
            if failed:
                self._inbox.put(Notice(failed))
                return

    def _show(self, situation: Situation) -> None:
        """Show a situation in the window, and its lesson to the class."""
        self._inbox.put(situation)
        if self.classroom is not None:
            self.classroom.follow(situation.lesson)

    def _set_up(self) -> None:
        from app.pieces.journal_files import (  # noqa: PLC0415
            default_journal,
            practice_journal,
        )
        from app.pieces.values import NewPiece  # noqa: PLC0415
        from app.wiring import composition  # noqa: PLC0415
        from app.wiring.hearing import listen, microphone_here, practice  # noqa: PLC0415
        from app.wiring.practice import practice_piece  # noqa: PLC0415

        options = self._options
        microphone = microphone_here()
        shown = self._practising
        if shown:
            print(
                f"  {microphone.line}; the practice recording is played into the window.",
                flush=True,
            )
        else:
            print(f"  {microphone.line}.", flush=True)
        # Her own work is never mixed with what the recording knits.
        journal = practice_journal() if shown else options.journal or default_journal()
        recording = practice(options.practice, paced=not options.fast) if shown else None
        ears = self._ears = listen(recording, options.model)
        if self._away.is_set():
            ears.control.rest()
        watchers: list[Assistant] = []

        def watch(closed: bool) -> None:  # noqa: FBT001 (the watcher of a turn is called so)
            for one in watchers:
                one.speaking(on=closed)

        mouth = self._mouth = (
            composition.silence("Answers are only shown, as asked.")
            if options.silent
            else composition.voice_and_tones(ears.control, hears_room=not shown, watch=watch)
        )
        print(f"  {mouth.sentence}", flush=True)
        plain = NewPiece(self.plain_name, count_every=self.settings.count_every)
        helper = composition.assistant(
            journal,
            practice_piece(options.practice) if shown else None,
            self._show,
            mouth.voice,
            fresh=shown,
            settings=self.settings,
            # The window keeps every manner with the other settings, once it is shown it.
            front=composition.FrontEnd(
                keep=lambda _: None,
                can_hold=True,
                recording=shown,
                practice=shown,
                first=None if shown else plain,
            ),
        )
        helper.listen_with(ears.control)
        if self.classroom is not None:
            helper.attention.doors = ClassDoors(self.classroom, _open_file)
        watchers.append(helper)
        helper.start()
        with self._lock:
            for one in self._early:  # in the order in which they came
                one(helper)
            self._early = []
            self._helper = helper
        ears.start(helper.heard_and_answered if shown else helper.heard)
