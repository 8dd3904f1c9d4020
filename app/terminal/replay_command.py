"""`walesong replay JOURNAL`: fold a journal again and print what it says. It is the bug report."""

from __future__ import annotations

import json
import sys
from functools import partial
from typing import TYPE_CHECKING

from app.pieces.journal_files import reading_of
from app.pieces.pattern_cache import course_of
from app.terminal.common_options import journal_of
from app.wall import behind, keep_beside
from engine.history import fold, live
from engine.journal.errors import JournalError
from engine.payload import to_payload
from engine.records import to_json
from engine.soundness import set_aside

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from engine.records import Record
    from engine.state import PieceState

    Parsers = argparse._SubParsersAction[argparse.ArgumentParser]  # noqa: SLF001


def add_parser(commands: Parsers) -> None:
    """Add the sub-command."""
    parser = commands.add_parser(
        "replay",
        description=(
            "Read a journal (the database file, or lines of JSON exported from one), fold it "
            "again from its first record and print where every piece stands and what happened "
            "to it. The journal is only read."
        ),
    )
    parser.add_argument("journal", metavar="JOURNAL", type=journal_of)
    parser.add_argument("--json", action="store_true", help="print JSON, one object per piece")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Print the journal; 4 if it cannot be read."""
    try:
        reading = reading_of(options.journal)
    except JournalError as error:
        print(f"walesong replay: {error}", file=sys.stderr)
        return 4
    for bad in reading.left_out:
        print(f"walesong replay: {options.journal}: {bad}", file=sys.stderr)
    if reading.gap is not None:
        print(f"walesong replay: {options.journal}: {reading.gap}", file=sys.stderr)
    keep_beside(options.journal)
    pieces: dict[str, list[Record]] = {}
    for record in reading.records:
        pieces.setdefault(record.piece, []).append(record)
    if not pieces and not options.json:
        print("The journal is empty.")
    for number, history in enumerate(pieces.values()):
        if number and not options.json:
            print()
        show = _print_json if options.json else _print_piece
        behind(partial(_show, show, history), _complain, f"Piece {number + 1} cannot be shown")
    return 0


def _show(show: Callable[[PieceState, list[Record]], None], history: list[Record]) -> None:
    show(fold(history), history)


def _complain(sentence: str) -> None:
    print(f"walesong replay: {sentence}", file=sys.stderr)


def _print_json(state: PieceState, history: list[Record]) -> None:
    print(json.dumps(_as_json(state, history), ensure_ascii=False))


def _as_json(state: PieceState, history: list[Record]) -> dict[str, object]:
    return {
        "piece": state.piece,
        "name": state.name,
        "done": state.done,
        "working": state.working,
        "finished": state.finished,
        "loops_ended": state.loops_ended,
        "in_row": None
        if state.in_row is None
        else {"row": state.in_row.row, "after": state.in_row.after},
        "fork": list(state.fork),
        "lengths": [
            {"row": one.row, "length": str(one.length), "fabric": one.fabric, "aside": one.aside}
            for one in state.lengths
        ],
        "counts": [
            {"row": one.row, "count": one.count, "expected": one.expected, "aside": one.aside}
            for one in state.counts
        ],
        "notes": [{"row": one.row, "about": one.about, "text": one.text} for one in state.notes],
        "set_aside": set_aside(history),
        "history": [to_json(record) for record in history],
    }


def _print_piece(state: PieceState, history: list[Record]) -> None:
    place = course_of(state).where(state.loops_ended, state.working)
    title = state.name or "a piece without a beginning"
    print(f"{title}: {state.done} row{'' if state.done == 1 else 's'} done", end="")
    if state.finished or place.finished:
        print(", finished")
    else:
        where = ", ".join(filter(None, (place.side.value, place.section_title)))
        print(f", working {state.working} ({where})")
    if state.counted_twice:
        print(f"  two devices counted row {state.counted_twice}; it counts once")
    if state.fork:
        print(f"  two devices disagree: {' or '.join(map(str, state.fork))} rows done")
    aside = set_aside(history)
    holding = {record.id for record in live(history)}
    for record in history:
        values = ", ".join(
            f"{name} {_brief(value)}" for name, value in to_payload(record.event).items()
        )
        if record.id in aside:
            print(f"  set aside: {record.id[:12]}, {aside[record.id]}")
        kept = " " if record.id in holding or record.event.kind == "undone" else "x"
        print(f"  {kept} {record.wall}  {record.source.value:6} {record.event.kind:18} {values}")


def _brief(value: object) -> str:
    if isinstance(value, dict):
        return f"{value['value']} {value['unit']}"
    text = str(value)
    shown = 40
    return text if len(text) <= shown else f"{text[: shown - 1]}…".replace("\n", " ")
