"""
`walesong` without a sub-command: set to work with what this machine has.

With a display the window opens, otherwise the terminal knits; with a microphone it listens,
otherwise the practice recording is played, so that a bare server shows the whole job too.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from app.terminal.common_options import add_common_options
from app.wiring.machine import display
from app.wiring.practice import PRACTICE, PRACTICES, practice_file, practice_piece

if TYPE_CHECKING:
    import argparse


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the plain command."""
    add_common_options(parser)
    parser.add_argument(
        "--practice", nargs="?", const=PRACTICE, choices=PRACTICES, metavar="NAME",
        help="play the practice recording into a new piece; the others are named invented and "
        "invented-cap: a sleeve and a cap are made up aloud",
    )  # fmt: skip
    parser.add_argument(
        "--terminal", action="store_true", help="knit in the terminal even with a display"
    )


def run(options: argparse.Namespace) -> int:
    """Open the window, or knit in the terminal."""
    screen = display()
    if screen.there and not options.terminal:
        from app.windowed import NoDisplayError, knit_in_window  # noqa: PLC0415 (loads Kivy)

        print(f"Walesong opens {screen.line}.", flush=True)
        try:
            return knit_in_window(options)
        except NoDisplayError as error:
            print(f"walesong: {error}", file=sys.stderr)
    return _in_terminal(options, screen.line if not options.terminal else "the terminal, as asked")


def _in_terminal(options: argparse.Namespace, where: str) -> int:
    # Loaded only now: the window is not kept waiting for what the terminal needs.
    from app.pieces.journal_files import practice_journal  # noqa: PLC0415
    from app.terminal.common_options import complain  # noqa: PLC0415
    from app.terminal.knit_command import knit_by_ear  # noqa: PLC0415
    from app.wiring.hearing import microphone_here  # noqa: PLC0415

    print(f"Walesong knits in {where}.", flush=True)
    options.json = False
    if options.picture is not None and options.picture.is_file() and not options.replace:
        return complain(f"there is a file {options.picture} already; add --replace.", 3)
    microphone = microphone_here()
    if microphone.there and not options.practice:
        return knit_by_ear(options, None, None, fresh=False)
    print(f"  {microphone.line}; the practice recording is played instead.", flush=True)
    if options.journal is None:
        options.journal = practice_journal()
    if options.picture is None:
        options.picture = options.journal.with_name("practice-board.png")
    name = options.practice or PRACTICE
    return knit_by_ear(options, practice_piece(name), practice_file(name), fresh=True)
