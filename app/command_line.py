"""
The `walesong` command: its sub-commands, its help and its exit codes.

Every sub-command lives in its own module with `add_parser` and `run`; this one only puts them
together, so that starting one does not load the others' libraries.
"""

from __future__ import annotations

import argparse
import importlib
import io
import os
import sys
from importlib import metadata
from typing import TYPE_CHECKING, Final

from app.terminal.harmless_stream import harmless_output
from app.wall import sentence_of
from engine.journal.errors import JournalError

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS: Final = {
    "knit": "knit in the terminal: listen, or take a recording or typed words",
    "hear": "show what would be understood in recordings",
    "voice": "try how well your voice is heard here",
    "check": "check that a pattern's rows add up for every size",
    "take": "take a printed pattern, as plain text, into your own patterns",
    "write": "write the finished pattern as a page, as text or as PDF",
    "pattern-from": "write out what was knitted as a pattern",
    "hands": "print what the hands do, move by move, as a handout",
    "lesson": "be led through a lesson, one thing at a time",
    "plan": "work out cast-on, rows, gauge, yarn and shaping",
    "batch": "compare pieces that are to be alike, and tell the odd one",
    "order": "take an order, keep its pieces' stages, and tell when it is ready",
    "label": "write labels for the pieces of an order, alone or on sheets",
    "demo": "write a journal of its own with an order in it, half done",
    "replay": "fold a journal again and print each piece's state and history",
    "backup": "copy the journal, as a journal or as lines of JSON",
    "restore": "put a backup or a dated copy in the place of the journal, which is kept beside",
    "merge": "bring in what another device's journal or a backup holds",
    "share": "keep the journal in step with one that several hands share",
    "mend": "mend a damaged journal, keeping the damaged file beside",
    "desktop": "put Walesong among the programs of a Linux desktop, or take it away",
    "words": "list everything that can be said, typed or keyed",
}
"""The sub-commands with what they do, in the order of a knitter's day."""

EXIT_CODES = """\
exit codes:
  0    done; for `check`: everything adds up
  1    the answer is no: a pattern does not add up, a voice is not heard well
  2    the command line was not understood
  3    something is missing or cannot be used: a file, the speech model, a microphone
  4    the journal could not be read or written; what was written before is all there
  5    something went wrong inside Walesong; nothing that is kept was changed
  130  interrupted from the keyboard; the work up to the last answer is kept
"""


def parser(command: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of the command line; only the named sub-command is loaded with its own."""
    top = argparse.ArgumentParser(
        prog="walesong",
        description=(
            "A hands-free knitting assistant. Without a sub-command it opens the window, or, on a "
            "machine without a display, knits in the terminal; with a microphone it listens, "
            "otherwise it plays the practice recording."
        ),
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"walesong {_version()}")
    top.set_defaults(run=None)
    start = importlib.import_module("app.start")
    start.add_options(top)
    commands = top.add_subparsers(title="sub-commands", metavar="COMMAND")
    for name, summary in COMMANDS.items():
        if name == command:
            importlib.import_module(f"app.terminal.{name.replace('-', '_')}_command").add_parser(
                commands
            )
        else:
            commands.add_parser(name, help=summary)
    return top


def _version() -> str:
    try:
        return metadata.version("walesong")
    except metadata.PackageNotFoundError:  # the phone build carries no package data
        return "(not installed)"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    _speak_any_alphabet()
    with harmless_output():
        return _run(arguments)


def _run(arguments: Sequence[str] | None) -> int:
    given = sys.argv[1:] if arguments is None else list(arguments)
    options = parser(next((one for one in given if one in COMMANDS), None)).parse_args(given)
    run = options.run or importlib.import_module("app.start").run
    try:
        code: int = run(options)
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        return 130
    except JournalError as error:
        print(f"walesong: {error}", file=sys.stderr)
        return 4
    except OSError as error:
        if error.filename is not None:
            print(f"walesong: {error.filename}: {error.strerror}.", file=sys.stderr)
            return 3
        # What is still to be printed cannot be, and would be tried again at the very end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            return 0  # the reader went away (`walesong ... | head`): nothing is wrong with us
        print(f"walesong: what is printed cannot be written ({error.strerror}).", file=sys.stderr)
        return 3
    except Exception as error:  # noqa: BLE001 (no traceback is for her)
        print(f"walesong: {sentence_of(error, _NOT_DONE)}", file=sys.stderr)
        return 5
    return code


_NOT_DONE = "That cannot be done"


def _speak_any_alphabet() -> None:
    """Have signs that a terminal or pipe does not know replaced, never refused."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
