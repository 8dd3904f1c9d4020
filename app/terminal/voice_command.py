"""`walesong voice`: try how well a voice is heard here, by microphone or in a recording."""

from __future__ import annotations

import json
import queue
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app import wording
from app.session.attention import advised
from app.wiring.hearing import Recording, RecordingError, listen, microphone_here, model_trouble
from speech.hearing.events import (
    Ended,
    Failed,
    Heard,
    HearingEvent,
    MicBack,
    MicLost,
    RefusedSpeech,
)
from speech.hearing.voice_check import PHRASES, VoiceAdvice, VoiceCheck

if TYPE_CHECKING:
    import argparse

    from app.wiring.hearing import Ears

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "voice",
        description=(
            "Say ten sentences, one after the other. Then it is told how loud you are, how far "
            "your voice stands above the room, what was understood, and what would help most. "
            "Nothing is knitted and nothing is kept."
        ),
    )
    parser.add_argument(
        "--from",
        dest="recording",
        metavar="WAV",
        type=Path,
        help="listen to a recording of the ten sentences",
    )
    parser.add_argument("--json", action="store_true", help="print the result as one JSON object")
    parser.add_argument("--model", metavar="FOLDER", type=Path, help="another speech model")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the check: 0 if the voice is heard well, 1 if not, 3 if it could not be tried."""
    try:
        recording = None
        if options.recording is not None:
            recording = Recording.read(options.recording, paced=False)
    except RecordingError as error:
        return _complain(str(error))
    if recording is None and not (microphone := microphone_here()).there:
        return _complain(f"{microphone.line}. Name a recording with --from WAV.")
    if trouble := model_trouble(options.model):
        return _complain(trouble)
    ears = listen(recording, options.model)
    told: queue.SimpleQueue[HearingEvent] = queue.SimpleQueue()
    ears.start(told.put)
    try:
        check = _ask(told, ears, quiet=options.json)
    finally:
        ears.stop()
    if isinstance(check, str):
        return _complain(check)
    print(_as_json(check) if options.json else _as_text(check))
    return 0 if check.advice is VoiceAdvice.ALL_WELL else 1


def _complain(sentence: str) -> int:
    print(f"walesong voice: {sentence}", file=sys.stderr)
    return 3


def _ask(told: queue.SimpleQueue[HearingEvent], ears: Ears, *, quiet: bool) -> VoiceCheck | str:
    """Ask for one sentence after the other; return the check that is over, or why it is not."""

    def say(line: str) -> None:
        if not quiet:
            print(line, flush=True)

    check = VoiceCheck()
    say(f"  {ears.sentence}")
    say(f"  Say: {check.phrase}")
    while check.phrase is not None:
        event = told.get()
        match event:
            case Failed(sentence=sentence):
                return sentence
            case Ended():
                return f"Only {len(check.tried)} of {len(PHRASES)} sentences were said."
            case MicLost(sentence=sentence):
                say(f"  {sentence}")
            case MicBack():
                say(f"  Listening again. Say: {check.phrase}")
            case _:
                pass
        before, check = check, check.after(event)
        if len(check.tried) > len(before.tried) and isinstance(event, Heard | RefusedSpeech):
            say(f"  {'✓' if check.right[-1] else '·'} “{event.words or '…'}”")
            if check.phrase is not None:
                say(f"  Say: {check.phrase}")
    return check


def _as_text(check: VoiceCheck) -> str:
    words = wording.reply_wording().written(advised(check))
    level, margin = round(check.level_db or 0), round(check.margin_db or 0)
    return (
        f"\n  {words}\n"
        f"  {check.heard} of {len(PHRASES)} understood; {-level} dB below the loudest that the "
        f"microphone takes, {margin} dB above the room (from 25 dB on it is easy to hear)."
    )


def _as_json(check: VoiceCheck) -> str:
    return json.dumps(
        {
            "advice": check.advice.value if check.advice else None,
            "understood": check.heard,
            "said": len(check.tried),
            "level_db": round(check.level_db or 0.0, 1),
            "margin_db": round(check.margin_db or 0.0, 1),
            "clipped": check.clipped,
        }
    )
