"""The window with everything behind it: assistant, listening, voice."""

from __future__ import annotations

import queue
from typing import TYPE_CHECKING

from app import household
from app.hearing import listen, microphone_here, practice
from app.knit_command import complain, practice_journal
from app.pieces import default_journal, holds_pieces
from app.window import NoDisplayError, furnish, run_window

if TYPE_CHECKING:
    import argparse

    from app.assistant import Assistant
    from app.situation import Situation

__all__ = ["NoDisplayError", "knit_in_window"]


def knit_in_window(options: argparse.Namespace) -> int:
    """
    Open the window and stay until it is closed; return the exit code.

    Raises:
        NoDisplayError: there is no display; nothing was changed.

    """
    microphone = microphone_here()
    own = options.journal or default_journal()
    # Who has no microphone and nothing begun is shown the whole job; who has work goes on with it.
    shown = options.practice or (not microphone.there and not holds_pieces(own))
    if shown:
        print(f"  {microphone.line}; the practice recording is played into the window.", flush=True)
    else:
        print(f"  {microphone.line}.", flush=True)
    recording = practice(paced=not options.fast) if shown else None
    ears = listen(recording, options.model)
    journal = practice_journal() if shown and options.journal is None else own
    inbox: queue.SimpleQueue[Situation] = queue.SimpleQueue()
    watchers: list[Assistant] = []

    def watch(closed: bool) -> None:  # noqa: FBT001 (the watcher of a turn is called so)
        for one in watchers:
            one.speaking(on=closed)

    mouth = (
        household.silence("Answers are only shown, as asked.")
        if options.silent
        else household.voice_and_tones(ears.control, hears_room=not shown, watch=watch)
    )
    print(f"  {mouth.sentence}", flush=True)
    helper = household.assistant(journal, None, inbox.put, mouth.voice, fresh=shown)
    helper.listen_with(ears.control)
    watchers.append(helper)
    desk = furnish(
        helper.submit,
        helper.typed,
        inbox,
        book=household.phrase_book(),
        wording=household.reply_wording(),
    )
    helper.start()
    ears.start(helper.heard_and_answered if shown else helper.heard)
    try:
        run_window(desk)
    finally:
        ears.stop()
        helper.stop()
        mouth.close()
    return complain(helper.failed, 4) if helper.failed else 0
