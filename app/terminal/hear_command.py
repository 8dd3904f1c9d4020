"""`walesong hear WAV...`: show only what would be understood; nothing is knitted."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from app.terminal.knitting import details, plain
from app.wiring.hearing import Recording, RecordingError
from engine.talk import value_of
from speech.hearing.events import Dictated, Heard, RefusedSpeech

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

    from speech.hearing.acceptance import Acceptance

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "hear",
        description=(
            "Listen to recordings (WAV with PCM sound, 8 to 48 kHz, one or two channels) and show "
            "every utterance: what was heard, whether it would be accepted as a command, and why "
            "not. Short answers such as yes are refused unless --asked is given. Nothing is "
            "knitted and nothing is kept."
        ),
        epilog=(
            "With --json each line has: start_s and end_s of the voice; decided_s, the seconds of "
            "sound that had been listened to when it was decided, and compute_s, the computing "
            "after that; words, accepted, command, value and details; candidates, what else it may "
            "have been (refused as 'unsure', they are what the piece would settle, or a question); "
            "why and reason, if it was refused."
        ),
    )
    parser.add_argument("recordings", metavar="WAV", nargs="+", type=Path)
    parser.add_argument("--json", action="store_true", help="print one JSON object an utterance")
    parser.add_argument("--model", metavar="FOLDER", type=Path, help="another speech model")
    parser.add_argument(
        "--asked",
        action="store_true",
        help="listen as when a question stands, so that short answers are taken too",
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Show what would be understood; 3 if a file or the model cannot be used."""
    from speech.hearing.decoder import ModelError  # noqa: PLC0415 (loads numpy)

    try:
        listening = _acceptance(options.model)
    except ModelError as error:
        print(f"walesong hear: {error}", file=sys.stderr)
        return 3
    code = 0
    for path in options.recordings:
        try:
            recording = Recording.read(path, paced=False)
        except RecordingError as error:
            print(f"walesong hear: {error}", file=sys.stderr)
            code = 3
            continue
        listening.start_over()
        listening.answers = options.asked
        for utterance in _utterances(listening, recording, str(path)):
            print(json.dumps(utterance, ensure_ascii=False) if options.json else _line(utterance))
            sys.stdout.flush()
    return code


def _acceptance(model: Path | None) -> Acceptance:
    from app.wiring.hearing import acceptance  # noqa: PLC0415

    return acceptance(model)


def _utterances(
    listening: Acceptance, recording: Recording, name: str
) -> Iterator[dict[str, object]]:
    from speech.hearing.sources import RecordingSource  # noqa: PLC0415 (loads numpy)

    source = RecordingSource(recording.pieces, paced=False)
    source.open()
    begun = listening.heard_s
    while (piece := source.read(0.0)) is not None:
        for event in listening.feed(piece):
            if isinstance(event, Heard | RefusedSpeech | Dictated):
                yield _described(event, name, begun)


def _described(
    event: Heard | RefusedSpeech | Dictated, name: str, begun: float
) -> dict[str, object]:
    span = event.span
    candidates = event.candidates if isinstance(event, Heard) else ()
    first = candidates[0] if candidates else None
    others = event.maybe if isinstance(event, RefusedSpeech) else candidates[1:]
    return {
        "file": name,
        "start_s": round(span.start_s - begun, 3),
        "end_s": round(span.end_s - begun, 3),
        "decided_s": round(span.decided_s - begun, 3),
        "compute_s": round(span.compute_s, 4),
        "words": event.text if isinstance(event, Dictated) else event.words,
        "accepted": first is not None,
        "command": first.name if first else None,
        "value": plain(value_of(first)) if first else None,
        "details": details(first) if first else {},
        "candidates": [{"command": one.name, "value": plain(value_of(one))} for one in others],
        "why": event.sentence if isinstance(event, RefusedSpeech) else None,
        "reason": event.reason.value if isinstance(event, RefusedSpeech) else None,
    }


def _line(utterance: dict[str, object]) -> str:
    when = f"{utterance['start_s']:>8} s"
    if utterance["accepted"]:
        return (
            f"{when}  ✓ “{utterance['words']}”  {utterance['command']} {utterance['details'] or ''}"
        )
    return f"{when}  · “{utterance['words']}”  {utterance['why']}"
